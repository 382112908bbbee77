"""What the home screen offers, from logs that hold different things."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import count
from pathlib import Path
from types import MappingProxyType

import pytest

from tests.ui.app_fakes import written
from trainer.files.library import titled
from trainer.fretboard.instrument import Instrument
from trainer.log.writer import Log
from trainer.practice.drill import Drill, change_key
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.practice.record import WARM_UP, Attempt, Run, Timing
from trainer.ui.offers import FEWEST, Offer, first_offer, offers

_NUMBERS = count(1)
NONE: Mapping[str, float] = MappingProxyType({})


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with Log.open(tmp_path / "log.db") as log:
        yield log


def play(log: Log, drill: Drill, *times_ms: float, timing: Timing = Timing.LEAVE) -> None:
    """Write down a run of the drill's first change."""
    run = f"run {next(_NUMBERS)}"
    log.begin(Run(run, drill.title, float(next(_NUMBERS)), timing))
    before, after = next(drill.changes)
    key = change_key(drill.instrument, before.shape, after.shape)
    for ms in times_ms:
        at = float(next(_NUMBERS))
        log.add(Attempt(f"attempt {at}", run, key, at, timing, "keys", ms)).result()


def offered(log: Log, targets: Mapping[str, float] = NONE) -> tuple[Offer, ...]:
    log.ready.result()
    with written(log) as history:
        return offers(history, titled, targets)


def test_who_has_not_played_is_offered_one_easy_change_in_two_presses(log: Log) -> None:
    (offer,) = offered(log)
    assert offer == first_offer()
    assert offer.first
    assert offer.mode is Mode.PRESSES


def test_where_the_player_left_off_comes_first_in_the_way_it_was_practised(log: Log) -> None:
    play(log, from_shapes(["C", "F"]), 900)
    play(log, from_shapes(["Em", "Am"]), 800, timing=Timing.CUE)
    offer = offered(log)[0]
    assert (offer.what, offer.why, offer.mode) == ("Em - Am", "where you left off", Mode.CUED)
    assert [step.shape for step in offer.drill.steps] == [step.shape for step in from_shapes(["Em", "Am"]).steps]


def test_a_drill_that_ships_comes_back_whole(log: Log) -> None:
    first = first_offer().drill
    play(log, first, 700)
    assert offered(log)[0].drill == first


def test_slow_changes_follow_slowest_first_and_each_once(log: Log) -> None:
    for shapes, ms in ((["C", "F"], 2000), (["Em", "Am"], 500), (["G", "D7"], 1000)):
        play(log, from_shapes(shapes), *[ms] * FEWEST)
        play(log, from_shapes(shapes), *[ms] * FEWEST, timing=Timing.CUE)
    assert [offer.what for offer in offered(log)[1:]] == ["C - F", "G - D7", "Em - Am"]
    assert offered(log)[1].why == "slow: median 2.00 s over 3"


def test_a_change_is_called_slow_only_after_a_few_times(log: Log) -> None:
    play(log, from_shapes(["C", "F"]), *[2000] * (FEWEST - 1))
    assert len(offered(log)) == 1


def test_barres_capo_and_tuning_come_back_from_the_log(log: Log) -> None:
    drill = from_shapes(["0 0 0 2/1 2/1 0", "2/1 2/1 2/1 2/1 2/1 2/1"], Instrument.tuned("D2 A2 D3 G3 B3 E4", capo=2))
    play(log, drill, *[900] * FEWEST)
    for offer in offered(log):
        assert offer.drill.instrument.tuning_names == drill.instrument.tuning_names
        assert offer.drill.instrument.capo == 2
        assert [step.shape for step in offer.drill.steps] == [step.shape for step in drill.steps]


def test_a_paced_run_goes_on_at_the_tempo_that_followed_from_it(log: Log) -> None:
    first = first_offer().drill
    # The ladder of that day: 60 all clean, 60 x 1.16 = 69.6; at 70 a miss, 70 / 1.08 = 64.8. The day before is over.
    for at, tempo, landed in ((1.0, 200.0, 0), (90_001.0, 60.0, 8), (90_002.0, 70.0, 7)):
        log.begin(Run(f"run at {at}", first.title, at, Timing.BEAT, tempo))
        log.finish(f"run at {at}", asked=8, landed=landed).result()
    offer = offered(log)[0]
    assert (offer.mode, offer.tempo) == (Mode.PACED, 65)


def test_the_target_of_a_drill_is_not_passed(log: Log) -> None:
    first = first_offer().drill
    log.begin(Run("run", first.title, 1.0, Timing.BEAT, 60.0))
    log.finish("run", asked=8, landed=8).result()
    assert [offered(log, targets)[0].tempo for targets in ({}, {first.title: 66.0})] == [70, 66]


def test_what_cannot_be_put_together_again_is_not_offered(log: Log) -> None:
    log.begin(Run("run", "a drill that is gone", 1.0, Timing.BEAT, 60.0))
    log.add(Attempt("attempt", "run", "no key of ours", 1.0, Timing.LEAVE, "keys", 900.0)).result()
    assert offered(log) == (first_offer(),)


def test_nobody_goes_back_to_where_a_warm_up_ended(log: Log) -> None:
    play(log, from_shapes(["C", "F"]), 900)
    log.begin(Run("warm", "Warm-up: short slides", 1e6, Timing.BEAT, 30.0, remark=WARM_UP)).result()
    assert offered(log)[0].what == "C - F"
