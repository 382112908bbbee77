"""Our themes as Textual takes them: complete, painted as they say, readable in its own widgets and without colour."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.color import ColorType
from rich.segment import Segment
from rich.style import Style
from textual.app import App, ComposeResult
from textual.color import Color
from textual.pilot import Pilot
from textual.theme import BUILTIN_THEMES
from textual.widgets import DataTable, Input, OptionList
from textual.widgets.input import Selection

from tests.ui.app_fakes import app, rows, services, shows, until
from trainer.files import paths
from trainer.files.colour import contrast
from trainer.files.themes import GROUNDS, INKS, LEAST_CONTRAST, ROLES, load_all
from trainer.log.writer import Log
from trainer.ui import themes
from trainer.ui.app import ChangeoverApp
from trainer.ui.board.canvas import Fill
from trainer.ui.board.view import filled
from trainer.ui.messages import Open
from trainer.ui.services import open_services

SHIPPED, _ = load_all([paths.shipped("themes")])
COLOURED = [name for name, theme in SHIPPED.items() if not theme.terminal]
FINGERS = ("kept", "guide", "cross", "place", "lift", "barre")
LEAST_OF_FIGURES = 3.0
"""WCAG 2.2 asks 3:1 of large text (1.4.3) and of graphics (1.4.11); the figures on a tint are three rows high."""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    monkeypatch.delenv("NO_COLOR", raising=False)
    return tmp_path


@pytest.fixture
def log(home: Path) -> Iterator[Log]:
    with Log.open(paths.log_file()) as opened:
        yield opened


class Stock(App[None]):
    """Textual's own widgets that our screens use, with no style of ours."""

    # Where the colours are the terminal's, Textual itself paints a table's head in one of them.
    CSS = "DataTable > .datatable--header { background: $panel; color: $foreground; }"

    def __init__(self, theme: str, *, ansi: bool | None = None) -> None:
        super().__init__(ansi_color=ansi)
        themes.register(self, SHIPPED)
        self.theme = theme

    def compose(self) -> ComposeResult:
        yield Input("written here", select_on_focus=False)
        yield Input(placeholder="to be written")
        yield OptionList("option a", "option b")
        yield DataTable[str](cursor_type="row", zebra_stripes=True)

    def on_mount(self) -> None:
        table = self.query_one(DataTable)
        table.add_columns("head", "other")
        for row in "abc":
            table.add_row(f"row {row}", "cell")
        self.query(Input).first().cursor_blink = False
        self.query(Input).first().selection = Selection(0, 7)


def sent(pilot: Pilot[None]) -> list[tuple[str, Style]]:
    """Return the texts of the screen, each with the style it is sent in."""
    found = []
    for strip in pilot.app.screen._compositor.render_strips():
        for line_filter in pilot.app._filters:
            if line_filter.enabled:
                strip = strip.apply_filter(line_filter, Color.parse("black"))
        found += [read(segment) for segment in strip if any(letter.isalnum() for letter in segment.text)]
    return found


def read(segment: Segment) -> tuple[str, Style]:
    return segment.text.strip(), segment.style or Style()


def style_of(pilot: Pilot[None], text: str) -> Style:
    return next(style for found, style in sent(pilot) if found == text)


def has_colour(style: Style) -> bool:
    return any(colour is not None and not colour.is_default for colour in (style.color, style.bgcolor))


# Converted.


@pytest.mark.parametrize("name", SHIPPED)
def test_every_role_is_a_variable(name: str) -> None:
    variables = themes.to_textual(SHIPPED[name]).variables
    assert {role: variables[role] for role in ROLES} == dict(SHIPPED[name].colours)


@pytest.mark.parametrize("name", SHIPPED)
def test_nothing_is_missing_that_a_theme_of_textual_has(name: str) -> None:
    own = themes.to_textual(SHIPPED[name])
    like = BUILTIN_THEMES["ansi-dark" if own.ansi else "textual-dark"]
    variables = own.to_color_system().generate() | own.variables
    assert set(like.to_color_system().generate() | like.variables) <= set(variables)


@pytest.mark.parametrize("name", SHIPPED)
def test_every_variable_is_a_colour_or_a_style(name: str) -> None:
    for variable, value in themes.to_textual(SHIPPED[name]).variables.items():
        if variable.endswith("-text-style"):
            assert set(value.split()) <= {"bold", "reverse", "underline", "none"}
        else:
            Color.parse(value)


def test_a_theme_that_is_not_there_gives_way_to_the_first() -> None:
    first = next(iter(SHIPPED))
    assert themes.known("no-such-theme", SHIPPED) == first
    assert themes.known("white-wall", SHIPPED) == "white-wall"
    assert themes.known("anything", {}) == themes.PLAIN


# Painted.


@pytest.mark.parametrize("name", SHIPPED)
async def test_the_app_starts_in_its_colours(name: str, log: Log) -> None:
    async with app(services(log, theme=name)).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "starts"))
        assert pilot.app.theme == name
        variables = pilot.app.theme_variables
        assert {role: variables[role] for role in ROLES} == dict(SHIPPED[name].colours)
        kinds = {colour.type for _, style in sent(pilot) for colour in (style.color, style.bgcolor) if colour}
        own = {ColorType.DEFAULT, ColorType.STANDARD}
        assert kinds <= own if SHIPPED[name].terminal else kinds == {ColorType.TRUECOLOR}


@pytest.mark.parametrize("name", COLOURED)
@pytest.mark.parametrize("focused", [Input, OptionList, DataTable])
async def test_textuals_own_widgets_can_be_read(
    name: str, focused: type[Input] | type[OptionList] | type[DataTable[str]]
) -> None:
    async with Stock(name).run_test(size=(60, 24)) as pilot:
        pilot.app.query(focused).first().focus()
        await pilot.pause()
        texts = sent(pilot)
        words = " ".join(text for text, _ in texts)
        assert all(word in words for word in ("written", "here", "to be written", "option a", "head", "row a"))
        badly = {}
        for text, style in texts:
            assert style.color is not None
            assert style.bgcolor is not None
            ratio = contrast(style.color.get_truecolor().hex, style.bgcolor.get_truecolor().hex)
            if ratio < LEAST_CONTRAST:
                badly[text] = ratio
        assert badly == {}


@pytest.mark.parametrize("name", COLOURED)
def test_figures_on_a_tint_of_their_own_colour_can_be_seen(name: str) -> None:
    colours = SHIPPED[name].colours
    for role in FINGERS:
        style = filled(Style.parse(f"{colours[role]} on {colours['background']}"), Fill.TINT)
        assert style.bgcolor is not None
        tint = style.bgcolor.get_truecolor().hex
        assert tint != colours["background"]
        assert contrast(colours[role], tint) >= LEAST_OF_FIGURES, role


# The terminal's own colours, and none.


async def test_the_terminals_ink_is_never_put_on_one_of_its_colours() -> None:
    for focused in (Input, OptionList, DataTable):
        async with Stock("own-terminal").run_test(size=(60, 24)) as pilot:
            pilot.app.query(focused).first().focus()
            await pilot.pause()
            for text, style in sent(pilot):
                assert style.color is not None
                assert style.bgcolor is not None
                assert not style.color.is_default or style.bgcolor.is_default, text


@pytest.mark.parametrize("name", ["own-terminal", themes.PLAIN])
async def test_what_is_chosen_is_seen_without_its_colour(name: str) -> None:
    async with Stock(name).run_test(size=(60, 24)) as pilot:
        pilot.app.query_one(OptionList).focus()
        await pilot.pause()
        assert style_of(pilot, "option a").underline
        assert not style_of(pilot, "option b").underline
        pilot.app.query_one(DataTable).focus()
        await pilot.pause()
        assert style_of(pilot, "row a").reverse
        assert not style_of(pilot, "row b").reverse


async def test_with_no_color_no_colour_is_sent_and_the_cursor_is_seen(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with Stock(themes.PLAIN, ansi=True).run_test(size=(60, 24)) as pilot:
        pilot.app.query(Input).first().focus()
        pilot.app.query(Input).first().selection = Selection.cursor(2)
        await pilot.pause()
        assert [text for text, style in sent(pilot) if has_colour(style)] == []
        assert style_of(pilot, "i").reverse
        assert not style_of(pilot, "wr").reverse


async def test_with_no_color_a_selection_is_seen_and_where_the_cursor_is(
    log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with app(services(log), "library").run_test(size=(80, 24)) as pilot:
        await pilot.press(*"barre", "left", "left", "shift+left", "shift+left")
        line = pilot.app.screen.query_one(Input)
        line.cursor_blink = False
        assert line.selection == Selection(3, 1)
        await until(pilot, lambda: style_of(pilot, "r").underline is True)
        assert not style_of(pilot, "b").underline
        assert not style_of(pilot, "re").underline
        assert style_of(pilot, "a").reverse
        assert not style_of(pilot, "r").reverse
        assert [text for text, style in sent(pilot) if has_colour(style)] == []


@pytest.mark.parametrize("name", SHIPPED)
async def test_with_no_color_the_app_takes_the_plain_theme_whatever_is_set(
    name: str, log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with app(services(log, theme=name)).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "starts"))
        assert pilot.app.theme == themes.PLAIN
        assert [text for text, style in sent(pilot) if has_colour(style)] == []


# Files of the player's own.


def theme_text(name: str, kept: str) -> str:
    colours = dict.fromkeys(INKS, "#f0f0f0") | dict.fromkeys(GROUNDS, "#101010") | {"kept": kept}
    lines = [f'{role} = "{colour}"' for role, colour in colours.items()]
    return "\n".join(["format = 1", f'name = "{name}"', 'about = "ours"', "dark = true", "[colours]", *lines, ""])


async def test_a_players_theme_reaches_textual_only_where_every_colour_is_one(home: Path) -> None:
    first = next(iter(SHIPPED))
    paths.themes_dir().mkdir()
    for file, name, kept in (("a", "sound", "#123456"), ("b", "broken", "#12345"), ("c", first, "teal-ish")):
        (paths.themes_dir() / f"{file}.toml").write_text(theme_text(name, kept), encoding="utf-8")
    paths.settings_file().write_text('theme = "broken"\n', encoding="utf-8")
    given = open_services()
    async with ChangeoverApp(given, Open("home")).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "starts"))
        assert "broken" not in pilot.app.available_themes
        assert pilot.app.available_themes["sound"].variables["kept"] == "#123456"
        assert pilot.app.theme == first, "there is no such theme, so it is the first"
        assert pilot.app.theme_variables["kept"] == SHIPPED[first].colours["kept"], "a bad one replaces nothing"
        assert rows(pilot)[0]
    told = {Path(problem.file or "").name: problem.key for problem in given.problems}
    assert told == {"settings.toml": "theme", "b.toml": "colours.kept", "c.toml": "colours.kept"}
    given.close()


def test_no_file_can_take_the_plain_themes_name(home: Path) -> None:
    paths.themes_dir().mkdir()
    (paths.themes_dir() / "a.toml").write_text(theme_text(themes.PLAIN, "#ffffff"), encoding="utf-8")
    found, problems = load_all()
    assert list(found) == list(SHIPPED)
    assert [problem.key for problem in problems] == ["name"]


# Told to who chooses.


async def test_the_settings_tell_how_well_the_theme_reads(log: Log, home: Path) -> None:
    paths.themes_dir().mkdir()
    (paths.themes_dir() / "a.toml").write_text(theme_text("faint", "#5f5f5f"), encoding="utf-8")
    given = services(log, theme="faint")
    async with app(given, "settings").run_test(size=(80, 24)) as pilot:
        # By WCAG 2.2's definition, in which #5f5f5f has luminance 0.1144 and #101010 0.0052: 0.1644 / 0.0552.
        await until(pilot, lambda: shows(pilot, "It reads badly: kept on background has contrast 2.97, 4.5 is enough"))
        given.change(theme="back-room")
        await pilot.press("down", "up")
        await until(pilot, lambda: shows(pilot, "Worst to read: dim on panel has contrast 5.41"))
        given.change(theme="own-terminal")
        await pilot.press("down", "up")
        await until(pilot, lambda: shows(pilot, "how well they read is your"))
