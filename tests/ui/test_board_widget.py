"""The board as a widget: same cells as the plain text, colours by role, and only the dirty row rendered again."""

from __future__ import annotations

import pytest
from rich.style import Style
from textual.app import App, ComposeResult
from textual.color import Color
from textual.strip import Strip
from textual.theme import Theme

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import stock_shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Change
from trainer.hand.reach import Hand
from trainer.ui.board.canvas import Fill, lines
from trainer.ui.board.marks import ASCII, MARKS, UNICODE, Role, Sign
from trainer.ui.board.picture import TOO_SMALL, Look, Mode, draw
from trainer.ui.board.view import filled
from trainer.ui.board.widget import Board, Mini
from trainer.ui.board.window import Window

GUITAR = Instrument()
ROLES = {
    "kept": "#50d080",
    "guide": "#50c0f0",
    "cross": "#f09050",
    "place": "#f0f0f0",
    "lift": "#b080b0",
    "barre": "#e0c070",
    "good": "#40b060",
    "warn": "#f0d060",
    "dim": "#607080",
}


def change(before: str, after: str) -> Change:
    return analyse(stock_shape(before), stock_shape(after), GUITAR, Hand())


def theme(name: str, **colours: str) -> Theme:
    return Theme(name, primary="#4080c0", background="#101010", foreground="#e0e0e0", variables=ROLES | colours)


class Watched(Board):
    """A board that notes which rows it was asked to render."""

    def __init__(self, look: Look | None = None) -> None:
        super().__init__(GUITAR, look)
        self.rendered: list[int] = []

    def render_line(self, y: int) -> Strip:
        self.rendered.append(y)
        return super().render_line(y)


class BoardApp(App[None]):
    def __init__(self, look: Look | None = None, css: str = "", ansi: bool | None = None) -> None:
        super().__init__(ansi_color=ansi)
        self._look = look
        self.stylesheet.add_source(css, read_from=("test", ""))

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return ROLES

    def compose(self) -> ComposeResult:
        yield Watched(self._look)

    def on_mount(self) -> None:
        self.register_theme(theme("one"))
        self.register_theme(theme("two", kept="#ff0000"))
        self.theme = "one"

    @property
    def board(self) -> Watched:
        return self.query_one(Watched)


def shown(board: Board) -> list[str]:
    return [board.render_line(y).text.rstrip() for y in range(board.content_size.height)]


def style_of(board: Board, y: int, glyph: str) -> Style:
    """Return the style of the first segment of row `y` that contains `glyph`."""
    for segment in board.render_line(y):
        if glyph in segment.text and segment.style is not None:
            return segment.style
    raise AssertionError(f"no {glyph} in row {y}")


async def test_it_shows_what_the_plain_text_says() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        app.board.show(change("D7", "G"))
        await pilot.pause()
        picture = draw(change("D7", "G"), GUITAR, 78, 12)
        assert picture is not None
        margin = " " * ((78 - picture.width) // 2)
        assert shown(app.board) == [(margin + line).rstrip() for line in lines(picture)]


async def test_it_stands_in_the_middle_of_its_room() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 16)) as pilot:
        app.board.show(change("Am", "C"))
        await pilot.pause()
        assert shown(app.board)[:2] == ["", ""]
        assert shown(app.board)[2].split() == ["I", "2", "3", "4", "5"]
        assert shown(app.board)[14:] == ["", ""]


async def test_a_light_renders_only_the_row_of_its_string() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        board = app.board
        board.show(change("Am", "C"))
        await pilot.pause()
        before = shown(board)
        board.rendered.clear()
        board.light(3, Sign.HEARD)
        await pilot.pause()
        assert board.rendered == [5]
        after = shown(board)
        assert [y for y in range(12) if before[y] != after[y]] == [5]
        assert after[5].endswith("♪")
        assert style_of(board, 5, "─").color == Color.parse(ROLES["good"]).rich_color
        assert style_of(board, 3, "─").color == Color.parse(ROLES["dim"]).rich_color


async def test_a_light_finds_its_row_inside_padding_and_border() -> None:
    app = BoardApp(css="Watched { border: solid red; padding: 1 3; }")
    async with app.run_test(size=(90, 18)) as pilot:
        board = app.board
        board.show(change("Am", "C"))
        await pilot.pause()
        board.rendered.clear()
        board.light(1, Sign.WRONG)
        await pilot.pause()
        assert board.rendered == [2]
        assert shown(board)[2].endswith("≠")
        # What the terminal got: below one row of border and one of padding.
        screen = app.screen._compositor.render_strips()
        assert [y for y, strip in enumerate(screen) if "≠" in strip.text] == [4]


async def test_every_light_has_its_own_mark_and_goes_out() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        board = app.board
        board.show(change("Am", "C"))
        await pilot.pause()
        before = shown(board)
        for string, sign in ((1, Sign.HEARD), (2, Sign.WRONG), (3, Sign.MISSING)):
            board.light(string, sign)
            assert shown(board)[2 * string - 1].endswith(MARKS[sign].fine.strip())
        assert dict(board.lights) == {1: Sign.HEARD, 2: Sign.WRONG, 3: Sign.MISSING}
        board.show_lights({})
        assert shown(board) == before
        board.light(1, Sign.HEARD)
        board.show(change("C", "F"))
        assert not board.lights
        with pytest.raises(ValueError, match="kept is no light"):
            board.light(1, Sign.KEPT)


async def test_lights_before_anything_is_shown_are_no_trouble() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)):
        app.board.light(2, Sign.HEARD)
        app.board.light(2, None)
        assert shown(app.board) == [""] * 12
        assert app.board.fits(1, 1)


async def test_colours_follow_the_theme() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        app.board.show(change("Am", "C"))
        await pilot.pause()
        assert style_of(app.board, 3, "█").color == Color.parse(ROLES["kept"]).rich_color
        assert style_of(app.board, 9, "[").color == Color.parse(ROLES["cross"]).rich_color
        app.theme = "two"
        await pilot.pause()
        assert style_of(app.board, 3, "█").color == Color.parse("#ff0000").rich_color


async def test_without_colour_no_colour_is_sent_and_every_mark_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = BoardApp(ansi=True)
    async with app.run_test(size=(78, 12)) as pilot:
        app.theme = "ansi-dark"
        app.board.show(change("D7", "G"))
        await pilot.pause()
        picture = draw(change("D7", "G"), GUITAR, 78, 12)
        assert picture is not None
        screen = app.screen._compositor.render_strips()
        for strip, line in zip(screen, lines(picture), strict=True):
            assert strip.text.strip() == line.strip()
            for part in app._filters:
                if part.enabled:
                    strip = strip.apply_filter(part, Color.parse("black"))
            for segment in strip:
                style = segment.style or Style()
                assert style.color is None or style.color.is_default
                assert style.bgcolor is None or style.bgcolor.is_default


def test_a_tint_needs_two_mixable_colours() -> None:
    mixable = Style.parse("#ff0000 on #000000")
    tinted = filled(mixable, Fill.TINT)
    assert tinted.color == mixable.color
    assert tinted.bgcolor is not None
    assert tinted.bgcolor.triplet == (71, 0, 0)
    ansi = Style.parse("red on default")
    assert filled(ansi, Fill.TINT) == ansi
    assert filled(ansi, Fill.SOLID).reverse
    assert filled(ansi, Fill.NONE) == ansi


async def test_a_new_look_is_drawn_at_once() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        app.board.show(change("Am", "C"))
        await pilot.pause()
        app.board.look = Look(glyphs=ASCII)
        await pilot.pause()
        assert all(line.isascii() for line in shown(app.board))
        app.board.look = Look(mode=Mode.HIDDEN)
        await pilot.pause()
        assert not any("█" in line for line in shown(app.board))


async def test_it_is_drawn_anew_for_a_new_room_and_says_when_there_is_none() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        board = app.board
        board.show(change("Am", "C"))
        await pilot.pause()
        assert board.fits(78, 12)
        assert not board.fits(20, 12)
        await pilot.resize_terminal(118, 22)
        assert any("rings" in line for line in shown(board))
        await pilot.resize_terminal(26, 5)
        assert [line.strip() for line in shown(board) if line] == [TOO_SMALL]
        board.light(1, Sign.HEARD)


async def test_frets_stay_where_they_cover_the_next_change() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        board = app.board
        board.show(change("Am", "C"), window=Window(1, 7))
        await pilot.pause()
        assert shown(board)[0].split() == ["I", "2", "3", "4", "5", "6", "7"]
        board.show(change("C", "F"))
        await pilot.pause()
        assert shown(board)[0].split() == ["I", "2", "3", "4", "5", "6", "7"]


async def test_showing_the_same_change_again_puts_out_lights_and_renders_only_them() -> None:
    app = BoardApp()
    async with app.run_test(size=(78, 12)) as pilot:
        board, moved = app.board, change("Am", "C")
        board.show(moved)
        board.light(4, Sign.HEARD)
        await pilot.pause()
        board.rendered.clear()
        board.show(moved)
        await pilot.pause()
        assert board.rendered == [7]


def test_every_role_has_a_component_class() -> None:
    assert {f"board--{role}" for role in Role} == Board.COMPONENT_CLASSES


class MiniApp(App[None]):
    def get_theme_variable_defaults(self) -> dict[str, str]:
        return ROLES

    def compose(self) -> ComposeResult:
        yield Mini()


async def test_the_small_diagram_is_as_large_as_it_needs_to_be() -> None:
    app = MiniApp()
    async with app.run_test(size=(40, 12)) as pilot:
        mini = app.query_one(Mini)
        assert mini.size == (0, 0)
        mini.show(stock_shape("C"))
        await pilot.pause()
        assert mini.size == (16, 6)
        assert [mini.render_line(y).text for y in range(6)] == [
            "     ×     ○   ○",
            "     ═══════════",
            "     │ │ │ │ 1 │",
            "     │ │ 2 │ │ │",
            "     │ 3 │ │ │ │",
            "     │ │ │ │ │ │",
        ]
        mini.look = Look(glyphs=UNICODE, left_handed=True)
        await pilot.pause()
        assert mini.render_line(0).text == "○   ○     ×     "
        mini.show(None)
        await pilot.pause()
        assert mini.size == (0, 0)
