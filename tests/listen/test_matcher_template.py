"""What is to be heard of a step, and which of its notes a note fills."""

from __future__ import annotations

import pytest

from tests.listen.building import AM, FIGURED, C, drill, step
from trainer.errors import ChangeoverError
from trainer.listen.matcher.template import NO_NOTE, Template, templates
from trainer.practice.record import Texture

UNISON = "x x x 4/4 0 x"
"""String 3 at fret 4 sounds B3, as open string 2 does."""
TWICE = {1: [5], 2: [3, 2], 3: [5], 4: [1]}


def template(shape: str, strokes: dict[int, list[int]] | None = None, texture: Texture = Texture.BLOCK) -> Template:
    figure = {"strokes": strokes, "texture": Texture.FIGURE} if strokes else {"texture": texture}
    return templates(drill(step(shape, **figure), "x x x x x 0"))[0]


def slots(whole: Template) -> list[tuple[int, float, int, int, int, str, float | None]]:
    return [
        (slot.stroke, slot.beat, slot.string, slot.pitch, slot.fret, slot.voice, slot.until) for slot in whole.slots
    ]


def test_a_block_has_each_string_once_from_the_bass_until_the_end() -> None:
    whole = template(AM)
    assert [(stroke, beat, until) for stroke, beat, *_, until in slots(whole)] == [(0, 1.0, 5.0)] * 5
    assert [(string, pitch, fret) for _, _, string, pitch, fret, _, _ in slots(whole)] == [
        (5, 45, 0),
        (4, 52, 2),
        (3, 57, 2),
        (2, 60, 1),
        (1, 64, 0),
    ]
    assert (whole.figure, whole.beats, whole.full, whole.wanted) == (False, 4.0, 0b11111, 0b11111)
    assert whole.keys == {(5, 45), (4, 52), (3, 57), (2, 60), (1, 64)}


def test_a_figure_has_each_pluck_and_a_string_plucked_again_owes_nothing_before() -> None:
    whole = template(AM, TWICE)
    assert [slot[:4] for slot in slots(whole)] == [
        (0, 1.0, 5, 45),
        (1, 2.0, 3, 57),
        (1, 2.0, 2, 60),
        (2, 3.0, 5, 45),
        (3, 4.0, 1, 64),
    ]
    assert whole.slots[0].until is None
    assert whole.slots[3].until is not None
    # Its last stroke lands it, though all of it is asked for.
    assert (whole.figure, whole.full, whole.wanted) == (True, 0b11111, 0b10000)
    assert [whole.landed(filled) for filled in (0b01111, 0b10000, 0b11111)] == [False, True, True]


def test_a_block_has_landed_with_its_last_note() -> None:
    whole = template(AM)
    assert [whole.landed(filled) for filled in (0, 0b01111, 0b10111, 0b11111)] == [False, False, False, True]


FILLS = {
    "the first of two": (template(AM, TWICE), 0, 0, (5, 45), 0b00001),
    "the second once its stroke has begun": (template(AM, TWICE), 0, 1, (5, 45), 0b01000),
    "the second once the first is there": (template(AM, TWICE), 0b00001, 0, (5, 45), 0b01000),
    "the first after all, where only that is open": (template(AM, TWICE), 0b01000, 3, (5, 45), 0b00001),
    "the last again, where none is open": (template(AM, TWICE), 0b01001, 3, (5, 45), 0b01000),
    "the only one, again and again": (template(AM, TWICE), 0b00010, 3, (3, 57), 0b00010),
    "one without its string": (template(AM, TWICE), 0, 0, (None, 57), 0b00010),
    "a note on another string": (template(AM, TWICE), 0, 0, (4, 57), NO_NOTE),
    "a note it has not": (template(AM, TWICE), 0, 0, (None, 58), NO_NOTE),
    "a unison without strings: both": (template(UNISON), 0, 0, (None, 59), 0b11),
    "a unison with strings: one": (template(UNISON), 0, 0, (2, 59), 0b10),
    "a unison in one stroke of a figure": (template(UNISON, {1: [3, 2], 2: [3]}), 0, 0, (None, 59), 0b011),
    "its other stroke": (template(UNISON, {1: [3, 2], 2: [3]}), 0b011, 0, (None, 59), 0b100),
}
"""Of each: the step, what is filled, the stroke begun, the note, and what it fills."""


@pytest.mark.parametrize(("whole", "filled", "stroke", "key", "fills"), FILLS.values(), ids=FILLS)
def test_a_note_fills(whole: Template, filled: int, stroke: int, key: tuple[int | None, int], fills: int) -> None:
    assert whole.fill(filled, stroke, key) == fills


def test_octaves_stand_for_the_first_pluck_of_their_note() -> None:
    """One and two octaves either way, and the third partial, a twelfth above."""
    whole = template(AM, TWICE)
    bass = {key for key, index in whole.octaves.items() if index == 0}
    # Without their strings A3 and E4 are notes of the step itself.
    assert bass == {*((5, pitch) for pitch in (21, 33, 57, 64, 69)), *((None, pitch) for pitch in (21, 33, 69))}
    assert {key[1] for key, index in whole.octaves.items() if index == 4} >= {40, 52, 76, 83, 88}
    assert 3 not in whole.octaves.values()


def test_slots_within_a_mask() -> None:
    assert template(AM).within(0b10101) == [0, 2, 4]
    assert template(AM).within(0) == []


def test_a_silent_finger_is_not_to_be_heard() -> None:
    assert template("x 0 (2/2) 2/3 1/1 0").keys == {(5, 45), (3, 57), (2, 60), (1, 64)}


def test_a_drill_without_a_sound_cannot_be_heard() -> None:
    with pytest.raises(ChangeoverError, match="no shape of this drill sounds"):
        templates(drill("x x x x x x", "x x x x x (1/1)"))
    assert [len(each.slots) for each in templates(drill("x x x x x x", C))] == [0, 5]


def test_a_figure_of_four_strokes() -> None:
    assert [slot[:3] for slot in slots(template(C, FIGURED))] == [(0, 1.0, 5), (1, 2.0, 3), (2, 3.0, 2), (3, 4.0, 1)]
