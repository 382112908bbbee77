"""Questions to the log."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice.record import Attempt, How, Run, Series, Timing

TWO_PRESSES = Run("run-1", "Two shapes", 100.0, Timing.LEAVE)
ON_CUE = Run("run-2", "On cue", 200.0, Timing.CUE)
PACED = Run("run-3", "Two shapes", 300.0, Timing.BEAT, tempo=72.0, asked=8, landed=6)


def attempt(name: str, change_ms: float | None, *, run: Run = TWO_PRESSES, at: float = 1000.0) -> Attempt:
    return Attempt(name, run.id, "am to c", at, run.timing, "keys", change_ms, tempo=run.tempo)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A log of three runs and four series."""
    path = tmp_path / "practice.sqlite3"
    with Log.open(path) as log:
        for run in (TWO_PRESSES, ON_CUE, PACED):
            log.begin(run)
        for entry in (
            attempt("a", 500.0, at=1001.0),
            attempt("b", 700.0, at=1002.0),
            attempt("c", 900.0, run=ON_CUE, at=1003.0),
            attempt("d", None, run=PACED, at=1004.0),
            replace(attempt("e", 1500.0, at=1005.0), change="c to g"),
        ):
            assert log.add(entry).result() is None
    return path


def test_summaries_come_slowest_first_and_untimed_last(path: Path) -> None:
    with reading(path) as history:
        got = [(summary.series.change, summary.series.timing, summary.median_ms) for summary in history.summaries()]
    assert got == [
        ("c to g", Timing.LEAVE, 1500.0),
        ("am to c", Timing.CUE, 900.0),
        ("am to c", Timing.LEAVE, 600.0),
        ("am to c", Timing.BEAT, None),
    ]


def test_summaries_of_one_drill(path: Path) -> None:
    with reading(path) as history:
        assert [summary.series.timing for summary in history.summaries(drill="On cue")] == [Timing.CUE]
        assert history.summaries(drill="no such drill") == []


def test_the_slowest_are_the_first_of_all(path: Path) -> None:
    with reading(path) as history:
        assert history.summaries(slowest=2) == history.summaries()[:2]
        assert history.summaries(drill="Two shapes", slowest=1) == history.summaries(drill="Two shapes")[:1]
        assert [history.count(), history.count(drill="Two shapes"), history.count(drill="no such drill")] == [4, 3, 0]


def test_a_change_stands_as_it_was_timed_last(path: Path) -> None:
    """Of am to c the try to the beat is newer than the one on cue, but has no time."""
    with reading(path) as history:
        found = {history.series(known.number): (known.median_ms, known.last_at) for known in history.timed_last()}
    assert {(series.change, series.timing): stands for series, stands in found.items()} == {
        ("c to g", Timing.LEAVE): (1500.0, 1005.0),
        ("am to c", Timing.CUE): (900.0, 1003.0),
    }


def test_those_played_last_come_newest_first_and_all_have_a_time(path: Path) -> None:
    with reading(path) as history:
        every = [summary for summary in history.summaries() if summary.median_ms is not None]
        assert [summary.last_at for summary in history.played_last(9)] == [1005.0, 1003.0, 1002.0]
        assert history.played_last(9) == sorted(every, key=lambda summary: -summary.last_at)
        assert history.played_last(1) == history.played_last(9)[:1]


def test_a_change_was_played_however_it_was_timed_unless_all_of_it_is_taken_back(path: Path) -> None:
    with Log.open(path) as log:
        assert log.take_back("e").result() is None
        assert log.add(replace(attempt("f", None, run=PACED), change="paced only")).result() is None
    with reading(path) as history:
        played = {change: history.played(change) for change in ("am to c", "paced only", "c to g", "no such change")}
    assert played == {"am to c": True, "paced only": True, "c to g": False, "no such change": False}


def test_the_newest_attempts_of_a_series_come_oldest_first(path: Path) -> None:
    with reading(path) as history:
        series = attempt("", None).series
        assert [a.id for a in history.attempts(series)] == ["a", "b"]
        assert [a.id for a in history.attempts(series, newest=1)] == ["b"]
        assert history.attempts(replace(series, tempo=60.0)) == []


def test_times_are_those_of_the_newest_attempts_some_of_which_have_none(path: Path) -> None:
    series = attempt("", None).series
    with Log.open(path) as log:
        for name, change_ms, at in (("f", None, 1006.0), ("g", 600.0, 1007.0)):
            assert log.add(attempt(name, change_ms, at=at)).result() is None
    with reading(path) as history:
        assert history.times(series) == [500.0, 700.0, 600.0]
        assert history.times(series, newest=2) == [600.0]
        assert history.times(replace(series, tempo=60.0)) == []


def test_one_change_however_timed(path: Path) -> None:
    with reading(path) as history:
        assert [a.id for a in history.of_change("am to c")] == ["a", "b", "c", "d"]
        assert [a.id for a in history.of_change("am to c", newest=3)] == ["b", "c", "d"]
        assert history.of_change("no such change") == []


def test_runs_come_newest_first_and_tell_their_drill(path: Path) -> None:
    with reading(path) as history:
        assert history.runs() == [PACED, ON_CUE, TWO_PRESSES]
        assert history.runs(newest=1) == [PACED]
        assert history.drills() == ["On cue", "Two shapes"]


def test_attempts_of_a_run(path: Path) -> None:
    with reading(path) as history:
        assert [a.id for a in history.of_run("run-1")] == ["a", "b", "e"]
        assert history.of_run("no such run") == []


def test_an_attempt_comes_back_as_it_was_written(path: Path) -> None:
    with reading(path) as history:
        assert history.of_run("run-3") == [attempt("d", None, run=PACED, at=1004.0)]


def test_answers_are_all_from_one_moment(path: Path) -> None:
    with reading(path) as history, Log.open(path) as log:
        before = history.summaries()
        assert log.add(attempt("later", 10.0)).result() is None
        assert history.summaries() == before
    with reading(path) as history:
        assert history.summaries() != before


def test_no_log_reads_as_an_empty_one_and_none_is_made(tmp_path: Path) -> None:
    with reading(tmp_path / "nowhere" / "practice.sqlite3") as history:
        assert (history.summaries(), history.runs(), history.drills()) == ([], [], [])
    assert list(tmp_path.iterdir()) == []


def test_a_path_with_signs_that_mean_something_in_an_address(tmp_path: Path) -> None:
    path = tmp_path / "100% mine? #1" / "practice.sqlite3"
    with Log.open(path) as log:
        assert log.begin(TWO_PRESSES).result() is None
    with reading(path) as history:
        assert history.runs() == [TWO_PRESSES]


def test_a_fault_of_the_caller_stays_the_callers(path: Path) -> None:
    with pytest.raises(BrokenPipeError), reading(path):
        raise BrokenPipeError


def test_what_was_recalled_is_never_pooled_with_what_was_read(tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite3"
    with Log.open(path) as log:
        log.begin(Run("run", "Two shapes", 1000.0, Timing.LEAVE))
        for number, (ms, how) in enumerate(((900.0, How.READ), (700.0, How.READ), (1500.0, How.RECALLED))):
            log.add(Attempt(str(number), "run", "C to F", 1001.0 + number, Timing.LEAVE, "keys", ms, how=how))
    with reading(path) as history:
        stands = {one.series.how: (one.count, one.best_ms, one.median_ms) for one in history.summaries()}
        recalled = history.attempts(Series("C to F", Timing.LEAVE, "keys", how=How.RECALLED))
        every = history.of_run("run")
    assert stands == {How.READ: (2, 700.0, 800.0), How.RECALLED: (1, 1500.0, 1500.0)}
    assert [attempt.id for attempt in recalled] == ["2"]
    assert [attempt.how for attempt in every] == [How.READ, How.READ, How.RECALLED]
