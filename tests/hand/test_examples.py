"""The analysis against teachers' stated answers and against printed fingerings."""

from __future__ import annotations

import pytest

from tests.hand.building import actions, barres, change, held, stops
from trainer.fretboard.instrument import Instrument

# What teachers say in articles on pivot and guide fingers; the fingerings their answers hold for are the stock's.
TEACHERS = (
    ("Am", "C", "1 kept, 2 kept, 3 cross"),
    ("C", "D7", "1 kept, 2 cross, 3 cross"),
    ("Em", "Am", "1 cross, 2 kept, 3 place"),
    ("Am", "D7", "1 kept, 2 cross, 3 cross"),
    ("D7", "G", "1 cross, 2 cross, 3 guide"),
)


@pytest.mark.parametrize(("before", "after", "expected"), TEACHERS)
def test_teachers_answers(before: str, after: str, expected: str) -> None:
    assert actions(change(before, after)) == expected


def test_the_guide_from_d7_to_g_slides_along_string_1_from_fret_2_to_3() -> None:
    guide = change("D7", "G").move(3)
    assert (guide.start, guide.end) == ((1, 2), (1, 3))
    assert guide.mm == pytest.approx(103.42 - 70.92, abs=0.02), "between frets 2 and 3 of a 650 mm scale"


def test_the_fingerings_those_answers_hold_for() -> None:
    texts = ("x 0 2/2 2/3 1/1 0", "x 3/3 2/2 0 1/1 0", "x x 0 2/2 1/1 2/3", "0 2/1 2/2 0 0 0", "3/2 2/1 0 0 0 3/3")
    assert [held(name) for name in ("Am", "C", "D7", "Em", "G")] == [held(text) for text in texts]


# Carcassi, op. 59, arpeggio preludes (1836; edition of 1906, typeset in the public domain by the Mutopia Project).
# Fingers and pitches are printed; the string follows from pitch, finger and position. Two shapes to a bar.
# Bar 5 of prelude 13 is printed with barre signs at III, full and then half; how far the half one lies is our reading.
PRELUDE_5 = ("x x 0 2/2 3/4 2/3", "x x 1/1 2/2 0 2/3", "x x 2/1 0 0 3/3", "x 0 x 2/1 2/1 3/2")
PRELUDE_13 = (
    "3/1 5/3 5/4 3/1 x x + 3/1 6-1",
    "x x 5/2 3/1 3/1 6/4 + 3/1 3-1",
    "x x 1/1 0 1/2 3/4",
    "x x 2/1 0 2/2 3/4",
    "x x 3/2 3/3 3/4 1/1",
    "x x 3/1 5/3 4/2 5/4",
)


@pytest.mark.parametrize(
    ("shape", "pitches"),
    [
        *zip(PRELUDE_5, [(50, 57, 62, 66), (51, 57, 59, 66), (52, 55, 59, 67), (45, 57, 61, 67)], strict=True),
        *zip(
            PRELUDE_13,
            [
                (43, 50, 55, 58),
                (55, 58, 62, 70),
                (51, 55, 60, 67),
                (52, 55, 61, 67),
                (53, 58, 62, 65),
                (53, 60, 63, 69),
            ],
            strict=True,
        ),
    ],
)
def test_the_shapes_sound_the_printed_notes(shape: str, pitches: tuple[int, ...]) -> None:
    instrument = Instrument()
    assert tuple(instrument.pitch(string, stop.fret) for string, stop in held(shape)) == pitches


def test_prelude_5_bar_1_holds_2_and_3_under_a_new_bass() -> None:
    done = change(PRELUDE_5[0], PRELUDE_5[1])
    assert actions(done) == "1 place, 2 kept, 3 kept, 4 lift"
    assert done.rings == (3, 1)
    assert stops(done) == {4: "restopped", 2: "lifted"}


def test_prelude_5_bars_1_to_2_guide_1_and_3() -> None:
    done = change(PRELUDE_5[1], PRELUDE_5[2])
    assert actions(done) == "1 guide, 2 lift, 3 guide"
    assert (done.move(1).start, done.move(1).end) == ((4, 1), (4, 2))
    assert (done.move(3).start, done.move(3).end) == ((1, 2), (1, 3))
    assert done.squeaks == (4,), "string 1 is not wound"
    assert done.rings == (2,)
    assert done.buys_time == (2,)


def test_prelude_5_bar_2_lays_a_half_barre() -> None:
    """Printed with a half-barre sign at II: 1 comes from string 4, where nothing is left to hold."""
    done = change(PRELUDE_5[2], PRELUDE_5[3])
    assert barres(done) == ["laid"]
    assert actions(done) == "1 cross, 2 place, 3 lift"
    assert done.watch == 1


def test_prelude_13_bar_5_gives_the_same_note_to_another_finger_with_a_new_stroke() -> None:
    """4 is needed on string 1, so 2 takes string 4 at 5; the note is printed again, so nothing is taken over."""
    done = change(PRELUDE_13[0], PRELUDE_13[1])
    assert actions(done) == "1 kept, 2 place, 3 lift, 4 cross"
    assert stops(done)[4] == "restopped"
    assert barres(done) == ["hinged narrowed"]


def test_prelude_13_bars_5_to_6_take_the_barre_off_and_guide_4() -> None:
    done = change(PRELUDE_13[1], PRELUDE_13[2])
    assert barres(done) == ["raised"]
    assert actions(done) == "1 cross, 2 cross, 4 guide"
    assert (done.move(4).start, done.move(4).end) == ((1, 6), (1, 3))


def test_prelude_13_bar_6_guides_1_and_2_and_keeps_4() -> None:
    done = change(PRELUDE_13[2], PRELUDE_13[3])
    assert actions(done) == "1 guide, 2 guide, 4 kept"
    assert (done.move(1).start, done.move(1).end) == ((4, 1), (4, 2))
    assert (done.move(2).start, done.move(2).end) == ((2, 1), (2, 2))
    assert done.move(4).end == (1, 3)
    assert done.rings == (3, 1)


def test_prelude_13_bar_7_strikes_the_bass_anew_with_another_finger() -> None:
    done = change(PRELUDE_13[4], PRELUDE_13[5])
    assert actions(done) == "1 cross, 2 cross, 3 guide, 4 cross"
    assert stops(done)[4] == "restopped"
