"""The board as plain text: literal pictures, what they must always say, and the mirror."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import STOCK, stock_shape
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Action, Change, Move
from trainer.hand.reach import Hand
from trainer.ui.board.canvas import Picture, Run, lines
from trainer.ui.board.marks import ASCII, UNICODE, Glyphs, Sign
from trainer.ui.board.picture import LAID, Look, Mode, draw, fits, string_labels
from trainer.ui.board.window import Window

GUITAR = Instrument()
BARRE_F = "1/1 3/3 3/4 2/2 1/1 1/1"
BARRE_G = "3/1 5/3 5/4 4/2 3/1 3/1"


def change(before: str, after: str, instrument: Instrument = GUITAR) -> Change:
    """Return the change between two shapes given by name or in text form."""
    a, b = (stock_shape(text) if text in STOCK else parse_shape(text) for text in (before, after))
    return analyse(a, b, instrument, Hand())


def text(before: str, after: str, width: int, height: int, look: Look | None = None) -> list[str]:
    picture = draw(change(before, after), GUITAR, width, height, look)
    assert picture is not None
    return lines(picture)


def test_am_to_c_keeps_two_fingers_and_moves_one_across() -> None:
    assert text("Am", "C", 78, 12) == [
        "              I             2            3            4            5",
        "1 E  ○ ╫─────────────┼─────────────┼────────────┼────────────┼────────────┼ ~",
        "       ║             │             │            │            │            │",
        "2 B    ╫───────██1██─┼─────────────┼────────────┼────────────┼────────────┼ ~",
        "       ║             │             │            │            │            │",
        "3 G [○]╫─────────────┼─(3)●────────┼────────────┼────────────┼────────────┼",
        "       ║             │      ● ●    │            │            │            │",
        "4 D    ╫─────────────┼───────██2██─●────────────┼────────────┼────────────┼ ~",
        "       ║             │             │ ● ●        │            │            │",
        "5 A (○)╫─────────────┼─────────────┼─────►[ 3 ]!┼────────────┼────────────┼",
        "       ║             │             │            │            │            │",
        "6 E  × ╫─────────────┼─────────────┼────────────┼────────────┼────────────┼",
    ]


def test_d7_to_g_shows_a_guide_and_the_hand_moving_up() -> None:
    assert text("D7", "G", 58, 8) == [
        "            (I)═══════►[II]          3          4",
        "1 E    ╫───────────┼─(3)════════════►║ 3 ║─┼──────────┼",
        "2 B [○]╫─(1)●─●────┼───────────┼───────────┼──────────┼",
        "3 G [○]╫────────●──┼─(2)●─●────┼───────────┼──────────┼",
        "4 D  ○ ╫──────────●┼●─●─────●──┼───────────┼──────────┼ ~",
        "5 A    ╫───────────┼────►[ 1 ]●┼●─●────────┼──────────┼",
        "6 E    ╫───────────┼───────────┼────►[ 2 ]!┼──────────┼",
    ]


def test_c_to_f_lays_a_barre_around_a_finger_that_stays() -> None:
    assert text("C", "F", 58, 8) == [
        "             I           2           3          4",
        "1 E (○)╫──────▒▒▒──┼───────────┼───────────┼──────────┼",
        "2 B    ╫─────◊ 1 ◊!┼───────────┼───────────┼──────────┼ ~",
        "3 G (○)╫──────▒▒▒──┼────►[ 2 ]─┼───────────┼──────────┼",
        "4 D    ╫──────▒▒▒──┼─(2)●──────┼─────▼ 4 ▼─┼──────────┼",
        "5 A    ╫──────▒▒▒──┼───────────┼─────██3██─┼──────────┼ ~",
        "6 E    ╫──────▒▒▒──┼───────────┼───────────┼──────────┼",
    ]


def test_a_barre_slides_with_every_finger_and_squeaks_on_wound_strings() -> None:
    assert text(BARRE_F, BARRE_G, 58, 8) == [
        "           (I)════════2═════►[III]      4        5",
        "1 E    ╫─░░░════════════════════►▒▒▒┼────────┼────────┼",
        "2 B    ╫─░░░─────┼─────────┼─────▒▒▒┼────────┼────────┼",
        "3 G    ╫─░░░─────┼─(2)═══════════▒▒▒═════►║2║┼────────┼",
        "4 D    ╫─░░░─────┼─────────┼(4)≈≈▒▒▒≈≈≈≈≈≈≈≈≈≈≈≈≈≈►║4║┼",
        "5 A    ╫─░░░─────┼─────────┼(3)≈≈▒▒▒≈≈≈≈≈≈≈≈≈≈≈≈≈≈►║3║!",
        "6 E    ╫─(1)≈≈≈≈≈≈≈≈≈≈≈≈≈≈≈≈≈≈≈≈►║1║┼────────┼────────┼",
    ]


def test_a_barre_that_narrows_shows_what_stays_and_what_goes() -> None:
    # A half barre over three strings gives up string 1; the open D must be damped by hand.
    assert text("x x 0 2/1 2/1 2/1", "x x x 2/1 2/1 5/4", 58, 8) == [
        "            1        II        3        4        5",
        "1 E    ╫─────────┼─────░░░─┼────────┼────────┼─────▼4▼!",
        "2 B    ╫─────────┼─────███─┼────────┼────────┼────────┼ ~",
        "3 G    ╫─────────┼─────◊1◊─┼────────┼────────┼────────┼ ~",
        "4 D !○!╫─────────┼─────────┼────────┼────────┼────────┼",
        "5 A  × ╫─────────┼─────────┼────────┼────────┼────────┼",
        "6 E  × ╫─────────┼─────────┼────────┼────────┼────────┼",
    ]


def test_a_barre_that_goes_and_fingers_that_lift() -> None:
    assert text("x 2/1 4/3 4/4 3/2 2/1", "x 0 2/2 0 1/1 0", 58, 8) == [
        "            [I]◄═══════(II)          3          4",
        "1 E [○]╫───────────┼─░░░───────┼───────────┼──────────┼",
        "2 B    ╫────![ 1 ]◄┼─░░░───────┼●(2)───────┼──────────┼",
        "3 G [○]╫───────────●─░░░───────●───────────┼▲4▲───────┼",
        "4 D    ╫───────────●─░░░─[ 2 ]◄┼───────────┼▲3▲───────┼",
        "5 A [○]╫───────────┼●(1)───────┼───────────┼──────────┼",
        "6 E  × ╫───────────┼───────────┼───────────┼──────────┼",
    ]


def test_left_handed() -> None:
    assert text("D7", "G", 58, 8, Look(left_handed=True)) == [
        "         4          3          [II]◄═══════(I)",
        "   ┼──────────┼─║ 3 ║◄════════════(3)─┼───────────╫    1 E",
        "   ┼──────────┼───────────┼───────────┼────●─●(1)─╫[○] 2 B",
        "   ┼──────────┼───────────┼────●─●(2)─┼──●────────╫[○] 3 G",
        " ~ ┼──────────┼───────────┼──●─────●─●┼●──────────╫ ○  4 D",
        "   ┼──────────┼────────●─●┼●[ 1 ]◄────┼───────────╫    5 A",
        "   ┼──────────┼![ 2 ]◄────┼───────────┼───────────╫    6 E",
    ]


def test_ascii() -> None:
    assert text("D7", "G", 58, 8, Look(glyphs=ASCII)) == [
        "            (I)=======>[II]          3          4",
        "1 E    I-----------+-(3)============>= 3 =-+----------+",
        "2 B [o]I-(1).-.----+-----------+-----------+----------+",
        "3 G [o]I--------.--+-(2).-.----+-----------+----------+",
        "4 D  o I----------.+.-.-----.--+-----------+----------+ ~",
        "5 A    I-----------+---->[ 1 ].+.-.--------+----------+",
        "6 E    I-----------+-----------+---->[ 2 ]!+----------+",
    ]


def test_upright() -> None:
    assert text("D7", "G", 78, 12, Look(upright=True)) == [
        "       6E    5A    4D    3G    2B    1E",
        "                    ○    [○]   [○]",
        "        ╪═════╪═════╪═════╪═════╪═════╪",
        "  (I)   │     │     │     │ ● ●(1)    │",
        "   ▼    ┼─────┼─────●─●─●─●─────┼─────┼",
        " [II]   │    [1]◄ ● │ ● ●(2)    │    (3)",
        "        ┼─────●─●─●─●─────┼─────┼─────▼",
        "   3  ![2]◄ ● │     │     │     │    ║3║",
        "        ┼─────┼─────┼─────┼─────┼─────┼",
        "   4    │     │     │     │     │     │",
        "        ┼─────┼─────┼─────┼─────┼─────┼",
        "                    ~",
    ]


@pytest.mark.parametrize("capo", [0, 2])
def test_an_upright_neck_without_room_lies_down_and_says_so(capo: int) -> None:
    # Frets I to V take 14 rows upright; a window of 80 by 24 leaves the board 12.
    guitar = replace(GUITAR, capo=capo)
    moved = change(BARRE_F, BARRE_G)
    upright = draw(moved, guitar, 78, 14, Look(upright=True))
    assert upright is not None
    assert LAID not in lines(upright)[0]
    laid, lying = (draw(moved, guitar, 78, 12, Look(upright=stands)) for stands in (True, False))
    assert laid is not None
    assert lying is not None
    assert lines(laid)[1:] == lines(lying)[1:]
    assert lines(laid)[0].split() == ([] if capo else [LAID]) + lines(lying)[0].split() + ([LAID] if capo else [])
    assert fits(moved, guitar, 78, 12, Look(upright=True))


def test_large_room_draws_large_figures_and_says_the_open_strings_in_words() -> None:
    assert [line[:45].rstrip() for line in text("Am", "C", 118, 22)] == [
        "                I                 2",
        "",
        "",
        "1 E  ○ ╫─────────────────┼─────────────────┼─",
        "   open║         ▄▄▄▄▄▄▄ │                 │",
        "       ║         ██▀ ███ │                 │",
        "2 B    ╫─────────███ ███─┼─────────────────┼─",
        "       ║         ██▄▄▄██ │                 │",
        "       ║                 │                 │",
        "3 G [○]╫─────────────────┼─( 3 )●──────────┼─",
        "  opens║                 │        ●▄▄▄▄▄▄▄ │",
        "       ║                 │         ██▄▄ ██ │",
        "4 D    ╫─────────────────┼─────────██ ▄▄██─●─",
        "       ║                 │         ██▄▄▄██ │",
        "       ║                 │                 │",
        "5 A (○)╫─────────────────┼─────────────────┼─",
        "  stops║                 │                 │",
        "       ║                 │                 │",
        "6 E  × ╫─────────────────┼─────────────────┼─",
        "   mute",
    ]


def test_a_mark_above_covers_the_rim_of_one_that_stays() -> None:
    third_fret = [line[43:61].rstrip() for line in text("C", "F", 118, 22)]
    assert third_fret[11:17] == [
        "│        ▼ █ █ ▼ │",
        "┼────────▼ ▀▀█ ▼─┼",
        "│        ▼   ▀ ▼ │",
        "│        ██▄▄ ██ │",
        "┼────────██▄▄ ██─┼",
        "│        ██▄▄▄██ │",
    ]


def test_a_tight_fret_space_holds_both_fingers_in_one_mark() -> None:
    # At string 3 finger 1 takes the place that 2 leaves, at string 1 finger 2 that of 3.
    assert text("x x 0 2/2 1/1 2/3", "x x 0 2/1 3/4 2/2", 40, 8) == [
        "         (I)═►[II]    3     4    5",
        "1 E    ╫─────┼─3[2─┼─────┼─────┼────┼",
        "2 B    ╫─(1)●┼──▲──┼─▼4▼!┼─────┼────┼",
        "3 G    ╫─────┼►2[1─┼─────┼─────┼────┼",
        "4 D  ○ ╫─────┼─────┼─────┼─────┼────┼ ~",
        "5 A  × ╫─────┼─────┼─────┼─────┼────┼",
        "6 E  × ╫─────┼─────┼─────┼─────┼────┼",
    ]


def test_shapes_without_fingers_are_drawn_without_numbers() -> None:
    picture = "\n".join(text("x02210", "x32010", 58, 8))
    assert picture.count("▐ • ▌") == 3
    assert picture.count("(•)") == 1


def test_a_note_that_gets_a_finger_does_not_leave() -> None:
    picture = "\n".join(text("x02210", "Am", 58, 8))
    assert "(•)" not in picture
    assert [f"▐ {finger} ▌" in picture for finger in (1, 2, 3)] == [True] * 3


def test_shape_mode_shows_only_what_is_held_now() -> None:
    assert text("C", "F", 58, 8, Look(mode=Mode.SHAPE)) == [
        "             I           2           3          4",
        "1 E  ○ ╫───────────┼───────────┼───────────┼──────────┼",
        "2 B    ╫─────▐ 1 ▌─┼───────────┼───────────┼──────────┼",
        "3 G  ○ ╫───────────┼───────────┼───────────┼──────────┼",
        "4 D    ╫───────────┼─────▐ 2 ▌─┼───────────┼──────────┼",
        "5 A    ╫───────────┼───────────┼─────▐ 3 ▌─┼──────────┼",
        "6 E  × ╫───────────┼───────────┼───────────┼──────────┼",
    ]


def test_hidden_mode_gives_nothing_away() -> None:
    hidden = Look(mode=Mode.HIDDEN)
    assert text("C", "F", 58, 8, hidden) == text("Am", "E", 58, 8, hidden)
    assert not re.search(r"[1-4○×I]", "".join(line[4:] for line in text("C", "F", 58, 8, hidden)[1:]))


def test_capo_and_tuning_are_said() -> None:
    lute = Instrument.tuned("E2 A2 D3 F#3 B3 E4", capo=3)
    picture = draw(change("Am", "C", lute), lute, 78, 12)
    assert picture is not None
    assert lines(picture)[0].startswith("capo 3 ")
    assert [line[:4] for line in lines(picture)[1::2]] == ["1 E ", "2 B ", "3 F#", "4 D ", "5 A ", "6 E "]
    assert string_labels(Instrument.tuned("G4 C4 E4 A4")) == ("1 A", "2 E", "3 C", "4 G")


@pytest.mark.parametrize("strings", [4, 7, 10])
def test_other_numbers_of_strings(strings: int) -> None:
    instrument = Instrument(tuning=tuple(range(40, 40 + 5 * strings, 5)))
    shape = " ".join(["0"] * (strings - 1) + ["1/1"])
    picture = draw(change(shape, shape.replace("1/1", "3/1"), instrument), instrument, 78, 2 * strings)
    assert picture is not None
    assert sum(line.endswith(("┼", "~")) for line in lines(picture)) == strings


def test_shapes_at_the_highest_frets_stay_on_the_neck() -> None:
    high = change("x x 17/1 19/3 19/4 x", "x x 17/1 18/2 19/4 x")
    picture = draw(high, GUITAR, 78, 12)
    assert picture is not None
    assert "19" in lines(picture)[0]
    assert "20" not in lines(picture)[0]


def finger_signs(picture: list[str], glyphs: Glyphs) -> set[tuple[int, Sign]]:
    """Read the marks back from plain text: (finger, sign) of every number that stands in a mark."""
    ends = {(glyphs.mark(sign)[0], glyphs.mark(sign)[2]): sign for sign in FINGER_SIGNS}
    found = set()
    for line in picture[1:]:
        neck = line[6:]
        for match in re.finditer(r"(?=(\S) ?([1-4]) ?(\S))", neck):
            sign = ends.get((match[1], match[3]))
            if sign is not None:
                found.add((int(match[2]), sign))
    return found


FINGER_SIGNS = (Sign.KEPT, Sign.GUIDE, Sign.SWAP, Sign.CROSS, Sign.PLACE, Sign.LIFT, Sign.LEAVE, Sign.HINGE)
ARRIVING = {
    Action.GUIDE: Sign.GUIDE,
    Action.SWAP: Sign.SWAP,
    Action.CROSS: Sign.CROSS,
    Action.PLACE: Sign.PLACE,
}


def expected_signs(move: Move, hinged: set[int]) -> set[tuple[int, Sign]]:
    if move.action is Action.KEPT:
        return {(move.finger, Sign.HINGE if move.finger in hinged else Sign.KEPT)}
    if move.action is Action.LIFT:
        return {(move.finger, Sign.LIFT)}
    signs = set()
    if move.action in ARRIVING:
        signs.add((move.finger, ARRIVING[move.action]))
        if move.start is not None:
            signs.add((move.finger, Sign.LEAVE))
    return signs


@pytest.mark.parametrize("glyphs", [UNICODE, ASCII], ids=lambda glyphs: glyphs.name)
@pytest.mark.parametrize("size", [(78, 12), (58, 8)])
def test_every_action_of_every_stock_change_can_be_read_without_colour(glyphs: Glyphs, size: tuple[int, int]) -> None:
    for before, after in permutations(STOCK, 2):
        moved = change(before, after)
        hinged = {move.end.finger for move in moved.barres if move.end and "hinged" in move.actions}
        expected = set().union(*(expected_signs(move, hinged) for move in moved.moves))
        picture = draw(moved, GUITAR, *size, Look(glyphs=glyphs))
        assert picture is not None
        assert finger_signs(lines(picture), glyphs) == expected, f"{before} to {after}"


def test_a_swap_can_be_read_without_colour() -> None:
    # Finger 3 takes over string 2 from 2 while the note goes on: the silent stop says it is not struck.
    moved = change("x 0 2/1 2/3 1/2 0", "x 0 2/1 2/3 (1/4) 0")
    assert moved.move(4).action is Action.SWAP
    picture = draw(moved, GUITAR, 58, 8)
    assert picture is not None
    assert (4, Sign.SWAP) in finger_signs(lines(picture), UNICODE)


SHAPES = st.sampled_from([*STOCK.values(), BARRE_F, BARRE_G, "x x 7/2 8/3 9/4 x", "x 3/1 5/3 5/3 5/3 3/1", "x02210"])
SWAPPED = {"(": ")", "[": "]", "{": "}", "<": ">", "»": "«", "►": "◄", "▐": "▌"}
SWAPPED |= {right: left for left, right in SWAPPED.items()}


def cells(row: tuple[Run, ...]) -> list[tuple[int, str, bool]]:
    """Return (column, text, is a word) of each word and of each single cell outside words."""
    found, column = [], 0
    for run in row:
        if run.word:
            found.append((column, run.text, True))
        else:
            found += [(column + offset, glyph, False) for offset, glyph in enumerate(run.text)]
        column += len(run.text)
    return found


def mirror_cells(picture: Picture, y: int) -> list[tuple[int, str, bool]]:
    mirrored = (
        (picture.width - column - len(glyphs), glyphs if word else SWAPPED.get(glyphs, glyphs), word)
        for column, glyphs, word in cells(picture.rows[y])
    )
    return sorted(mirrored)


@settings(max_examples=60)
@given(SHAPES, SHAPES, st.sampled_from([(78, 12), (58, 8), (118, 22), (70, 30)]), st.booleans(), st.booleans())
def test_left_handed_is_the_pure_mirror(
    before: str, after: str, size: tuple[int, int], fine: bool, upright: bool
) -> None:
    glyphs = UNICODE if fine else ASCII
    right, left = (
        draw(change(before, after), GUITAR, *size, Look(glyphs, left_handed=side, upright=upright))
        for side in (False, True)
    )
    if right is None or left is None:
        assert right is left is None
        return
    assert (left.width, left.height) == (right.width, right.height)
    for y in range(right.height):
        assert cells(left.rows[y]) == mirror_cells(right, y)
    assert left.mirrored() == right


@settings(max_examples=150)
@given(SHAPES, SHAPES, st.integers(10, 170), st.integers(3, 45), st.booleans(), st.integers(1, 8), st.integers(4, 9))
def test_a_picture_never_leaves_its_room(
    before: str, after: str, width: int, height: int, upright: bool, first: int, frets: int
) -> None:
    moved, look, window = change(before, after), Look(upright=upright), Window(first, first + frets - 1)
    picture = draw(moved, GUITAR, width, height, look, window)
    assert (picture is not None) == fits(moved, GUITAR, width, height, look, window)
    if picture is None:
        return
    assert picture.width <= width
    assert picture.height <= height
    assert all(sum(len(run.text) for run in row) == picture.width for row in picture.rows)
    assert fits(moved, GUITAR, width + 1, height + 1, look, window)


def test_the_whole_hand_is_drawn_at_every_size_that_fits() -> None:
    moved = change(BARRE_F, BARRE_G)
    for width in range(30, 160, 3):
        for height in range(7, 30, 2):
            picture = draw(moved, GUITAR, width, height)
            if picture is not None:
                body = "\n".join(lines(picture)[1:])
                assert body.count("(") == 4, (width, height)
                assert body.count("►") == 5, (width, height)


def test_the_smallest_rooms() -> None:
    moved = change("Am", "C")
    assert fits(moved, GUITAR, 58, 8)
    assert fits(moved, GUITAR, 27, 7)
    assert not fits(moved, GUITAR, 26, 7)
    assert not fits(moved, GUITAR, 58, 6)
    assert draw(moved, GUITAR, 58, 6) is None


def test_a_window_that_does_not_fit_gives_way_to_the_one_that_is_needed() -> None:
    picture = draw(change("Am", "C"), GUITAR, 40, 8, window=Window(1, 15))
    assert picture is not None
    assert lines(picture)[0].split()[-1] in {"4", "5"}
