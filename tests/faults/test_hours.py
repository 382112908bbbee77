"""Eight hours at one drill, and clocks that jump: nothing piles up but what was played, nothing disturbed is logged.

Time is turned by hand; the log is a real one. The guard of the clock during one change is held in
`tests/ui/test_conductor.py` and its limits in `tests/practice/test_clock.py`.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

import pytest

from tests.ui.drilling_fakes import HandLog, Receipt, Stage, stage
from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice import events
from trainer.practice.phases import Mode, Phase

HOUR_S = 3600.0
EVERY_S = 2.0
"""Between two presses; a change takes two of them, and a run a third at its end."""
PER_CHANGE = 2048
"""Bytes that a change played may cost for as long as the drill lasts: it may still be taken back, marked, summed up."""
SLACK = 8 << 20
"""Bytes that the interpreter may take or give back meanwhile."""


class RealLog(HandLog):
    """Writes to a real log, and answers once it has; keeps nothing itself."""

    def __init__(self, log: Log) -> None:
        super().__init__(log.path)
        self._log = log

    def _take(self, *entry: object) -> Receipt:
        kind, *values = entry
        match kind:
            case "begin":
                receipt = self._log.begin(*values)  # type: ignore[arg-type]  # what the logbook handed over
            case "add":
                receipt = self._log.add(*values)  # type: ignore[arg-type]  # likewise
            case _:
                run, asked, landed, remark = values
                receipt = self._log.finish(str(run), asked=asked, landed=landed, remark=remark)  # type: ignore[arg-type]  # likewise
        assert receipt.result(30) is None
        return receipt


def resident() -> int:
    """Return the bytes of this process that lie in memory."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


def handles() -> int:
    return len(os.listdir("/proc/self/fd"))


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with Log.open(tmp_path / "practice.sqlite3") as log:
        yield log


def play(on: Stage, seconds: float) -> None:
    until = on.clock.now + seconds
    while on.clock.now < until:
        on.press(EVERY_S)
        on.shows.clear()


def kept(path: Path) -> int:
    with reading(path) as history:
        return sum(summary.count for summary in history.summaries())


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory and handles are read from /proc")
def test_eight_hours_pile_up_nothing_but_what_was_played(log: Log) -> None:
    on = stage(log.path, log=RealLog(log))
    play(on, HOUR_S)
    before, open_before, waiting, changes = resident(), handles(), on.clock.waiting, len(on.conductor.session.tries)
    play(on, 7 * HOUR_S)
    played = len(on.conductor.session.tries)
    assert played == 8 * changes == 8 * HOUR_S / EVERY_S * 4 / 9  # nine presses are a run of four changes
    assert handles() == open_before
    assert kept(log.path) == played
    assert on.clock.waiting == waiting
    assert resident() - before < (played - changes) * PER_CHANGE + SLACK


def test_a_press_asks_for_no_more_work_the_longer_the_sitting() -> None:
    def work(changes: int) -> int:
        """Return how many functions a run of four changes calls, after so many changes."""
        on = stage(Path("unused"), log=HandLog(Path("unused")))
        while len(on.conductor.session.tries) < changes:
            on.press(EVERY_S)
        calls = 0

        def count(_: FrameType, event: str, __: object) -> None:
            nonlocal calls
            calls += event == "call"

        sys.setprofile(count)
        for _ in range(9):
            on.press(EVERY_S)
        sys.setprofile(None)
        return calls

    # What is left is two looks at the runs that are over, one at the end of each.
    assert work(1600) - work(160) < 2 * (1600 - 160) / 4


@pytest.mark.parametrize("hours", [1, -1], ids=["forth", "back"])
@pytest.mark.parametrize("mode", [Mode.PRESSES, Mode.CUED])
def test_the_wall_clock_may_jump_by_an_hour_in_mid_change(log: Log, mode: Mode, hours: int) -> None:
    """Times are differences on a clock that nobody sets; only the day and hour written beside them are the wall's."""
    on = stage(log.path, mode, log=RealLog(log))
    book = on.conductor.logbook
    before = book.wall
    on.press()
    on.clock.turn(3.0)
    book.wall = lambda at: before(at) + hours * HOUR_S
    on.press(0.7)
    (one,) = on.conductor.session.tries
    assert one.change_ms == pytest.approx({Mode.PRESSES: 3700, Mode.CUED: 1700}[mode], abs=1)
    assert kept(log.path) == 1


@pytest.mark.parametrize("mode", [Mode.PRESSES, Mode.CUED, Mode.PACED])
@pytest.mark.parametrize("asleep", [True, False], ids=["asleep", "clock jumps"])
def test_a_minute_of_sleep_in_mid_change_is_never_logged(log: Log, mode: Mode, asleep: bool) -> None:
    on = stage(log.path, mode, log=RealLog(log))
    on.press()
    on.clock.turn(3.0)
    assert on.conductor.session.phase in {Phase.CHANGING, Phase.PLAYING, Phase.COUNT_IN}
    on.clock.stall(0.1 if asleep else 60.0, asleep=60.0 if asleep else 0.0)
    on.conductor.send(events.Press(on.clock.now))
    on.clock.turn(1.0)
    assert on.conductor.session.tries == ()
    assert kept(log.path) == 0


@pytest.mark.parametrize("mode", [Mode.PRESSES, Mode.CUED])
def test_a_clock_that_runs_backwards_voids_the_change(log: Log, mode: Mode) -> None:
    on = stage(log.path, mode, log=RealLog(log))
    on.press()
    on.clock.turn(3.0)
    on.clock.stall(-HOUR_S)
    on.conductor.send(events.Press(on.clock.now))
    assert on.conductor.session.tries == ()
    assert kept(log.path) == 0
