"""How long was played, by the time between presses, and when a break comes due."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from trainer.practice.playing import LONGEST_GAP_S, Playing


def played(moments: Iterable[float], since: Playing | None = None) -> Playing:
    found = since or Playing()
    for moment in moments:
        found = found.at(moment)
    return found


def every(seconds: float, minutes: float, start: float = 0.0) -> list[float]:
    return [start + seconds * number for number in range(int(minutes * 60 / seconds) + 1)]


MOMENTS = (
    ((), 0.0),
    ((100.0,), 0.0),
    ((100.0, 102.0, 103.0), 3.0),
    ((0.0, LONGEST_GAP_S), LONGEST_GAP_S),
    ((0.0, LONGEST_GAP_S + 0.1), 0.0),
    ((0.0, 2.0, 600.0, 603.0), 5.0),
    ((5.0, 4.0, 6.0), 2.0),
)


@pytest.mark.parametrize(("moments", "seconds"), MOMENTS)
def test_a_pause_is_no_playing_and_a_clock_that_goes_back_adds_nothing(
    moments: tuple[float, ...], seconds: float
) -> None:
    assert played(moments).seconds == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("minutes", "said"), [(24.9, ""), (25, "25 minutes"), (49.9, "25 minutes"), (50, "50 minutes")]
)
def test_a_break_is_due_after_25_and_after_50_minutes(minutes: float, said: str) -> None:
    due = played(every(2, minutes)).due
    assert due.startswith(said)
    assert bool(due) == bool(said)


def test_each_reminder_is_given_once() -> None:
    first = played(every(2, 26)).told()
    assert first.due == ""
    assert played(every(2, 20, start=10_000), first).due == ""
    second = played(every(2, 25, start=10_000), first)
    assert second.due.startswith("50 minutes")
    assert played(every(2, 60, start=20_000), second.told()).due == ""
