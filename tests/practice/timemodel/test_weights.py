"""A player's own weights: which terms they change, and that the fingering they lead to is the quicker one for him."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import pairwise

import pytest

from tests.practice.timemodel.player import COSTS, GUITAR, KIND, Player, vector
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import parse_shape
from trainer.hand.reach import Hand
from trainer.hand.search.solve import Found, work_out
from trainer.hand.search.weights import TERMS, Weights, plain
from trainer.practice.drill import Drill, Order, Step
from trainer.practice.fingering import Keep, passage_of
from trainer.practice.timemodel.features import FEATURES, FIRST, UNIT
from trainer.practice.timemodel.model import ENOUGH, Known, learn
from trainer.practice.timemodel.weights import own_weights


def own(player: Player, changes: int = 120) -> Weights:
    found = own_weights(player.model(changes))
    assert found is not None
    return found


def test_a_hand_that_is_as_was_taken_to_hold_has_the_plain_weights() -> None:
    """Times made from the first beliefs, without scatter: nothing is learned that was not believed."""
    player = Player(random.Random(1), dict(zip((*FEATURES, "familiar"), FIRST[1:], strict=True)), 700.0, 0.0, 0.0, 0.0)
    ours = own(player).terms
    assert ours == pytest.approx({name: term.plain for name, term in TERMS.items()}, abs=0.05)


def test_what_is_dear_to_a_hand_is_dear_to_its_search_and_the_rest_stays() -> None:
    barred = Player(random.Random(2), COSTS | {"laid": 0.56})
    ours, shipped = own(barred).terms, plain().terms
    assert ours["barre"] == pytest.approx(0.56 / UNIT, rel=0.25)
    assert ours["barre"] > 3 * shipped["barre"]
    known = {term for feature in FEATURES.values() for term in feature.terms}
    assert {name: ours[name] for name in TERMS.keys() - known} == {name: shipped[name] for name in TERMS.keys() - known}
    assert ours["shift far"] / ours["shift"] == pytest.approx(shipped["shift far"] / shipped["shift"])
    assert own(barred).filled == frozenset()


def test_no_move_is_worth_more_than_none() -> None:
    ours = own(Player(random.Random(3), COSTS | {"laid": -0.3, "place": -0.1})).terms
    assert all(weight >= 0 for name, weight in ours.items() if name != "keep")
    assert ours["barre"] == 0


def test_without_enough_there_are_none() -> None:
    assert own_weights(Player(random.Random(4)).model(ENOUGH - 1)) is None
    bare: tuple[Known, ...] = ()
    assert own_weights(learn(KIND, bare)) is None


def changes(drill: Drill, weights: Weights, player: Player) -> float:
    """Return how long the player takes for the changes of a drill, fingered by these weights."""
    found = work_out(passage_of(drill, Keep.FRETS), Hand(), weights)
    assert isinstance(found, Found)
    shapes = [found.best.shape(at) for at in range(len(found.best.moves))]
    player = replace(player, own=0.0, peculiar={})
    return sum(math.exp(player.usual("", vector(before, after), 30)) for before, after in pairwise(shapes))


PLAYERS = {
    "barres are dear": COSTS | {"laid": 0.6, "place": 0.0, "cross": 0.02},
    "barres cost nothing": COSTS | {"laid": 0.0, "place": 0.2, "cross": 0.2},
    "crossing is dear, guides are cheap": COSTS | {"cross": 0.3, "guide": -0.05},
}
PASSAGES = (
    ("Am7", "Dm7", "A"),
    ("C", "Dm7", "C"),
    ("A", "D", "E"),
    ("E", "A", "D"),
    ("D", "A", "E7"),
    ("Em", "A", "Am"),
)


@pytest.mark.parametrize("name", PLAYERS)
def test_the_fingering_by_own_weights_is_the_quicker_one_for_this_player(name: str) -> None:
    player = Player(random.Random(5), PLAYERS[name])
    ours, mine, any_hands = own(player), 0.0, 0.0
    for names in PASSAGES:
        steps = tuple(Step(parse_shape(STOCK[each])) for each in names)
        drill = Drill("A passage", steps, instrument=GUITAR, order=Order.ONCE)
        mine += changes(drill, ours, player)
        any_hands += changes(drill, plain(), player)
    assert mine < 0.97 * any_hands
