"""Passages with one answer that a teacher would call right."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.hand.search.building import fingers, found, passage, told
from trainer.fretboard.pitch import midi
from trainer.fretboard.shape import Barre
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import print_shape
from trainer.hand.hold import trouble
from trainer.hand.reach import HANDS
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.passage import Note, Passage
from trainer.practice.fingering import passage_of
from trainer.practice.quick import from_shapes

LINES = (
    ("C4@2 D4@2 E4@1 F4@1 G4@1", "1 3 0 1 3", "open position: a finger to a fret"),
    ("E2 F2@6 G2@6 A2 B2@5 C3@5", "0 1 3 0 2 3", "the first frets of the basses"),
    ("C4@2 D4@2 C4@2", "1 3 1", "1 stays down under 3"),
    ("C5@1 D5@1 E5@1", "1 3 4", "three notes of the scale in position VIII, no finger twice"),
)


@pytest.mark.parametrize(("text", "right", "why"), LINES)
def test_lines_lie_as_they_are_taught(text: str, right: str, why: str) -> None:
    assert fingers(found(passage(text))) == right, why


def test_the_finger_that_is_easy_now_is_not_taken_where_it_jumps_later() -> None:
    # By itself G4 would go to finger 3; before A4 with Bb4 on the same string, one hand's place takes all three.
    alone = found(passage("G4@1"))
    line = found(passage("G4@1 A4@1 A#4@1"))
    assert fingers(alone) == "3"
    assert fingers(line) == "1 3 4"


def test_an_open_string_buys_the_shift() -> None:
    line = passage("F4@1 G4@1 E4 B4@1 C5@1", Fraction(1, 2))
    stopped = Passage.of(replace(note, midi=midi("A4")) if note.midi == midi("E4") else note for note in line.notes)
    with_open, without = found(line), found(stopped)
    shift = {way: _shift_costs(way.best) for way in (with_open, without)}
    assert shift[with_open] < shift[without]
    assert with_open.best.notes[2].finger == 0


def _shift_costs(way: Fingering) -> float:
    return sum(r.cost for move in way.moves for r in move.reasons if r.term == "shift bound")


def test_a_guide_finger_pays() -> None:
    # Teachers' stated answer (articles on pivot and guide fingers): from D7 to G, 3 slides on string 1 from 2 to 3.
    both = passage_of(from_shapes(["D7", "G"]))
    given = dict(zip((4, 5, 6, 7, 8, 9), (2, 1, 0, 0, 0, 3), strict=True))
    best = found(both.pinned({at: replace(both.notes[at], finger=finger) for at, finger in given.items()})).best
    slid = {(r.finger, r.start, r.end) for r in best.moves[1].reasons if r.term == "guide"}
    assert slid == {(3, (1, 2), (1, 3))}


def test_a_half_barre_is_laid_before_its_second_note() -> None:
    # Over F3 and A3, C4 and then F4 at fret 1 while all sound: only a barre of finger 1 holds both, so it comes early.
    held = [Note(Fraction(0), Fraction(2), midi(name), string) for name, string in (("F3", 4), ("A3", 3), ("C4", 2))]
    best = found(Passage.of([*held, Note(Fraction(1), Fraction(1), midi("F4"), string=1)])).best
    assert [taken.finger for taken in best.notes] == [3, 2, 1, 1]
    assert [[lying.barre for lying in move.hands if lying.barre] for move in best.moves] == 2 * [[Barre(1, 1, 2, 1)]]
    assert not [r for move in best.moves for r in move.reasons if r.term == "cut"]


def test_a_held_melody_note_forbids_the_shift() -> None:
    # E5 at fret 12 would lie well by a shift; over a held low F there is nothing but the reach of the hand.
    free = [Note(Fraction(0), Fraction(1), midi("F4"), string=1), Note(Fraction(1), Fraction(1), midi("C4"))]
    held = [replace(free[0], duration=Fraction(2)), replace(free[1], string=None)]
    result = found(Passage.of(held))
    assert result.best.still(1, 0)
    assert result.best.moves[0].position == result.best.moves[1].position


def test_a_broken_chord_is_held_as_a_shape() -> None:
    # The C chord in eighth notes, nothing written to sound on: each finger stays where the shape has it.
    result = found(passage("C3 E3 G3 C4 E4 C4 G3 E3", Fraction(1, 2)))
    assert told(result).split()[:5] == ["5/3/3", "4/2/2", "3/0/0", "2/1/1", "1/0/0"]
    held = {(lying.finger, lying.fret, lying.low_string) for lying in result.best.moves[4].hands}
    assert held == {(3, 3, 5), (2, 2, 4), (1, 1, 2)}


COMMON = ("C", "D7", "G7", "E", "F", "Am", "Dm", "E7", "G", "B7", "Bm", "A", "Dm7", "C7")


@pytest.mark.parametrize("name", COMMON)
def test_open_chords_come_out_as_they_are_taught(name: str) -> None:
    # The stock's fingers: LilyPond's predefined guitar fretboards for C, E, F, G7; the rest common practice.
    result = found(passage_of(from_shapes([name, name])))
    assert print_shape(result.best.shape(0)) == STOCK[name]


KEPT = (
    (("Am", "C"), {(1, 1, 2), (2, 2, 4)}),
    (("C", "D7"), {(1, 1, 2)}),
    (("Am", "D7"), {(1, 1, 2)}),
)
"""Teachers' stated answers for pivot fingers (articles on pivot and guide fingers): finger, fret, string that stay."""


@pytest.mark.parametrize(("names", "stays"), KEPT)
def test_pivot_fingers_stay(names: tuple[str, str], stays: set[tuple[int, int, int]]) -> None:
    best = found(passage_of(from_shapes(names))).best
    before, after = ({(each.finger, each.fret, each.low_string) for each in move.hands} for move in best.moves)
    assert stays <= before & after


def test_a_small_hand_takes_another_way_where_it_cannot_reach() -> None:
    wide = passage("F3+A4@1")
    ways = {name: found(wide, hand=hand) for name, hand in HANDS.items()}
    assert all(way.exact for way in ways.values())
    for name, way in ways.items():
        assert not trouble(way.best.shape(0), wide.instrument, HANDS[name])
