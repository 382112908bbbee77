"""All that the pages of a damaged log still tell: the rows of its tables, and from its indexes what those lack.

Which table a page belongs to is found from the top as SQLite does, and where nothing leads to a page, by what its rows
look like. Indexes repeat most of what stands in tables, on pages of their own: a change of which the row is lost is
known from three of them but for whether it was clean.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from trainer.log.mending import pages
from trainer.log.mending.forms import FORMS
from trainer.practice.record import How

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trainer.log.mending.forms import Form
    from trainer.log.mending.image import Image
    from trainer.log.mending.pages import Stored, Value

Row: TypeAlias = "tuple[Value, ...]"
Rows: TypeAlias = "Mapping[object, Row]"
_Found: TypeAlias = "defaultdict[str, dict[object, Row]]"

LOST_TITLE = "(name lost)"
"""What a run is called of which only the indexes tell. Where another log knows the name, a merge brings it back: of two
accounts that know as much the greater stands, and a bracket comes before every letter."""
_SCHEMA = 1
"""The page at which the list of tables begins."""
_OF_TODAY = 9
"""Columns of a run."""
_READ = How.READ.value
_KEYS = {"fingers": 3, "notes": 3}
"""So many columns tell a row of a table without numbers from another."""
_REPEATS = {
    "sqlite_autoindex_guitars_1": "guitars",
    "sqlite_autoindex_attempts_1": "attempts",
    "attempts_by_run": "attempts",
    "attempts_by_series": "attempts",
}
"""Indexes of which nothing is kept but what the table lacks: of a long log they are most of what there is."""
_INDEX = frozenset({pages.INNER_INDEX, pages.LEAF_INDEX})


@dataclass(frozen=True, slots=True)
class Salvage:
    """The rows that could be read, those of each table by their numbers, without them."""

    guitars: Rows
    series: Rows
    """Without the summary."""
    runs: Rows
    attempts: Rows
    measures: Rows
    fingers: Rows
    """Whole rows, by the columns that tell them apart; of `notes` too."""
    notes: Rows
    summed_up: Mapping[object, int]
    """How many attempts each series had, as far as its row could be read."""
    attempts_seen: int
    """Attempts of which anything could be read."""
    heard: frozenset[object]
    """Attempts that had measures, as far as anything of those could be read."""
    unmarked: frozenset[object]
    """Attempts known from indexes only: whether they were clean is lost."""
    untitled: frozenset[object]
    """Runs known from indexes or from their attempts only: what the drill was called is lost."""
    complete: bool
    """Whether what had been deleted is known from what had not: else it may be here again."""


def salvage(image: Image) -> Salvage:
    """Return what stands in the pages of a log."""
    given_up, complete = image.given_up()
    found = _entries(image, given_up)
    series = _series(found)
    attempts = {**_attempts_of_indexes(found), **found["attempts"]}
    unmarked = attempts.keys() - found["attempts"].keys()
    runs = _runs(found, series, attempts)
    return Salvage(
        guitars={**found["sqlite_autoindex_guitars_1"], **found["guitars"]},
        series=series,
        runs=runs,
        attempts=attempts,
        measures=found["measures"],
        fingers=found["fingers"],
        notes=found["notes"],
        summed_up={n: int(row[5]) for n, row in found["series"].items() if len(row) > 5},  # type: ignore[arg-type]  # by its form
        attempts_seen=len({*attempts, *_names(found), *_places(found), *_belonging(found)}),
        heard=frozenset(found["measures"]) | {key[0] for table in _KEYS for key in found[table]},  # type: ignore[index]
        unmarked=frozenset(unmarked),
        untitled=frozenset(runs.keys() - found["runs"].keys()),
        complete=complete,
    )


def _entries(image: Image, given_up: set[int]) -> _Found:
    """Return the rows of every table and index, by table or index and by number or key."""
    found: _Found = defaultdict(dict)
    owners = _owners(image, given_up)
    numbers = [number for number in range(1, image.count + 1) if number not in given_up]
    # Tables before indexes; and where a page is told to belong somewhere, that goes before what its rows look like.
    for number in sorted(numbers, key=lambda n: (pages.kind(image, n) in _INDEX, owners.get(n) is None)):
        for name, form in _forms(owners.get(number)).items():
            known = found[_REPEATS[name]] if name in _REPEATS else ()
            for row in pages.rows(image, number, known):
                if (values := form.fit(row)) is not None:
                    key, told = _keyed(name, row, values)
                    found[name].setdefault(key, told)
    return found


def _forms(owner: str | None) -> dict[str, Form]:
    """Return how the rows may look on a page of this table or index, or on one of which nothing is known."""
    if owner is None:
        return {name: form for name, form in FORMS.items() if form.alone}
    return {name: form for name, form in FORMS.items() if name.partition(" ")[0] == owner}


def _keyed(name: str, row: Stored, values: Row) -> tuple[object, Row]:
    """Return by what a row is known, and what else it tells."""
    if row.number is not None:
        return row.number, values
    if name in _KEYS:
        return values[: _KEYS[name]], values
    return values[-1], values[:-1]  # an index ends with the number of the row it tells of


def _owners(image: Image, given_up: set[int]) -> dict[int, str | None]:
    """Return to which table or index each page belongs to which something leads; None where that is two of them."""
    owners: dict[int, str | None] = dict.fromkeys(_tree(image, _SCHEMA, given_up), "sqlite_schema")
    roots = [row.values for number in sorted(owners) for row in pages.rows(image, number) if len(row.values) == 5]
    for _, name, _, root, _ in roots:
        if isinstance(name, str) and isinstance(root, int) and root > 0:
            for number in _tree(image, root, given_up):
                owners[number] = None if number in owners else name
    return owners


def _tree(image: Image, root: int, given_up: set[int]) -> set[int]:
    """Return the pages from `root` down, all of the same sort, indexes or tables, as it is."""
    sort = pages.kind(image, root) in {pages.INNER_INDEX, pages.LEAF_INDEX}
    seen: set[int] = set()
    ahead = [root]
    while ahead:
        number = ahead.pop()
        what = pages.kind(image, number)
        if number in seen or number in given_up or not what or sort != (what in {pages.INNER_INDEX, pages.LEAF_INDEX}):
            continue
        seen.add(number)
        ahead += pages.below(image, number)
    return seen


def _series(found: _Found) -> dict[object, Row]:
    """Return what tells each series from others: change, timing, source, tempo, texture, how."""
    earlier = {n: (*row, _READ) for n, row in found["series_once before recall"].items()}
    # In the index no tempo is told as 0, which none can be.
    indexed = {
        n: (change, timing, source, tempo or None, texture, how)
        for n, (change, timing, source, texture, tempo, how) in {**earlier, **found["series_once"]}.items()
    }
    stored = {n: (*row[:5], *(row[17:] or (_READ,))) for n, row in found["series"].items()}
    return {**indexed, **stored}


def _names(found: _Found) -> Rows:
    return found["sqlite_autoindex_attempts_1"]


def _places(found: _Found) -> Rows:
    return found["attempts_by_series"]


def _belonging(found: _Found) -> Rows:
    return found["attempts_by_run"]


def _attempts_of_indexes(found: _Found) -> dict[object, Row]:
    """Return the attempts that all three indexes tell of: id, run, series, when, change time, and nothing of clean."""
    names, places, belonging = _names(found), _places(found), _belonging(found)
    told: dict[object, Row] = {}
    for n in names.keys() & places.keys() & belonging.keys():
        series, at, _, change_ms = places[n]
        told[n] = (*names[n], *belonging[n], series, at, change_ms, None)
    return told


def _runs(found: _Found, series: Rows, attempts: Rows) -> dict[object, Row]:
    """Return the runs, those included of which no row could be read: by what indexes and their attempts tell."""
    ids, times = found["sqlite_autoindex_runs_1"], found["runs_by_time"]
    recalled: set[object] = set()
    earliest: dict[object, tuple[float, str, Row]] = {}
    for name, run, of_series, at, *_ in attempts.values():
        if of_series not in series:
            continue
        if series[of_series][-1] == How.RECALLED:
            recalled.add(run)
        if run not in found["runs"]:
            assert isinstance(at, float)  # noqa: S101  # by its form
            assert isinstance(name, str)  # noqa: S101
            told = (at, name, series[of_series])
            earliest[run] = min(earliest.get(run, told), told, key=lambda told: told[:2])
    runs: dict[object, Row] = {}
    # Before the fifth format a run did not say so itself.
    for n, row in found["runs"].items():
        runs[n] = row if len(row) == _OF_TODAY else (*row, How.RECALLED.value if n in recalled else _READ)
    for n, (at, first, (_, timing, _, tempo, _, _)) in earliest.items():
        # Two attempts never have one id, so neither have two runs that are called after their first; for the bracket
        # see `LOST_TITLE`.
        (name,), (began,) = ids.get(n, (f"(run of {first})",)), times.get(n, (at,))
        how = How.RECALLED.value if n in recalled else _READ
        runs[n] = (name, LOST_TITLE, began, timing, tempo, None, None, None, how)
    return runs
