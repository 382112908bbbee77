"""Which frets are shown, and that they move only where they must."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import STOCK, stock_shape
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Change
from trainer.hand.reach import Hand
from trainer.ui.board.window import Window, follow, needed


def change(before: str, after: str) -> Change:
    a, b = (stock_shape(text) if text in STOCK else parse_shape(text) for text in (before, after))
    return analyse(a, b, Instrument(), Hand())


def barre(fret: int) -> str:
    return f"{fret}/1 {fret + 2}/3 {fret + 2}/4 {fret + 1}/2 {fret}/1 {fret}/1"


def test_low_shapes_begin_at_the_nut() -> None:
    assert needed(change("Am", "C")) == Window(1, 4)
    assert needed(change("x x 0 2/1 2/1 2/1", "x x 0 2/1 2/1 5/4")) == Window(1, 5)


def test_high_shapes_begin_at_the_hand() -> None:
    assert needed(change(barre(5), barre(7))) == Window(5, 9)
    assert needed(change(barre(9), barre(9))) == Window(9, 12)


def test_a_long_shift_needs_everything_between() -> None:
    assert needed(change(barre(1), barre(8))) == Window(1, 10)


def test_open_strings_alone_need_the_first_frets() -> None:
    assert needed(change("0 0 0 0 0 0", "0 0 0 0 0 0")) == Window(1, 4)


def test_the_window_stays_while_it_covers_the_change() -> None:
    wide = Window(1, 7)
    assert follow(wide, change("Am", "C")) == wide
    assert follow(Window(4, 9), change(barre(5), barre(7))) == Window(4, 9)


def test_the_window_moves_where_it_must() -> None:
    assert follow(None, change("Am", "C")) == Window(1, 4)
    assert follow(Window(1, 4), change(barre(5), barre(7))) == Window(5, 9)


def test_a_window_left_wide_by_a_long_shift_is_given_up() -> None:
    assert follow(Window(1, 10), change("Am", "C")) == Window(1, 4)


FRETS = st.integers(1, 14).map(barre)


@given(FRETS, FRETS, st.integers(1, 12), st.integers(4, 12))
def test_a_followed_window_covers_its_change(before: str, after: str, first: int, count: int) -> None:
    moved = change(before, after)
    assert follow(Window(first, first + count - 1), moved).covers(needed(moved))
