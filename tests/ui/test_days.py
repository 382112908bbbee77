"""Days by the wall's clock, of moments that a calendar knows and of those that only a damaged log holds."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.practice.record import Run, Timing
from trainer.ui.days import day_name, day_of, minute_name
from trainer.ui.progress.inbar import NOTHING
from trainer.ui.progress.views import Runs

MOMENTS = st.floats(allow_nan=False, allow_infinity=False)
"""What a log may hold: it takes neither what is no number nor what has no end."""


def test_a_day_is_told_where_the_player_is() -> None:
    moment = datetime(2026, 11, 26, 23, 59)
    at = moment.timestamp()
    assert (day_name(at), minute_name(at)) == ("2026-11-26", "2026-11-26 23:59")
    assert day_of(at) == date(2026, 11, 26).toordinal() == day_of(at + 60) - 1


@pytest.mark.parametrize(("at", "day"), [(1e300, date.max), (-1e300, date.min)])
def test_a_moment_beyond_any_calendar_has_the_nearest_day_and_no_name(at: float, day: date) -> None:
    assert day_of(at) == day.toordinal()
    assert day_name(at) == minute_name(at) == "-"


@given(MOMENTS, MOMENTS)
def test_no_moment_is_too_far_and_later_ones_have_no_earlier_day(one: float, other: float) -> None:
    first, last = sorted((one, other))
    assert day_of(first) <= day_of(last)


def test_a_run_beyond_any_calendar_stands_in_the_table() -> None:
    runs = [Run("a", "Some drill", 1e300, Timing.LEAVE)]
    _, rows = Runs(runs, lambda _: NOTHING, fine=True).table(80)
    assert [row[:2] for row in rows] == [("Some drill", "-")]
