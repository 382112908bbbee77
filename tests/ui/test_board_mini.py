"""The small diagram and the lights, without a screen."""

from __future__ import annotations

import subprocess
import sys

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import STOCK, stock_shape
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Change
from trainer.hand.reach import Hand
from trainer.ui.board.canvas import lines
from trainer.ui.board.lights import LIGHTS, lit
from trainer.ui.board.marks import ASCII, MARKS, UNICODE, Role, Sign
from trainer.ui.board.mini import mini, mini_size
from trainer.ui.board.picture import Look, draw

GUITAR = Instrument()
BARRE_F, BARRE_G = "1/1 3/3 3/4 2/2 1/1 1/1", "3/1 5/3 5/4 4/2 3/1 3/1"


def change(before: str, after: str) -> Change:
    a, b = (stock_shape(text) if text in STOCK else parse_shape(text) for text in (before, after))
    return analyse(a, b, GUITAR, Hand())


def test_a_barre_up_the_neck() -> None:
    shape = parse_shape("x 5/1 7/3 7/4 6/2 5/1")
    assert mini_size(shape) == (16, 6)
    assert lines(mini(shape)) == [
        "     ×",
        "     ───────────",
        "   V │ 1═══════1",
        "     │ │ │ │ 2 │",
        "     │ │ 3 4 │ │",
        "     │ │ │ │ │ │",
    ]


def test_ascii_left_handed_without_fingers() -> None:
    assert lines(mini(parse_shape("x32010"), Look(ASCII, left_handed=True))) == [
        "o   o     x",
        "===========",
        "| * | | | |",
        "| | | * | |",
        "| | | | * |",
        "| | | | | |",
    ]


def test_a_wide_shape_gets_more_rows() -> None:
    shape = parse_shape("x x 1/1 3/2 5/4 x")
    assert mini_size(shape) == (16, 7)
    assert "4" in lines(mini(shape))[6]


def test_other_numbers_of_strings() -> None:
    assert mini_size(parse_shape("0 0 0 3/3")) == (12, 6)


def test_a_light_colours_its_string_and_leaves_the_marks() -> None:
    picture = draw(change("Am", "C"), GUITAR, 58, 8)
    assert picture is not None
    row = picture.rows[2]
    for sign in LIGHTS:
        after = lit(row, {2: sign}, UNICODE)
        assert [run.text for run in after if run.ink.role is Role.KEPT] == [
            run.text for run in row if run.ink.role is Role.KEPT
        ]
        assert "".join(run.text for run in after).endswith(MARKS[sign].fine)
        assert not any(run.ink.role is Role.STRING for run in after)
    assert lit(row, {3: Sign.HEARD}, UNICODE) == row
    assert lit(row, {}, UNICODE) is row


def test_each_string_has_its_own_row_on_a_lying_neck_and_all_rows_on_an_upright_one() -> None:
    lying = draw(change("Am", "C"), GUITAR, 58, 8)
    upright = draw(change("Am", "C"), GUITAR, 78, 12, Look(upright=True))
    assert lying is not None
    assert upright is not None
    assert [lying.rows_of(string) for string in range(1, 7)] == [(1,), (2,), (3,), (4,), (5,), (6,)]
    assert set(upright.rows_of(3)) <= set(range(2, 12))
    assert {2, 11} <= set(upright.rows_of(3))


def test_drawing_needs_no_screen() -> None:
    # Line mode and the plain commands draw boards without paying for a screen; rich.cells alone costs little.
    code = (
        "import sys, trainer.ui.board.picture, trainer.ui.board.mini, trainer.ui.board.lights;"
        "print([name for name in ('textual', 'rich.console', 'rich.text') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
