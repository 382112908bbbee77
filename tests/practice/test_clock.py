"""The clock guard, with invented readings."""

from __future__ import annotations

import pytest

from trainer.practice.clock import LONGEST_GAP_S, SUSPEND_S, Interruption, Reading, interruption


def ticks(*seconds: float, ahead: float = 0.0) -> list[Reading]:
    return [Reading(second, second + ahead) for second in seconds]


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        pytest.param([], None, id="nothing read"),
        pytest.param(ticks(5.0), None, id="one reading"),
        pytest.param(ticks(5.0, 5.4, 5.9), None, id="undisturbed"),
        pytest.param(ticks(5.0, 5.0), None, id="the same moment twice"),
        pytest.param(ticks(0.0, 2.0), None, id="exactly two seconds"),
        pytest.param(ticks(0.0, 2.001), Interruption.STOPPED, id="just over two seconds"),
        pytest.param(ticks(*(n / 2 for n in range(20))), None, id="a slow change of a running program"),
        pytest.param(ticks(0.0, 0.5, 9.0, 9.5), Interruption.STOPPED, id="stopped in the middle"),
        pytest.param(ticks(0.0, 0.5) + ticks(0.9, ahead=3600.0), Interruption.SUSPENDED, id="slept for an hour"),
        pytest.param(ticks(0.0) + ticks(0.1, 0.2, ahead=1.0), Interruption.SUSPENDED, id="slept for a second"),
        pytest.param(ticks(0.0) + ticks(0.1, ahead=0.1), None, id="the two clocks were read 0.1 s apart"),
        pytest.param(ticks(0.0, 0.1, ahead=86400.0), None, id="slept long before the change"),
        pytest.param(ticks(3.0, 2.9), Interruption.BACKWARDS, id="backwards"),
    ],
)
def test_a_disturbed_change_is_void(readings: list[Reading], expected: Interruption | None) -> None:
    assert interruption(readings) is expected


@pytest.mark.parametrize(("end", "expected"), [(1.0, None), (700.0, Interruption.STOPPED)])
def test_without_boot_time_a_sleep_shows_as_a_gap(end: float, expected: Interruption | None) -> None:
    assert interruption([Reading(0.0), Reading(end)]) is expected


def test_boot_time_known_on_one_side_only_says_nothing() -> None:
    assert interruption([Reading(0.0), Reading(0.5, 9999.0)]) is None


def test_the_limits_are_the_stated_ones() -> None:
    assert LONGEST_GAP_S == 2.0
    assert SUSPEND_S < 1.0
