"""Weeks, days of a drill and runs of a change, summed up by the log as by hand."""

from __future__ import annotations

import sqlite3
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import median
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trainer.log import spans
from trainer.log.history import reading
from trainer.log.migrations import migrate
from trainer.log.store import add, begin
from trainer.log.writer import Log
from trainer.practice.progress import PACE_FROM, RunTimes
from trainer.practice.record import Attempt, Run, Series, Timing

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.fixture(autouse=True)
def in_berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Be where the clocks change, an hour or two ahead of UTC."""
    with monkeypatch.context() as there:
        there.setenv("TZ", "Europe/Berlin")
        time.tzset()
        yield
    time.tzset()


@pytest.fixture
def log(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(tmp_path / "log.sqlite3", isolation_level=None)) as connection:
        migrate(connection)
        yield connection


def moment(text: str) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=BERLIN).timestamp()


def play(
    log: sqlite3.Connection,
    title: str,
    begins: float,
    *times: float | None,
    change: str = "am to c",
    apart: float = 10.0,
    clean: bool | None = None,
    timing: Timing = Timing.LEAVE,
) -> None:
    run = Run(f"{title} {begins} {change}", title, begins, timing)
    begin(log, run)
    for n, ms in enumerate(times):
        at = begins + apart * (n + 1)
        add(log, Attempt(f"{run.id} {n}", run.id, change, at, timing, "keys", ms, clean))


def test_a_week_begins_on_monday_at_midnight_where_the_player_is(log: sqlite3.Connection) -> None:
    """Sunday 2024-12-29 23:50 in Berlin is still week 52 and Monday 00:10, 23:10 UTC the day before, is week 1 of 2025
    (ISO 8601: the week with the year's first Thursday)."""
    play(log, "late", moment("2024-12-29T23:50:00"), 900.0)
    play(log, "early", moment("2024-12-30T00:10:00"), 900.0, 800.0)
    found = spans.weeks(log, 0.0)
    assert [(span.begins.isoformat(), span.tries) for span in found] == [("2024-12-23", 1), ("2024-12-30", 2)]
    assert [tuple(span.begins.isocalendar()) for span in found] == [(2024, 52, 1), (2025, 1, 1)]


def test_summer_time_moves_midnight_with_it(log: sqlite3.Connection) -> None:
    """On 2025-03-30 and on 2025-10-26, both Sundays, Berlin's clocks change; the weeks still end at local midnight."""
    for sunday in ("2025-03-30", "2025-10-26"):
        following = (date.fromisoformat(sunday) + timedelta(days=1)).isoformat()
        play(log, sunday, moment(f"{sunday}T23:30:00"), 900.0)
        play(log, following, moment(f"{following}T00:30:00"), 900.0)
    days = ["2025-03-24", "2025-03-31", "2025-10-20", "2025-10-27"]
    assert [span.begins.isoformat() for span in spans.weeks(log, 0.0)] == days


def test_every_number_of_a_week(log: sqlite3.Connection) -> None:
    monday = moment("2025-06-02T18:00:00")
    play(log, "one", monday, 900.0, 700.0, 800.0, clean=True)
    play(log, "two", monday + 86_400, 500.0, 600.0, change="c to g", clean=False)
    play(log, "two", monday + 90_000, None, change="c to g", timing=Timing.BEAT, apart=400.0)
    (week,) = spans.weeks(log, 0.0)
    assert (week.days, week.runs, week.tries, week.changes) == (2, 3, 6, 2)
    assert (week.clean, week.answered) == (3, 5)
    # Five landings ten seconds apart; the pause of 400 s before the sixth counts as a minute.
    assert week.played_s == pytest.approx(5 * 10 + 60)
    # Two times of c to g are too few for a pace.
    assert list(week.medians.values()) == [800.0]


def test_only_what_landed_since_is_told(log: sqlite3.Connection) -> None:
    begins = moment("2025-06-01T23:59:30")  # a Sunday; the run goes on into Monday
    play(log, "over midnight", begins, 900.0, 800.0, 700.0, 600.0, apart=12.0)
    (week,) = spans.weeks(log, moment("2025-06-02T00:00:00"))
    assert (week.begins.isoformat(), week.tries) == ("2025-06-02", 2)


def test_days_of_one_drill_and_no_other(log: sqlite3.Connection) -> None:
    monday = moment("2025-06-02T18:00:00")
    for day in range(4):
        play(log, "one", monday + 86_400 * day, 900.0 - day, 900.0 - day, 900.0 - day)
        play(log, "two", monday + 86_400 * day, 100.0)
    found = spans.days_of_drill(log, "one", 3)
    assert [span.begins.isoformat() for span in found] == ["2025-06-03", "2025-06-04", "2025-06-05"]
    assert [list(span.medians.values()) for span in found] == [[899.0], [898.0], [897.0]]
    assert [(one.title, one.runs, one.tries) for one in spans.drills(log)] == [("one", 4, 12), ("two", 4, 4)]


def test_a_drill_in_which_nothing_landed_was_not_played(log: sqlite3.Connection) -> None:
    begin(log, Run("run", "begun", 0.0, Timing.LEAVE))
    assert spans.drills(log) == []
    assert spans.days_of_drill(log, "begun", 9) == []


def test_runs_of_a_change_are_told_one_by_one(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    with Log.open(path) as opened:
        for run, times in (("b", (900.0, 700.0)), ("a", (500.0, 900.0, 800.0)), ("c", (None,))):
            opened.begin(Run(run, "drill", 100.0 if run == "b" else 200.0, Timing.LEAVE))
            for n, ms in enumerate(times):
                opened.add(Attempt(f"{run} {n}", run, "am to c", 300.0 + n, Timing.LEAVE, "keys", ms))
    with reading(path) as history:
        assert history.runs_of_series(Series("am to c", Timing.LEAVE, "keys")) == [
            RunTimes(100.0, 2, 800.0),
            RunTimes(200.0, 3, 800.0),
        ]
        assert history.runs_of_series(Series("c to am", Timing.LEAVE, "keys")) == []


def test_a_moment_that_no_calendar_knows_spoils_nothing(log: sqlite3.Connection) -> None:
    play(log, "broken clock", 1e15, 900.0)
    play(log, "sound", moment("2025-06-02T18:00:00"), 900.0)
    assert spans.weeks(log, 0.0)[0].begins.isoformat() == "2025-06-02"


PLAYED = st.lists(
    st.tuples(
        st.integers(0, 400),  # hours after the beginning
        st.sampled_from(["am to c", "c to g"]),
        st.lists(st.floats(200, 2000), min_size=1, max_size=6),
    ),
    min_size=1,
    max_size=12,
    unique_by=lambda run: (run[0], run[1]),
)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(PLAYED)
def test_medians_and_counts_are_those_of_the_standard_library(
    played: list[tuple[int, str, list[float]]],
) -> None:
    first = moment("2025-03-20T12:00:00")
    times: defaultdict[tuple[date, str], list[float]] = defaultdict(list)
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as log:
        migrate(log)
        for hours, change, run in played:
            begins = first + hours * 3600
            play(log, "drill", begins, *run, change=change)
            day = datetime.fromtimestamp(begins, BERLIN).date()
            times[day - timedelta(days=day.weekday()), change] += run
        names = dict(log.execute("SELECT n, change FROM series"))
        found = spans.weeks(log, 0.0)
    told = {(span.begins, names[series]): ms for span in found for series, ms in span.medians.items()}
    assert told == pytest.approx({key: median(ms) for key, ms in times.items() if len(ms) >= PACE_FROM})
    assert sum(span.tries for span in found) == sum(map(len, times.values()))
