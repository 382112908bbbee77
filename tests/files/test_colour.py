"""Colours read, and contrast computed as WCAG 2.2 defines it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.files.colour import COLOUR, TERMINAL, contrast, is_terminal, linear, luminance, rgb
from trainer.files.kinds import UnfitError

COLOURS = st.integers(0, 0xFFFFFF).map(lambda number: f"#{number:06x}")


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # WCAG 2.2, definition of contrast ratio: from 1:1 to 21:1, black and white being the ends.
        ("#000000", "#ffffff", 21.0),
        ("#808080", "#808080", 1.0),
        # davidmacd.com, "WCAG reaches consensus on threshold colours" (read): 4.48, and not rounded up to enough.
        ("#777777", "#ffffff", 4.48),
        # Worked value of a published contrast checker (toolkitpropp.netlify.app, "Color contrast checker"; read).
        ("#767676", "#ffffff", 4.54),
        # From memory: as contrast checkers show them.
        ("#ff0000", "#ffffff", 4.0),
        ("#0000ff", "#ffffff", 8.59),
    ],
)
def test_contrast_is_that_of_the_standard(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize(
    ("colour", "value"),
    # WCAG 2.2, definition of relative luminance: the weights of full red, green and blue.
    [("#ff0000", 0.2126), ("#00ff00", 0.7152), ("#0000ff", 0.0722), ("#ffffff", 1.0), ("#000000", 0.0)],
)
def test_luminance_weighs_the_parts_as_the_standard_does(colour: str, value: float) -> None:
    assert luminance(colour) == pytest.approx(value)


def test_dark_parts_are_on_the_straight_piece_of_the_curve() -> None:
    # 0.04045 of 255 lies between 10 and 11.
    assert linear(10) == pytest.approx(10 / 255 / 12.92)
    assert linear(11) > 11 / 255 / 12.92
    assert all(linear(part) < linear(part + 1) for part in range(255))


@given(COLOURS, COLOURS)
def test_contrast_is_the_same_both_ways_and_within_its_bounds(one: str, other: str) -> None:
    assert 1 <= contrast(one, other) <= 21
    assert contrast(one, other) == contrast(other, one)


@given(COLOURS)
def test_colours_are_read_as_they_are(colour: str) -> None:
    assert COLOUR.read(colour.upper().replace("X", "x")) == colour
    assert "#" + "".join(f"{part:02x}" for part in rgb(colour)) == colour
    assert not is_terminal(colour)


def test_short_colours_are_read_in_full() -> None:
    assert COLOUR.read("#1aF") == "#11aaff"


def test_the_terminals_colours_are_sixteen_and_the_default() -> None:
    assert len(set(TERMINAL)) == 17
    assert all(COLOUR.read(name) == name and is_terminal(name) for name in TERMINAL)


@pytest.mark.parametrize("value", ["", "red", "#12", "#1234", "#12345", "#1234567", "#ggg", "112233", "#١٢٣", " #fff"])
def test_what_is_no_colour_is_refused(value: str) -> None:
    with pytest.raises(UnfitError, match=r"must be a colour as #rgb or #rrggbb"):
        COLOUR.read(value)


def test_a_near_name_is_hinted_at() -> None:
    with pytest.raises(UnfitError) as caught:
        COLOUR.read("ansi_bright-red")
    assert caught.value.faults[0].hint == "did you mean 'ansi_bright_red'?"
    with pytest.raises(UnfitError, match="not 255"):
        COLOUR.read(255)
