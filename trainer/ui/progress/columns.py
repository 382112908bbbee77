"""The columns of the progress table: as many as the window has room for, the ones that say most kept longest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.practice.statistics import share
from trainer.ui.days import day_name
from trainer.ui.fitting import shortened
from trainer.ui.played import TIMED, name_of, seconds, short_name_of, source_name

if TYPE_CHECKING:
    from trainer.log.history import Summary
    from trainer.practice.record import Series

_NOTHING = "-"
"""Stands where there is no number."""
_BETWEEN = 2
"""Cells that a table puts around each entry."""
_SHORTEST_NAME = 18
"""Cells that the change has at the least."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the table."""

    head: str
    """What stands over it."""
    rank: int
    """The higher, the sooner it goes where there is no room."""
    cell: Callable[[Summary], str]
    """Its entry."""
    heard: bool = False
    """True where it says something only of changes that were heard."""


def _way(series: Series) -> str:
    """Return how a series was timed, with its tempo."""
    return TIMED[series.timing] if series.tempo is None else f"{TIMED[series.timing]} {series.tempo:.0f}"


def _span(ms: float | None) -> str:
    """Return a change time as seconds."""
    return _NOTHING if ms is None else seconds(ms)


def _short_span(ms: float | None) -> str:
    """Return a gap, a spread or a delay, which are shorter than a change takes, in milliseconds."""
    return _NOTHING if ms is None else f"{round(ms):,} ms"


COLUMNS = (
    Column("change", 0, lambda one: name_of(one.series.change)),
    Column("timed", 1, lambda one: _way(one.series)),
    Column("from", 10, lambda one: source_name(one.series.source)),
    Column("count", 6, lambda one: f"{one.count:,}"),
    Column("best", 7, lambda one: _span(one.best_ms)),
    Column("median", 2, lambda one: _span(one.median_ms)),
    Column("late", 9, lambda one: _short_span(one.late_ms), heard=True),
    Column("gap", 3, lambda one: _short_span(one.gap_ms), heard=True),
    Column("spread", 5, lambda one: _short_span(one.spread_ms), heard=True),
    Column("kept", 5, lambda one: share(one.kept, one.kept_answered) if one.kept_answered else _NOTHING, heard=True),
    Column("clean", 4, lambda one: share(one.clean, one.answered)),
    Column("last", 8, lambda one: day_name(one.last_at)),
)
"""Every column, from left to right."""


def table(summaries: Sequence[Summary], width: int) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return the heads and the rows that fit `width` cells; what only hearing tells is left out where nothing heard."""
    heard = any(one.measured for one in summaries)
    columns = [column for column in COLUMNS if heard or not column.heard]
    cells = {column.head: [column.cell(one) for one in summaries] for column in columns}
    wide = {head: max(map(len, (head, *entries))) + _BETWEEN for head, entries in cells.items()}
    name = wide["change"]
    wide["change"] = min(name, _SHORTEST_NAME + _BETWEEN)
    kept, room = set[str](), width
    for column in sorted(columns, key=lambda column: column.rank):
        if wide[column.head] > room:
            break
        kept.add(column.head)
        room -= wide[column.head]
    most = wide["change"] + room - _BETWEEN
    cells["change"] = [
        entry if len(entry) <= most else shortened(short_name_of(one.series.change), most)
        for entry, one in zip(cells["change"], summaries, strict=True)
    ]
    heads = tuple(column.head for column in columns if column.head in kept)
    return heads, list(zip(*(cells[head] for head in heads), strict=True)) if heads else []
