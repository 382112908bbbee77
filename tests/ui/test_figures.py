"""Big figures: what is read from across the room must be drawn whole."""

from __future__ import annotations

import pytest

from trainer.practice.phases import Mode
from trainer.practice.wording import ANYWHERE, SAID
from trainer.ui.figures import ROWS, figures, has_figures


@pytest.mark.parametrize("scale", [1, 2, 3])
@pytest.mark.parametrize("text", ["0123456789", "12.34", "7/8", "-", "READY", "Cmaj7", "F#m"])
def test_rows_are_as_many_as_asked_and_equally_long(text: str, scale: int) -> None:
    rows = figures(text, scale)
    assert len(rows) == ROWS * scale
    assert len({len(row) for row in rows}) == 1


def test_every_digit_looks_unlike_every_other() -> None:
    for fine in (True, False):
        assert len({figures(digit, fine=fine) for digit in "0123456789"}) == 10


def test_every_big_word_has_figures() -> None:
    words = {said.big for said in (*SAID.values(), *ANYWHERE.values())}
    assert all(has_figures(word) for word in words)
    assert {mode for mode, _ in SAID} == set(Mode)


def test_every_big_word_stands_whole_beside_the_facts_of_eighty_columns() -> None:
    column = (78 - 28) // 2
    assert all(len(figures(said.big)[0]) < column for said in (*SAID.values(), *ANYWHERE.values()))


def test_what_has_no_figure_is_shown_as_it_is() -> None:
    assert figures("Ωm") == ("  ", "Ωm", "  ")


WORDS = sorted({said.big for said in (*SAID.values(), *ANYWHERE.values())} - {""})


@pytest.mark.parametrize("word", WORDS)
def test_a_word_in_ascii_is_framed_where_rows_are_few_and_large_where_there_are_more(word: str) -> None:
    edge, middle, other = figures(word, fine=False)
    assert edge == other == "+" + "-" * (len(middle) - 2) + "+"
    assert middle.strip("| ").split() == list(word)
    # Six rows of full cells are the same pixels as three rows of half cells.
    large, halves = figures(word, 2, fine=False), figures(word, 1)
    for upper, lower, row in zip(large[::2], large[1::2], halves, strict=True):
        assert (
            "".join(" ▀▄█"[(above == "#") + 2 * (below == "#")] for above, below in zip(upper, lower, strict=True))
            == row
        )


def test_ascii_is_ascii() -> None:
    assert all(row.isascii() for row in figures("12.34 7/8 GO", 2, fine=False))


def test_nothing_is_as_high_as_something() -> None:
    assert figures("", 2) == ("",) * 6
    assert figures("", fine=False) == ("",) * 3
