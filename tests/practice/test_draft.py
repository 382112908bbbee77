"""A shape in the making: fingers go on, come along, become a barre, and are refused with a reason."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import print_shape
from trainer.practice.draft import Draft, empty

GUITAR = Instrument()


def at(draft: Draft, string: int, fret: int) -> Draft:
    """Return the draft with its cursor there."""
    return draft.moved(GUITAR, strings=string - draft.string, frets=fret - draft.fret)


def test_three_fingers_and_a_muted_string_make_a_chord() -> None:
    draft = at(empty(GUITAR), 2, 1).placed(1, GUITAR)
    draft = at(draft, 4, 2).placed(2, GUITAR)
    draft = at(draft, 3, 2).placed(3, GUITAR)
    draft = at(draft, 6, 1).muted(GUITAR)
    assert print_shape(draft.shape) == "x 0 2/2 2/3 1/1 0"
    assert draft.said == ""


def test_a_finger_placed_elsewhere_comes_along() -> None:
    draft = at(at(empty(GUITAR), 2, 1).placed(1, GUITAR), 3, 2).placed(1, GUITAR)
    assert print_shape(draft.shape) == "0 0 0 2/1 0 0"


def test_the_same_finger_at_the_same_place_comes_off() -> None:
    draft = at(empty(GUITAR), 2, 1).placed(1, GUITAR).placed(1, GUITAR)
    assert draft.shape == empty(GUITAR).shape


def test_the_same_fret_on_the_next_string_makes_a_barre() -> None:
    draft = at(at(empty(GUITAR), 1, 3).placed(1, GUITAR), 2, 3).placed(1, GUITAR)
    assert [(barre.fret, barre.low_string, barre.high_string) for barre in draft.shape.barres] == [(3, 2, 1)]


def test_what_a_barre_would_cut_off_is_refused_with_the_reason() -> None:
    draft = at(at(empty(GUITAR), 1, 3).placed(1, GUITAR), 3, 3).placed(1, GUITAR)
    assert print_shape(draft.shape) == "0 0 0 0 0 3/1"
    assert "string 2 is open under finger 1" in draft.said


def test_the_cursor_stays_on_the_neck() -> None:
    assert at(empty(GUITAR), -5, -5).string == 1
    far = empty(GUITAR).moved(GUITAR, strings=99, frets=99)
    assert (far.string, far.fret) == (6, GUITAR.top_fret)


@given(st.lists(st.tuples(st.integers(1, 6), st.integers(1, 12), st.integers(0, 5)), max_size=20))
def test_whatever_is_pressed_the_shape_is_one_that_can_be_made(presses: list[tuple[int, int, int]]) -> None:
    draft = empty(GUITAR)
    for string, fret, finger in presses:
        draft = at(draft, string, fret)
        before = draft.shape
        draft = (
            draft.opened(GUITAR)
            if finger == 0
            else draft.muted(GUITAR)
            if finger == 5
            else draft.placed(finger, GUITAR)
        )
        assert draft.shape.strings == 6
        # The shape's own constructor refuses contradictions: what was refused has changed nothing.
        assert draft.said == "" or draft.shape == before
