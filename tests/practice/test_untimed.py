"""Changes that were never timed: which they are, and what is said of them for a hand that is known."""

from __future__ import annotations

import math
import random
from dataclasses import replace

from tests.practice.timemodel.player import CHANGES, GUITAR, KIND, Player, vector
from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import Hand
from trainer.practice.drill import Drill, Order, Step, change_key, read_change_key
from trainer.practice.plan import VISIT, Look
from trainer.practice.quick import from_shapes
from trainer.practice.reasons import reasons
from trainer.practice.timemodel.model import ENOUGH, TimeModel, learn
from trainer.practice.untimed import CLOSELY, predicted, waiting

TODAY, TARGET = 738_000, 500.0
FOUR = from_shapes(["C", "Am", "F", "G7"])
HAND = Player(random.Random(7)).model(60)


def keys(drill: Drill) -> list[str]:
    return [change_key(drill.instrument, before.shape, after.shape) for before, after in drill.changes]


def told(drill: Drill, model: TimeModel = HAND) -> list[Look]:
    return list(predicted(waiting([drill], lambda _: False), model, Hand(), TODAY, TARGET))


def test_each_change_that_is_not_known_waits_once_in_the_first_drill_that_has_it() -> None:
    known, *others = keys(FOUR)
    again = replace(from_shapes(["Am", "F", "C"]), title="later")
    found = waiting([FOUR, again], {known}.__contains__)
    assert list(found) == list(dict.fromkeys(key for key in (*others, *keys(again)) if key != known))
    assert {key: one.drill.title for key, one in found.items()} == {
        key: FOUR.title if key in others else "later" for key in found
    }
    assert [read_change_key(key)[1] for key in found] == [(one.before, one.after) for one in found.values()]


def test_a_shape_that_is_struck_again_is_no_change_to_be_practised() -> None:
    shape = FOUR.steps[0].shape
    assert waiting([Drill("twice", (Step(shape), Step(shape)), order=Order.ONCE)], lambda _: False) == {}


def test_a_time_is_that_of_the_model_at_the_end_of_the_first_visit_and_of_its_way_of_timing() -> None:
    looks = {look.series.change: look for look in told(FOUR)}
    for before, after in FOUR.changes:
        key = change_key(GUITAR, before.shape, after.shape)
        look = looks.pop(key)
        assert look.predicted == HAND.predict(vector(before.shape, after.shape), VISIT)
        assert look.series == replace(KIND, change=key)
        assert (look.now.count, look.drill, look.stuck, look.fast_enough) == (0, FOUR.title, False, False)
    assert looks == {}


def test_of_many_those_are_looked_at_that_will_take_longest() -> None:
    many = from_shapes(["C", "A", "D", "Am", "E", "F", "Em", "G", "Dm", "Bm", "C7"])
    looks = told(many)
    times = {
        change_key(GUITAR, one.shape, other.shape): HAND.predict(vector(one.shape, other.shape), VISIT).middle
        for one, other in many.changes
    }
    longest = sorted(times, key=lambda key: -times[key])
    assert len(longest) > CLOSELY
    assert {look.series.change for look in looks} == set(longest[:CLOSELY])


def test_it_is_said_in_one_line_with_its_interval() -> None:
    look = told(FOUR)[0]
    assert look.predicted is not None
    (reason,) = reasons(look, TODAY)
    middle, low, high = (f"{ms / 1000:.1f}" for ms in (look.predicted.middle, look.predicted.low, look.predicted.high))
    assert reason.words == f"never timed; about {middle} s for this hand ({low} to {high})"
    assert float(low) < float(high)


def test_nothing_is_said_of_a_hand_that_is_hardly_known_nor_without_fingers() -> None:
    few = learn(KIND, HAND.known[: ENOUGH - 1])
    assert told(FOUR, few) == []
    assert told(FOUR, learn(KIND, HAND.known[:ENOUGH])) != []
    assert told(from_shapes(["x32010", "x02210"])) == []


def test_what_it_says_is_true_of_a_hand_it_was_not_told_of() -> None:
    # The player never plays the changes asked for; their true usual times are known to the test alone.
    held = asked = 0
    for seed in range(8):
        player = Player(random.Random(seed))
        model = player.model(60)
        for key, features in CHANGES[::29]:
            if key not in {known.change for known in model.known}:
                found = model.predict(features, VISIT)
                held += found.low <= math.exp(player.usual(key, features, VISIT)) <= found.high
                asked += 1
    assert asked > 200
    assert 0.7 <= held / asked <= 0.9


def test_another_tuning_is_another_change() -> None:
    low = replace(FOUR, instrument=Instrument.tuned("D2 A2 D3 G3 B3 E4", 0))
    assert not set(waiting([FOUR], lambda _: False)) & set(waiting([low], lambda _: False))
