"""The text form of shapes: parse and print are each other's inverse."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.strategies import shapes
from trainer.errors import ChangeoverError
from trainer.fretboard.shape import Barre, Shape, Stop
from trainer.fretboard.text import parse_shape, print_barres, print_shape

any_shape = st.integers(4, 10).flatmap(shapes)


@given(any_shape)
def test_printing_and_parsing_are_inverse(shape: Shape) -> None:
    assert parse_shape(print_shape(shape), print_barres(shape)) == shape


@given(any_shape)
def test_what_is_printed_is_one_token_a_string(shape: Shape) -> None:
    assert len(print_shape(shape).split(" ")) == shape.strings


@pytest.mark.parametrize(
    "text",
    [
        "x 3/3 2/2 0 1/1 0",
        "x 0 2/2 2/3 1/1 (3/4)",
        "10/1 12/3 12/4 11/2 10/1 10/1",
        "(3) x 0 12 1/1 0",
        "x x x x",
        "0 0 0 0 0 0 0 0 0 0",
    ],
)
def test_parsing_and_printing_are_inverse(text: str) -> None:
    assert print_shape(parse_shape(text)) == text


def test_every_token_means_what_the_form_says() -> None:
    assert parse_shape("x 0 12 7/4 (5/2) (3)").stops == (
        None,
        Stop(0),
        Stop(12),
        Stop(7, 4),
        Stop(5, 2, silent=True),
        Stop(3, None, silent=True),
    )


@pytest.mark.parametrize(
    ("compact", "spaced"),
    [("x32010", "x 3 2 0 1 0"), ("XX0232", "x x 0 2 3 2"), ("2010", "2 0 1 0"), ("0000000000", "0 0 0 0 0 0 0 0 0 0")],
)
def test_the_compact_form_is_read_where_every_fret_is_a_digit(compact: str, spaced: str) -> None:
    assert parse_shape(compact) == parse_shape(spaced)
    assert print_shape(parse_shape(compact)) == spaced


def test_blanks_do_not_matter() -> None:
    assert parse_shape("  x  3/3\t2/2 0 1/1 0 ") == parse_shape("x 3/3 2/2 0 1/1 0")


def test_declared_barres_have_a_text_of_their_own() -> None:
    shape = parse_shape("x 3/3 3/4 2/2 x x", " 1/1  5-1 , 3/3 5-4,")
    assert shape.declared == (Barre(1, 1, 5, 1), Barre(3, 3, 5, 4))
    assert print_barres(shape) == "1/1 5-1, 3/3 5-4"
    assert print_barres(parse_shape("x32010")) == ""


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "'' has 0 strings, 4 to 10 are possible"),
        ("Am", "'Am' has 1 string, 4 to 10 are possible"),
        ("x32", "'x32' has 3 strings, 4 to 10 are possible"),
        ("x 3 2", "'x 3 2' has 3 strings, 4 to 10 are possible"),
        ("x320100000x", "'x320100000x' has 11 strings, 4 to 10 are possible"),
        ("0 0 0 0 0 0 0 0 0 0 0", "'0 0 0 0 0 0 0 0 0 0 0' has 11 strings, 4 to 10 are possible"),
        ("x 3/ 2 0 1 0", "'3/' is no string of a shape"),
        ("x 3/33 2 0 1 0", "'3/33' is no string of a shape"),
        ("x 100 2 0 1 0", "'100' is no string of a shape"),
        ("x -1 2 0 1 0", "'-1' is no string of a shape"),
        ("x (3/3 2 0 1 0", "'(3/3' is no string of a shape"),
        ("x (3/33 2 0 1 0", "'(3/33' is no string of a shape"),
        ("x 13/3) 2 0 1 0", "'13/3)' is no string of a shape"),
        ("x (x) 2 0 1 0", "'(x)' is no string of a shape"),
        ("x () 2 0 1 0", "'()' is no string of a shape"),
        ("x ((3/3)) 2 0 1 0", "'((3/3))' is no string of a shape"),
        ("x 3.5 2 0 1 0", "'3.5' is no string of a shape"),
        ("x ٣ 2 0 1 0", "'٣' is no string of a shape"),
        ("x ³ 2 0 1 0", "'³' is no string of a shape"),
        ("x \x1b[2J 2 0 1 0", "'·[2J' is no string of a shape"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_hint(text: str, line: str) -> None:
    with pytest.raises(ChangeoverError) as caught:
        parse_shape(text)
    hint = "one of x, 0, FRET, FRET/FINGER or (FRET/FINGER) for each string, last string first"
    assert str(caught.value) == f"{line} ({hint})"


@pytest.mark.parametrize(
    "barres", ["1/1", "6-1", "1/1 6", "1 6-1", "1/1 6 - 1", "1/11 6-1", "٣/1 6-1", "1/1 6-1; 2/2 3-1"]
)
def test_barres_that_cannot_be_read_are_refused(barres: str) -> None:
    with pytest.raises(ChangeoverError) as caught:
        parse_shape("x x x x x x", barres)
    assert str(caught.value) == f"'{barres}' is no barre (FRET/FINGER LOW-HIGH, as 1/1 6-1)"
