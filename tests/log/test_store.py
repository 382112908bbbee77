"""The summaries beside each series and run are exactly what their attempts say, whatever was written or taken back."""

from __future__ import annotations

import sqlite3
import statistics as standard
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import MEASURES, MILLISECONDS
from trainer.log import store
from trainer.log.faults import RefusedError
from trainer.log.history import History
from trainer.log.migrations import migrate
from trainer.practice.measures import Answer, Direction, Measures
from trainer.practice.record import Attempt, Run, Series, Timing

WINDOW = 3
"""A small window, so that few attempts outgrow it."""

said = st.sampled_from([None, True, False])


def played(attempt: Attempt) -> Attempt:
    """Return an attempt with one change time: the measures of a change tell the same as the change."""
    measures = attempt.measures
    return attempt if measures is None else replace(attempt, change_ms=measures.change_ms)


attempts = st.builds(
    Attempt,
    id=st.sampled_from("abcdefghijklmnopqrst"),
    run=st.just("run"),
    change=st.sampled_from(["one", "one", "one", "two"]),
    at=st.sampled_from([0.0, 1.0, 2.0, 30.0, 890.0, 905.0, 4000.0]),
    timing=st.just(Timing.LEAVE),
    source=st.just("keys"),
    change_ms=MILLISECONDS,
    clean=said,
    tempo=st.sampled_from([None, None, None, 60.0]),
    measures=st.none() | MEASURES,
).map(played)
ids = attempts.map(lambda attempt: attempt.id)
adding = st.tuples(st.just("add"), attempts)
marking = st.tuples(st.just("mark"), st.tuples(ids, said))
measuring = st.tuples(st.just("measure"), st.tuples(ids, MEASURES, said))
taking_back = st.tuples(st.just("take back"), ids)
# Long lists, mostly of one series, or few examples would outgrow the window.
steps = st.lists(adding | adding | adding | marking | measuring | taking_back, min_size=20, max_size=50)


def opened() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    migrate(connection)
    store.begin(connection, Run("run", "Two shapes", 0.0, Timing.LEAVE))
    return connection


def example(name: str = "a", change_ms: float | None = 700.0) -> Attempt:
    return Attempt(name, "run", "one", 0.0, Timing.LEAVE, "keys", change_ms)


@settings(deadline=None)  # a busy machine is not a wrong summary
@given(steps)
def test_summaries_never_drift_from_the_attempts(steps: list[tuple[str, object]]) -> None:
    model: dict[str, Attempt] = {}
    with closing(opened()) as connection, patch.object(store, "WINDOW", WINDOW):
        for step in steps:
            match step:
                case ("add", Attempt() as attempt):
                    store.add(connection, attempt)
                    model.setdefault(attempt.id, attempt)
                case ("mark", (str(name), (bool() | None) as clean)) if name in model:
                    store.mark(connection, name, clean)
                    model[name] = replace(model[name], clean=clean)
                case ("measure", (str(name), Measures() as measures, (bool() | None) as clean)) if name in model:
                    store.measure(connection, name, measures, clean)
                    model[name] = replace(model[name], measures=measures, clean=clean, change_ms=measures.change_ms)
                case ("take back", str(name)) if name in model:
                    store.take_back(connection, name)
                    del model[name]
        history = History(connection)
        series: dict[Series, list[Attempt]] = {}
        for attempt in model.values():  # a dict keeps the order of entry, which decides between equal moments
            series.setdefault(attempt.series, []).append(attempt)
        got = {summary.series: summary for summary in history.summaries()}
        assert got.keys() == series.keys()
        for which, members in series.items():
            members.sort(key=lambda attempt: attempt.at)
            summary = got[which]
            recent = [attempt.measures for attempt in members[-WINDOW:] if attempt.measures is not None]
            heard = [attempt.measures for attempt in members if attempt.measures is not None]
            kept = [answer for measures in heard for answer in measures.kept_down.values()]
            assert history.attempts(which) == members
            assert summary.count == len(members)
            assert summary.best_ms == min(known(attempt.change_ms for attempt in members), default=None)
            assert summary.median_ms == median(attempt.change_ms for attempt in members[-WINDOW:])
            assert summary.clean == [attempt.clean for attempt in members].count(True)
            assert summary.answered == sum(attempt.clean is not None for attempt in members)
            assert summary.last_at == members[-1].at
            assert summary.measured == len(heard)
            assert summary.gap_ms == median(measures.gap_ms for measures in recent)
            assert summary.spread_ms == median(measures.spread_ms for measures in recent)
            assert summary.late_ms == median(
                measures.delay_ms if measures.lateness_ms is None else measures.lateness_ms for measures in recent
            )
            assert (summary.kept, summary.kept_answered) == (
                kept.count(Answer.YES),
                len(kept) - kept.count(Answer.NOT_HEARD),
            )
        (orphans,) = connection.execute(
            "SELECT count(*) FROM (SELECT attempt FROM fingers UNION SELECT attempt FROM notes UNION"
            " SELECT attempt FROM measures) WHERE attempt NOT IN (SELECT n FROM attempts)"
        ).fetchone()
        assert orphans == 0
        assert quarters(connection) == by_hand(model.values())


def quarters(connection: sqlite3.Connection) -> dict[int, tuple[int, int, int, float]]:
    """Return what stands beside the one run: tries, clean, answered and seconds of playing of each quarter."""
    rows = connection.execute("SELECT quarter, tries, clean, answered, played_s FROM quarters")
    return {quarter: tuple(counts) for quarter, *counts in rows}


def by_hand(attempts: Iterable[Attempt]) -> dict[int, tuple[int, int, int, float]]:
    """Return the same of these attempts at a run that began at nought: pauses beyond a minute count as one."""
    latest, found = 0.0, dict[int, tuple[int, int, int, float]]()
    for attempt in sorted(attempts, key=lambda attempt: attempt.at):
        tries, clean, answered, played_s = found.get(int(attempt.at // 900), (0, 0, 0, 0.0))
        said = attempt.clean is not None
        pause = min(attempt.at - latest, 60.0)
        found[int(attempt.at // 900)] = (tries + 1, clean + bool(attempt.clean), answered + said, played_s + pause)
        latest = attempt.at
    return found


def known(values: Iterable[float | None]) -> list[float]:
    return [value for value in values if value is not None]


def median(values: Iterable[float | None]) -> float | None:
    ordered = known(values)
    return standard.median(ordered) if ordered else None


def test_every_measure_comes_back_as_it_was_written() -> None:
    measures = Measures(
        device="Six strings MIDI 1",
        calibration="two periods of each string",
        expected=False,
        change_ms=412.5,
        strike_ms=900.0,
        delay_ms=21.0,
        lateness_ms=-12.25,
        gap_ms=-3.5,
        gap_melody_ms=4.0,
        gap_bass_ms=-7.0,
        spread_ms=31.0,
        direction=Direction.BASS_FIRST,
        kept_down={1: Answer.YES, 2: Answer.NO, 3: Answer.NOT_HEARD},
        guides={4: Answer.YES},
        wrong=(54, 40, 54),
        octaves=((2, 72), (None, 60)),
        missing=((6, 40), (None, 64)),
        balance=-2.5,
    )
    with closing(opened()) as connection:
        store.add(connection, replace(example(change_ms=412.5), measures=measures))
        (attempt,) = History(connection).of_run("run")
        assert attempt.measures == measures
        history = History(connection)
        assert history.attempts(attempt.series) == [attempt]
        # For whoever asks with SQL alone: numbers that average, answers that count.
        averages = connection.execute("SELECT avg(gap_ms), avg(spread_ms), count(lateness_ms) FROM played").fetchone()
        assert averages == (-3.5, 31.0, 1)
        stayed = "SELECT finger, answer FROM fingers WHERE asked = 'kept' AND answer <> 'not heard' ORDER BY finger"
        assert connection.execute(stayed).fetchall() == [(1, "yes"), (2, "no")]


def test_a_verdict_takes_the_place_of_the_one_before_and_may_correct_the_time() -> None:
    first = Measures("guitar", "none", change_ms=700.0, gap_ms=10.0, kept_down={1: Answer.YES}, wrong=(40, 41))
    later = Measures("guitar", "none", change_ms=750.0, gap_ms=30.0, kept_down={1: Answer.NO}, missing=((6, 40),))
    with closing(opened()) as connection:
        store.add(connection, replace(example(change_ms=700.0), measures=first))
        store.measure(connection, "a", later, True)
        history = History(connection)
        assert history.of_run("run") == [replace(example(change_ms=750.0), measures=later, clean=True)]
        (summary,) = history.summaries()
        assert (summary.best_ms, summary.gap_ms, summary.kept, summary.kept_answered) == (750.0, 30.0, 0, 1)
        assert (summary.measured, summary.clean, summary.answered) == (1, 1, 1)


@pytest.mark.parametrize(
    "measures",
    [
        Measures("guitar", "", spread_ms=-1.0),
        Measures("guitar", "", kept_down={5: Answer.YES}),
        Measures("guitar", "", wrong=(128,)),
        Measures("guitar", "", missing=((0, 40),)),
    ],
)
def test_measures_that_cannot_be_are_refused_by_the_file_itself(measures: Measures) -> None:
    with closing(opened()) as connection, pytest.raises(sqlite3.IntegrityError, match="CHECK"):
        store.add(connection, replace(example(), measures=measures))


def test_a_change_entered_twice_is_kept_once_and_first_come() -> None:
    with closing(opened()) as connection:
        store.add(connection, example(change_ms=700.0))
        store.add(connection, example(change_ms=100.0))
        (summary,) = History(connection).summaries()
    assert (summary.count, summary.best_ms) == (1, 700.0)


def test_a_run_entered_twice_is_kept_once() -> None:
    with closing(opened()) as connection:
        store.begin(connection, Run("run", "Another title", 5.0, Timing.CUE))
        assert [run.drill for run in History(connection).runs()] == ["Two shapes"]


def test_a_run_is_finished() -> None:
    with closing(opened()) as connection:
        store.finish(connection, "run", 16, 14, "left hand cold")
        (run,) = History(connection).runs()
    assert (run.asked, run.landed, run.remark) == (16, 14, "left hand cold")


def test_what_is_not_in_the_log_is_refused() -> None:
    with closing(opened()) as connection:
        with pytest.raises(RefusedError, match="no such id"):
            store.mark(connection, "no such id", True)
        with pytest.raises(RefusedError, match="no such id"):
            store.measure(connection, "no such id", Measures("guitar", ""), None)
        with pytest.raises(RefusedError, match="no such id"):
            store.take_back(connection, "no such id")
        with pytest.raises(RefusedError, match="no such run"):
            store.finish(connection, "no such run", None, None, None)
        with pytest.raises(RefusedError, match="no such run"):
            store.add(connection, replace(example(), run="no such run"))


def test_a_tempo_of_nought_is_refused_by_the_file_itself() -> None:
    with closing(opened()) as connection, pytest.raises(sqlite3.IntegrityError, match="tempo"):
        store.add(connection, replace(example(), tempo=0.0))
