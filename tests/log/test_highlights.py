"""What stands out in a log that was made so that it is known."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from trainer.log.highlights import Highlights, highlights
from trainer.log.history import reading
from trainer.log.looks import looks
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

DAY = 86_400.0
NOW = 1_760_000_000.0
TODAY = date.fromtimestamp(NOW)
TARGET_MS = 500.0


class Player:
    """Writes down one run a day for each change."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def play(self, change: str, runs: list[list[float]], *, source: str = "keys") -> None:
        """Play these runs on the last days, the last one today."""
        with Log.open(self.path) as log:
            for days_ago, times in zip(reversed(range(len(runs))), runs, strict=True):
                begins = NOW - days_ago * DAY
                run = Run(f"{change} {source} {days_ago}", "drill", begins, Timing.LEAVE)
                log.begin(run)
                for n, ms in enumerate(times):
                    at = begins + 8.0 * (n + 1)
                    receipt = log.add(Attempt(f"{run.id} {n}", run.id, change, at, Timing.LEAVE, source, ms))
                assert receipt.result(5) is None

    def found(self, since: float = 0.0) -> Highlights:
        with reading(self.path) as history:
            return highlights(history, looks(history, TODAY, TARGET_MS), since)


@pytest.fixture
def player(tmp_path: Path) -> Player:
    return Player(tmp_path / "practice.sqlite3")


def about(ms: float, count: int = 8) -> list[float]:
    """Times whose median is `ms`."""
    return [ms + (n % 3 - 1) * 15.0 for n in range(count - count % 3)] + [ms] * (count % 3)


def test_nothing_played_stands_out_in_nothing(player: Player) -> None:
    player.play("am to c", [about(900.0)])
    assert player.found() == Highlights((), None, ())


def test_records_newest_first_and_only_new_ones(player: Player) -> None:
    player.play("am to c", [about(900.0), about(800.0), about(850.0), about(870.0)])
    player.play("c to g", [about(900.0), about(950.0), about(700.0)])
    player.play("g to c", [about(900.0), about(950.0), about(960.0)])
    told = [(series.change, found.run.median_ms, found.before_ms) for series, found in player.found().records]
    assert told == [("c to g", 700.0, 900.0), ("am to c", 800.0, 900.0)]
    (only,) = player.found(since=NOW - DAY).records
    assert only[0].change == "c to g"


def test_the_same_change_from_another_source_is_held_against_itself(player: Player) -> None:
    player.play("am to c", [about(900.0), about(950.0)])
    player.play("am to c", [about(400.0), about(450.0)], source="pedal")
    assert player.found().records == ()


def test_the_largest_part_of_its_time_improves_most(player: Player) -> None:
    player.play("slow", [about(3000.0 - 40 * day) for day in range(8)])  # 280 ms, a tenth
    player.play("quick", [about(800.0 - 35 * day) for day in range(8)])  # 245 ms, a third
    player.play("level", [about(700.0)] * 8)
    improved = player.found().improved
    assert improved is not None
    series, better = improved
    assert series.change == "quick"
    # The first twenty tries lie in the first three days, the last twenty in the last three.
    assert (better.first_ms, better.now_ms) == pytest.approx((765.0, 590.0), abs=20)
    assert better.shift.high < 0


def test_what_levels_off_above_its_target_is_stuck_as_the_plan_has_it(player: Player) -> None:
    player.play("stuck", [about(1300.0, 12)] * 8)
    player.play("fast enough", [about(400.0, 12)] * 8)
    player.play("falling", [about(1500.0 - 90 * day, 12) for day in range(8)])
    assert [look.series.change for look in player.found().stuck] == ["stuck"]
