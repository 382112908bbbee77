"""Diagrams against fingerings and teachers' answers that are stated outside this project."""

from __future__ import annotations

import pytest

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.reach import HANDS
from trainer.sheets.diagram import FEWEST, MOST, Diagram, Kind, Mark, diagram
from trainer.sheets.plaintext import picture


def between(before: str, after: str) -> Diagram:
    old, new = parse_shape(before), parse_shape(after)
    return diagram(new, analyse(old, new, Instrument(), HANDS["adult"]))


def of(found: Diagram, kind: Kind) -> list[Mark]:
    return [mark for mark in found.marks if mark.kind is kind]


def test_pivot_fingers_have_a_ring_and_the_third_an_arrow() -> None:
    # Am to C keeps 1 and 2: a teachers' stated answer (articles on pivot fingers).
    found = between("x 0 2/2 2/3 1/1 0", "x 3/3 2/2 0 1/1 0")
    assert {mark.finger for mark in of(found, Kind.FINGER) if mark.kept} == {1, 2}
    (way,) = of(found, Kind.CROSS)
    assert (way.finger, way.to_string, way.from_fret, way.string, way.fret) == (3, 3, 2, 5, 3)


def test_a_guide_finger_has_an_arrow_along_its_string() -> None:
    # D7 to G guides 3 on string 1 from fret 2 to 3: as above.
    found = between("x x 0 2/2 1/1 2/3", "3/2 2/1 0 0 0 3/3")
    assert of(found, Kind.GUIDE) == [Mark(Kind.GUIDE, 1, 3, 3, to_string=1, from_fret=2)]


def test_marks_beyond_the_nut() -> None:
    found = diagram(parse_shape("x 3/3 2/2 0 1/1 0"))
    assert [mark.string for mark in of(found, Kind.MUTED)] == [6]
    assert [mark.string for mark in of(found, Kind.OPEN)] == [3, 1]
    assert found.first == 1


@pytest.mark.parametrize(
    ("text", "first", "frets"),
    [
        ("0 0 0 0 0 0", 1, FEWEST),
        ("x 3/3 2/2 0 1/1 0", 1, FEWEST),
        ("x x 0 2/1 5/4 2/2", 1, 5),
        ("8/1 10/3 10/4 9/2 8/1 8/1", 8, FEWEST),
        ("x x 12/1 15/3 17/4 12/1", 12, 6),
    ],
)
def test_the_piece_of_the_neck_that_is_shown(text: str, first: int, frets: int) -> None:
    found = diagram(parse_shape(text))
    assert (found.first, found.frets) == (first, frets)


def test_where_a_finger_comes_from_is_shown_only_where_there_is_room() -> None:
    near = between("x x x x x 5/1", "x x x x x 10/1")
    far = between("x x x x x 1/1", "x x x x x 12/1")
    assert (near.first, near.last) == (5, 10)
    assert far.first == 12
    assert max(near.frets, far.frets) <= MOST


def test_a_barre_is_one_mark_and_its_strings_have_no_finger_of_their_own() -> None:
    found = diagram(parse_shape("1/1 3/3 3/4 2/2 1/1 1/1"))
    assert of(found, Kind.BARRE) == [Mark(Kind.BARRE, 6, 1, 1, to_string=1)]
    assert {mark.finger for mark in of(found, Kind.FINGER)} == {2, 3, 4}


def test_a_picture_in_plain_text_and_its_mirror() -> None:
    found = diagram(parse_shape("1/1 3/3 3/4 (2/2) 1/1 1/1"))
    assert list(picture(found)) == [
        "                        ",
        "      ==================",
        "    I =1================",
        "       |  |  | (2) |  | ",
        "       |  3  4  |  |  | ",
        "       |  |  |  |  |  | ",
    ]
    assert list(picture(found, left_handed=True))[2:] == [
        "    I ================1=",
        "       |  | (2) |  |  | ",
        "       |  |  |  4  3  | ",
        "       |  |  |  |  |  | ",
    ]
