"""The summaries beside each series are exactly what its attempts say, whatever was written, marked or taken back."""

from __future__ import annotations

import sqlite3
import statistics as standard
from contextlib import closing
from dataclasses import replace
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.log import store
from trainer.log.faults import RefusedError
from trainer.log.history import History
from trainer.log.migrations import migrate
from trainer.practice.record import Attempt, Run, Series, Timing

WINDOW = 3
"""A small window, so that few attempts outgrow it."""

said = st.sampled_from([None, True, False])
attempts = st.builds(
    Attempt,
    id=st.sampled_from("abcdefghijklmnopqrst"),
    run=st.just("run"),
    change=st.sampled_from(["one", "one", "one", "two"]),
    at=st.integers(0, 5).map(float),
    timing=st.just(Timing.LEAVE),
    source=st.just("keys"),
    change_ms=st.none() | st.integers(-20, 2000).map(float),
    clean=said,
    tempo=st.sampled_from([None, None, None, 60.0]),
)
ids = attempts.map(lambda attempt: attempt.id)
adding = st.tuples(st.just("add"), attempts)
marking = st.tuples(st.just("mark"), st.tuples(ids, said))
taking_back = st.tuples(st.just("take back"), ids)
# Long lists, mostly of one series, or few examples would outgrow the window.
steps = st.lists(adding | adding | adding | marking | taking_back, min_size=20, max_size=50)


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
            times = [attempt.change_ms for attempt in members if attempt.change_ms is not None]
            recent = [attempt.change_ms for attempt in members[-WINDOW:] if attempt.change_ms is not None]
            assert history.attempts(which) == members
            assert summary.count == len(members)
            assert summary.best_ms == min(times, default=None)
            assert summary.median_ms == (standard.median(recent) if recent else None)
            assert summary.clean == [attempt.clean for attempt in members].count(True)
            assert summary.answered == sum(attempt.clean is not None for attempt in members)
            assert summary.last_at == members[-1].at


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
            store.take_back(connection, "no such id")
        with pytest.raises(RefusedError, match="no such run"):
            store.finish(connection, "no such run", None, None, None)
        with pytest.raises(RefusedError, match="no such run"):
            store.add(connection, replace(example(), run="no such run"))


def test_a_tempo_of_nought_is_refused_by_the_file_itself() -> None:
    with closing(opened()) as connection, pytest.raises(sqlite3.IntegrityError, match="tempo"):
        store.add(connection, replace(example(), tempo=0.0))
