"""Every way a hand can take a few notes is among the grips: against trying every string and finger."""

from __future__ import annotations

from itertools import combinations, product

import pytest

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import midi
from trainer.fretboard.shape import Shape, Stop
from trainer.hand.frame import between
from trainer.hand.hold import trouble
from trainer.hand.reach import HANDS, Hand
from trainer.hand.search.grips import Wanted, grips
from trainer.hand.search.places import places

GUITAR = Instrument()


def _by_trying(pitches: list[int], hand: Hand) -> set[tuple[tuple[int, int], ...]]:
    """Return (string, finger) of every way to take the pitches that makes a shape this hand can hold."""
    ways = set()
    for strings in product(range(1, 7), repeat=len(pitches)):
        frets = [pitch - GUITAR.pitch(string, 0) for pitch, string in zip(pitches, strings, strict=True)]
        if len(set(strings)) < len(strings) or not all(0 <= fret <= GUITAR.top_fret for fret in frets):
            continue
        for fingers in product(*((1, 2, 3, 4) if fret else (0,) for fret in frets)):
            stops: list[Stop | None] = [None] * 6
            for string, fret, finger in zip(strings, frets, fingers, strict=True):
                stops[6 - string] = Stop(fret, finger or None)
            try:
                shape = Shape(tuple(stops))
            except ChangeoverError:
                continue
            wide = any(barre.finger > 1 and barre.width > 3 for barre in shape.barres)
            if not wide and not trouble(shape, GUITAR, hand):
                ways.add(tuple(zip(strings, fingers, strict=True)))
    return ways


@pytest.mark.parametrize("names", ["A3", "E3 C4", "C3 E4", "F2 C4 F4", "C3 G3 E4", "G3 C4 E4", "A4 C5 E5"])
@pytest.mark.parametrize("hand", ["adult", "child"])
def test_grips_are_all_that_a_hand_can_hold(names: str, hand: str) -> None:
    pitches = [midi(name) for name in names.split()]
    wanted = tuple(Wanted(pitch, None, None, None, False) for pitch in pitches)
    found = grips(wanted, frozenset(), GUITAR, HANDS[hand])
    ours = {
        tuple(zip(map(int, strings), map(int, fingers), strict=True))
        for strings, fingers in zip(found.strings, found.fingers, strict=True)
    }
    tried = _by_trying(pitches, HANDS[hand])
    assert len(tried) > 3
    assert ours == tried


def test_distances_between_places_are_those_of_the_fretboard() -> None:
    table = places(GUITAR)
    shape = Shape((Stop(3, 3), None, Stop(2, 2), None, Stop(1, 1), Stop(1, 1)))
    for one, other in combinations(shape.placings.values(), 2):
        a, b = (table.number[p.fret, p.strings[-1], p.strings[0]] for p in (one, other))
        assert table.apart[a, b] == pytest.approx(between(one, other, GUITAR))


def test_a_barre_may_be_laid_ahead_for_a_note_to_come_at_its_fret() -> None:
    table = places(GUITAR)
    wanted = (Wanted(midi("C4"), 2, None, 1, False),)
    alone = grips(wanted, frozenset({midi("C4")}), GUITAR, Hand())
    ahead = grips(wanted, frozenset({midi("C4"), midi("F4")}), GUITAR, Hand())
    assert {int(table.high[place]) for place in alone.place[:, 0]} == {2}
    assert {int(table.high[place]) for place in ahead.place[:, 0]} == {1, 2}


def test_pins_leave_only_what_agrees_with_them() -> None:
    wanted = (Wanted(midi("E4"), None, None, None, True), Wanted(midi("C4"), 3, 5, 2, False))
    found = grips(wanted, frozenset(), GUITAR, Hand())
    assert set(map(int, found.strings[:, 1])) == {3}
    assert set(map(int, found.fingers[:, 1])) == {2}
    assert 0 not in found.fingers[:, 0]
