"""The table of marks: every mark can be told from every other without colour, and every glyph is one cell wide."""

from __future__ import annotations

from itertools import chain

import pytest
from rich.cells import cell_len
from wcwidth import wcwidth

from trainer.hand.change import Action
from trainer.ui.board.blocks import ANY_FINGER
from trainer.ui.board.canvas import Canvas, Ink, lines
from trainer.ui.board.finger_mark import draw_mark
from trainer.ui.board.marks import ARRIVALS, ASCII, MARKS, MIRRORED, UNICODE, UPRIGHT_LINES, Glyphs, Mark, Role, Sign

FINGERS = (Sign.KEPT, Sign.GUIDE, Sign.SWAP, Sign.CROSS, Sign.PLACE, Sign.LIFT, Sign.LEAVE, Sign.HELD, Sign.HINGE)
BARS = (Sign.BAR_STAYS, Sign.BAR_COMES, Sign.BAR_GOES)
PATHS = (Sign.SLIDE, Sign.SQUEAK, Sign.AIR)
NUT = (Sign.OPEN, Sign.OPENS, Sign.CLOSES, Sign.DAMP, Sign.MUTED)
BRIDGE = (Sign.RINGS, Sign.HEARD, Sign.WRONG, Sign.MISSING)
GROUPS = (FINGERS, BARS, PATHS, NUT, BRIDGE, (Sign.WATCH,))
SETS = pytest.mark.parametrize("glyphs", [UNICODE, ASCII], ids=lambda glyphs: glyphs.name)


def every_glyph(glyphs: Glyphs) -> set[str]:
    lines_ = (glyphs.along, glyphs.wire, glyphs.crossing, glyphs.nut, glyphs.nut_crossing, *glyphs.heads)
    return set(chain(lines_, *(glyphs.mark(sign) for sign in Sign)))


def test_every_sign_has_a_mark_and_a_place() -> None:
    assert set(MARKS) == set(Sign) == set(chain(*GROUPS))
    assert all(len(mark.fine) == len(mark.plain) == 3 for mark in MARKS.values())


@SETS
def test_marks_that_stand_in_one_place_look_different(glyphs: Glyphs) -> None:
    for group in GROUPS:
        assert len({glyphs.mark(sign) for sign in group}) == len(group)


def test_meanings_are_different() -> None:
    assert len({mark.meaning for mark in MARKS.values()}) == len(MARKS)


def test_every_action_that_ends_somewhere_has_its_own_mark() -> None:
    nowhere = {Action.LIFT, Action.FREE, Action.UNKNOWN}
    assert set(ARRIVALS) == set(Action) - nowhere
    assert len(set(ARRIVALS.values())) == len(ARRIVALS)


def test_every_glyph_is_one_cell_wide() -> None:
    # Two judges: rich, which Textual lays out by, and wcwidth, which follows Unicode's tables.
    big = set("▀▄█" + ANY_FINGER) | set(UPRIGHT_LINES.values())
    for glyph in every_glyph(UNICODE) | every_glyph(ASCII) | big | set(MIRRORED):
        assert cell_len(glyph) == wcwidth(glyph) == 1, glyph


def test_no_glyph_turns_into_an_emoji() -> None:
    # Unicode's emoji-data.txt gives these arrows and shapes an emoji form, which some terminals draw two cells wide.
    emoji = set("↔↕↖↗↘↙↩↪▪▫▶◀◻◼◽◾⏩⏪⏫⏬★☆♠♣♥♦⚪⚫⬅⬆⬇⬛⬜") - set("★☆")
    assert not every_glyph(UNICODE) & emoji


def test_ascii_is_ascii() -> None:
    assert all(glyph.isascii() and glyph.isprintable() for glyph in every_glyph(ASCII))


def test_mirrored_twice_is_the_same() -> None:
    assert all(MIRRORED[MIRRORED[glyph]] == glyph for glyph in MIRRORED)


def test_every_mark_is_its_own_mirror() -> None:
    # A left-handed player reads the same mark: its two ends change sides and direction.
    def mirror(cells: str) -> str:
        return "".join(MIRRORED.get(glyph, glyph) for glyph in reversed(cells))

    assert all(mirror(cells) == cells for mark in MARKS.values() for cells in (mark.fine, mark.plain))


def test_every_role_of_a_mark_is_a_colour_role() -> None:
    assert {mark.role for mark in MARKS.values()} <= set(Role) - {Role.BLANK}
    assert Mark("", Role.KEPT, "", "", "").role == "kept"


def mark_text(sign: Sign, digit: str, size: tuple[int, int], glyphs: Glyphs = UNICODE) -> list[str]:
    canvas = Canvas(*size)
    draw_mark(canvas, (size[0] // 2, size[1] // 2), digit, sign, size, glyphs, Role.KEPT)
    return lines(canvas.picture())


def test_big_figures() -> None:
    assert mark_text(Sign.CROSS, "1", (7, 3)) == ["[ ▄█  ]", "[  █  ]", "[ ▀▀▀ ]"]
    assert mark_text(Sign.CROSS, "2", (7, 3)) == ["[ ▀▀█ ]", "[ █▀▀ ]", "[ ▀▀▀ ]"]
    assert mark_text(Sign.PLACE, "3", (5, 3)) == ["▼▀▀█▼", "▼▀▀█▼", "▼▀▀▀▼"]
    assert mark_text(Sign.GUIDE, "4", (5, 3)) == ["║█ █║", "║▀▀█║", "║  ▀║"]
    assert mark_text(Sign.HELD, ANY_FINGER, (5, 3)) == ["▐ ▄ ▌", "▐▀█▀▌", "▐   ▌"]


def test_a_finger_that_stays_is_a_solid_block_with_its_figure_cut_out() -> None:
    assert mark_text(Sign.KEPT, "1", (7, 3)) == ["██▀ ███", "███ ███", "██▄▄▄██"]
    assert mark_text(Sign.KEPT, "4", (5, 3)) == ["█ █ █", "█▄▄ █", "███▄█"]


@SETS
def test_single_characters_in_small_marks(glyphs: Glyphs) -> None:
    for sign in FINGERS:
        (row,) = mark_text(sign, "3", (5, 1), glyphs)
        assert row[2] == "3"
        assert row[0] + row[2] + row[4] == glyphs.mark(sign).replace("1", "3")


def test_ascii_draws_no_big_figures() -> None:
    assert mark_text(Sign.CROSS, "2", (7, 3), ASCII) == ["[     ]", "[  2  ]", "[     ]"]
    assert mark_text(Sign.KEPT, ANY_FINGER, (5, 3), ASCII) == ["#####", "##*##", "#####"]


def test_the_canvas_draws_nothing_outside_itself() -> None:
    canvas = Canvas(4, 2)
    ink = Ink(Role.KEPT)
    canvas.put(-2, 0, "abcd", ink)
    canvas.put(3, 1, "xyz", ink)
    canvas.put(0, 2, "below", ink)
    canvas.put(-9, 1, "left", ink)
    canvas.put(9, 1, "right", ink)
    assert lines(canvas.picture()) == ["cd", "   x"]
