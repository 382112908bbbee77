"""The union of two logs depends on what was joined only: not on the order, the direction or how often.

Logs are built by the functions that practice itself writes with. That a union is the join of a semilattice (idempotent,
commutative, associative) is what a replicated set that only grows needs in order to come out the same everywhere
(Shapiro, Preguiça, Baquero, Zawirski: Conflict-free Replicated Data Types, SSS 2011, proposition 2.1).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from functools import partial
from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import MEASURES, MILLISECONDS
from trainer.log import store, union
from trainer.log.history import History
from trainer.log.migrations import migrate, transaction
from trainer.practice.measures import Answer, Measures
from trainer.practice.record import Attempt, How, Run, Timing

WINDOW = 3
"""A small window, so that few attempts outgrow it."""
EVERY = 1_000_000
RUNS = ("at school", "at home")

said = st.sampled_from([None, True, False])


@st.composite
def attempts(draw: st.DrawFn) -> Attempt:
    """One of twelve attempts, told in one of many ways.

    Its moment is always the same. Its run and its series are in what practice writes, but a union need not rely on it.
    """
    n = draw(st.integers(0, 11))
    measures = draw(st.none() | MEASURES)
    return Attempt(
        id=str(n),
        run=draw(st.sampled_from(RUNS)),
        change=draw(st.sampled_from(["one", "one", "two"])),
        at=60.0 * n,
        timing=Timing.HEARD if n % 5 == 0 else Timing.LEAVE,
        source="keys",
        change_ms=draw(MILLISECONDS) if measures is None else measures.change_ms,
        clean=draw(said),
        tempo=60.0 if n == 9 else None,
        how=How.RECALLED if n == 10 else How.READ,
        measures=measures,
    )


def runs(name: str) -> st.SearchStrategy[Run]:
    return st.builds(
        Run,
        id=st.just(name),
        drill=st.just(f"Played {name}"),
        at=st.just(0.0),
        timing=st.just(Timing.LEAVE),
        asked=st.none() | st.integers(0, 3),
        landed=st.none() | st.integers(0, 3),
        remark=st.sampled_from([None, "", "cold hands"]),
    )


@dataclass(frozen=True)
class Told:
    """What one log tells: of each run and of each attempt one account, in the order in which they were written."""

    runs: list[Run]
    attempts: list[Attempt]


told = st.builds(
    Told,
    runs=st.tuples(*map(runs, RUNS)).map(list),
    attempts=st.lists(attempts(), max_size=12, unique_by=lambda attempt: attempt.id),
)


LOGS: list[sqlite3.Connection] = []
"""Every log in memory, to be closed."""


def empty() -> bytes:
    """Return a log in which nothing stands; made once, for it takes longer than all else here."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        migrate(connection)
        return connection.serialize()


EMPTY = empty()


def opened(content: bytes = EMPTY) -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.deserialize(content)
    connection.execute("PRAGMA foreign_keys = ON")
    LOGS.append(connection)
    return connection


@pytest.fixture(autouse=True)
def small() -> Iterator[None]:
    """Take medians over few attempts, and close what was opened."""
    with patch.object(store, "WINDOW", WINDOW):
        yield
    while LOGS:
        LOGS.pop().close()


def written(told: Told) -> sqlite3.Connection:
    connection = opened()
    for run in told.runs:
        store.begin(connection, run)
    for attempt in told.attempts:
        store.add(connection, attempt)
    return connection


def joined(ours: sqlite3.Connection, *others: sqlite3.Connection) -> sqlite3.Connection:
    """Return a log of its own: `ours` with the others taken in, one after the other."""
    for theirs in others:
        into = opened(ours.serialize())
        union.copy(into, theirs)
        with transaction(into):
            union.compare(into)
            union.join(into)
        ours = into
    return ours


def contents(connection: sqlite3.Connection) -> dict[str, dict[str, Any]]:
    """Return all that a log holds, by what it is known by in every log."""
    history = History(connection)
    of_series = ", ".join(column for column in columns(connection, "series") if column != "n")
    series = connection.execute(f"SELECT {of_series} FROM series WHERE attempts > 0")
    of_quarters = ", ".join(column for column in columns(connection, "quarters") if column != "run")
    quarters = connection.execute(f"SELECT id, {of_quarters} FROM quarters JOIN runs ON n = run ORDER BY id, quarter")
    return {
        "runs": {run.id: run for run in history.runs(newest=EVERY)},
        "attempts": {attempt.id: attempt for run in RUNS for attempt in history.of_run(run)},
        "series": {repr(row): row for row in series},
        "quarters": {row[:2]: row for row in quarters},
    }


def columns(connection: sqlite3.Connection, table: str) -> list[str]:
    return [name for (name,) in connection.execute("SELECT name FROM pragma_table_info(?)", (table,))]


@settings(deadline=None, max_examples=60)  # a busy machine is not a wrong union; nor are those below
@given(told, told)
def test_nothing_is_lost_nothing_doubled_and_nothing_made_up(one: Told, other: Told) -> None:
    got = joined(written(one), written(other))
    for kind in ("runs", "attempts"):
        mine, yours, both = (contents(log)[kind] for log in (written(one), written(other), got))
        assert both.keys() == mine.keys() | yours.keys()
        for name, entry in both.items():
            assert entry in (mine.get(name), yours.get(name))
    # Summaries, those of a log into which the same was played.
    in_order = sorted(contents(got)["attempts"].values(), key=lambda attempt: attempt.at)
    assert contents(written(Told(list(contents(got)["runs"].values()), in_order))) == contents(got)


@settings(deadline=None, max_examples=40)
@given(told, told, told)
def test_a_union_is_idempotent_commutative_and_associative(one: Told, other: Told, third: Told) -> None:
    a, b, c = map(written, (one, other, third))
    assert contents(joined(a, a)) == contents(a)
    assert contents(joined(a, b, b, a)) == contents(joined(a, b)) == contents(joined(b, a))
    assert contents(joined(a, b, c)) == contents(joined(a, joined(b, c)))


MACHINES = (0, 1)
play = st.sampled_from(["begin", "add", "measure", "mark clean", "mark unclean", "finish"])
lives = st.lists(st.tuples(play | st.just("carry"), st.sampled_from(MACHINES)), min_size=8, max_size=40)


class Machine:
    """One of two places where a player practises, beside a log that sees what is played at either."""

    def __init__(self, everything: sqlite3.Connection) -> None:
        self.log = opened()
        self.everything = everything
        self.run = ""
        self.newest: Attempt | None = None

    def play(self, step: str, n: int) -> None:
        """Take the `n`th step of practice; of an attempt ever more is known, and at last it may be called unclean."""
        if step == "begin" or not self.run:
            self.run, self.newest = f"run {n}", None
            run = Run(self.run, "Two shapes" if n % 3 else "Others", 60.0 * n, Timing.LEAVE)
            self.write(partial(store.begin, run=run))
        elif step == "finish":
            self.write(partial(store.finish, run=self.run, asked=8, landed=n, remark="cold hands"))
            self.run = ""
        elif step == "add" or self.newest is None:
            change = ("one", "one", "two")[n % 3]
            self.newest = Attempt(str(n), self.run, change, 60.0 * n, Timing.HEARD, "six", 400.0 + 37 * n % 90)
            self.write(partial(store.add, attempt=self.newest))
        else:
            self.newest = self.say(step, n, self.newest)

    def say(self, step: str, n: int, newest: Attempt) -> Attempt:
        """Say more of the newest attempt and return it as it is told then."""
        if step == "measure" and newest.measures is None:
            heard = Measures("six", "", change_ms=500.0 + n, gap_ms=float(n), kept_down={1: Answer.YES})
            self.write(partial(store.measure, attempt=newest.id, measures=heard, clean=newest.clean))
            return replace(newest, measures=heard)
        if step.startswith("mark") and newest.clean is not False:
            clean = step == "mark clean"
            self.write(partial(store.mark, attempt=newest.id, clean=clean))
            return replace(newest, clean=clean)
        return newest

    def write(self, entry: Callable[[sqlite3.Connection], None]) -> None:
        for log in (self.log, self.everything):
            entry(log)


@settings(deadline=None, max_examples=40)
@given(lives)
def test_a_log_carried_to_and_fro_is_that_of_one_who_practised_in_one_place(life: list[tuple[str, int]]) -> None:
    everything = opened()
    machines = [Machine(everything), Machine(everything)]
    for n, (step, which) in enumerate(life):
        if step == "carry":
            machines[which].log = joined(machines[which].log, machines[1 - which].log)
        else:
            machines[which].play(step, n)
    ends = [joined(machines[which].log, machines[1 - which].log) for which in MACHINES]
    assert [answers(end) for end in ends] == [answers(everything)] * 2


def answers(connection: sqlite3.Connection) -> tuple[object, ...]:
    """Return what is shown of a log."""
    history = History(connection)
    runs = sorted(history.runs(newest=EVERY), key=lambda run: run.id)
    return (
        sorted(history.summaries(), key=repr),
        runs,
        [history.of_run(run.id) for run in runs],
        [replace(week, medians=sorted(week.medians.values())) for week in history.weeks(0.0)],  # type: ignore[arg-type]  # by series, whose numbers differ
        sorted(history.drills_played(), key=repr),
        [history.attempts(summary.series) for summary in sorted(history.summaries(), key=repr)],
    )


def test_every_table_of_a_log_is_carried() -> None:
    """A step of the schema that brings a table has to say here how two of them become one; quarters follow from runs
    and attempts."""
    tables = {name for (name,) in opened().execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    assert set(union.TABLES) == tables - {"migrations", "quarters"}


BARE = Attempt("a", "run", "one", 60.0, Timing.HEARD, "six", 700.0)
HEARD = Measures("six", "", change_ms=650.0, gap_ms=10.0, kept_down={1: Answer.YES})


@pytest.mark.parametrize(
    ("less", "more"),
    [
        (BARE, replace(BARE, clean=True)),
        (replace(BARE, change_ms=None), BARE),
        (BARE, replace(BARE, change_ms=650.0, measures=HEARD)),
        (replace(BARE, clean=True), replace(BARE, change_ms=650.0, measures=HEARD)),
        (replace(BARE, clean=True), replace(BARE, clean=False)),
    ],
    ids=["said and not", "timed and not", "heard and not", "heard and said", "unclean and clean"],
)
def test_of_two_accounts_the_fuller_stands(less: Attempt, more: Attempt) -> None:
    run = Run("run", "Two shapes", 0.0, Timing.HEARD)
    for one, other in ((less, more), (more, less)):
        (kept,) = History(joined(written(Told([run], [one])), written(Told([run], [other])))).of_run("run")
        assert kept == more


@pytest.mark.parametrize(
    "change",
    [
        {"kept_down": {1: Answer.NO}},
        {"guides": {1: Answer.YES}, "kept_down": {}},
        {"device": "six strings"},
        {"calibration": "two periods"},
        {"gap_ms": 10.000000000000002},
        {"wrong": (54,)},
        {"missing": ((6, 54),)},
        {"missing": ((None, 54),)},
    ],
)
def test_of_two_accounts_that_know_equally_much_the_same_stands_either_way(change: dict[str, Any]) -> None:
    run = Run("run", "Two shapes", 0.0, Timing.HEARD)
    one, other = (
        written(Told([run], [replace(BARE, change_ms=650.0, measures=measures)]))
        for measures in (HEARD, replace(HEARD, **change))
    )
    kept = [History(log).of_run("run") for log in (joined(one, other), joined(other, one))]
    assert kept[0] == kept[1]
    assert kept[0] in [History(log).of_run("run") for log in (one, other)]


@pytest.mark.parametrize("change", [{"run": "other"}, {"change": "two"}, {"at": 61.0}, {"how": How.RECALLED}])
def test_accounts_of_one_attempt_in_two_places_come_to_stand_in_one(change: dict[str, Any]) -> None:
    runs = [Run(name, "Two shapes", 0.0, Timing.HEARD) for name in ("run", "other")]
    one, other = (written(Told(runs, [attempt])) for attempt in (BARE, replace(BARE, **change)))
    either_way = [History(log) for log in (joined(one, other), joined(other, one))]
    (first, second) = ([history.of_run("run"), history.of_run("other")] for history in either_way)
    assert first == second
    assert sum(map(len, first)) == 1
    assert [sum(summary.count for summary in history.summaries()) for history in either_way] == [1, 1]


def test_a_run_that_was_over_in_one_log_is_over_in_the_union() -> None:
    begun = Run("run", "Two shapes", 0.0, Timing.BEAT, 60.0)
    over = replace(begun, asked=8, landed=7, remark="cold hands")
    for one, other in ((begun, over), (over, begun)):
        assert History(joined(written(Told([one], [])), written(Told([other], [])))).runs() == [over]


def test_what_was_taken_back_in_one_log_only_is_there_again() -> None:
    run = Run("run", "Two shapes", 0.0, Timing.HEARD)
    ours, theirs = written(Told([run], [BARE])), written(Told([run], [BARE]))
    store.take_back(ours, BARE.id)
    history = History(joined(ours, theirs))
    assert history.of_run("run") == [BARE]
    (summary,) = history.summaries()
    assert (summary.count, summary.median_ms) == (1, 700.0)


def test_what_a_log_brings_is_told_before_it_is_written() -> None:
    runs = [Run("one", "Two shapes", 0.0, Timing.LEAVE), Run("two", "Others", 0.0, Timing.LEAVE)]
    first = replace(BARE, run="one")
    more = [first, *(replace(BARE, id=str(n), run="two", at=float(n)) for n in range(3)), replace(first, id="b")]
    ours, theirs = written(Told(runs[:1], [replace(first, clean=True)])), written(Told(runs, more))
    union.copy(ours, theirs)
    assert union.compare(ours) == union.Brought(1, 4, 1, 0, (("Others", 3), ("Two shapes", 1)))
    assert [attempt.id for attempt in History(ours).of_run("one")] == ["a"]
