"""Everything painted on every screen can be read in every theme: contrast by WCAG 2.2, as level AA asks it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.color import Color as RichColor
from rich.color import ColorSystem
from rich.style import Style
from textual.color import Color
from textual.pilot import Pilot

from tests.ui.reach_scenes import SCENES, SIZES, Scene, seed, seen
from trainer.files import paths
from trainer.files.colour import contrast
from trainer.files.themes import GROUNDS, INKS, load_all
from trainer.log.writer import Log

SHIPPED, _ = load_all([paths.shipped("themes")])
THEMES = [name for name, theme in SHIPPED.items() if not theme.terminal]
OF_TEXT = 4.5
"""WCAG 2.2, 1.4.3 Contrast (Minimum), level AA."""
OF_DRAWING = 3.0
"""WCAG 2.2, 1.4.11 Non-text Contrast, level AA: marks, lines and blocks, no letter or digit among them."""


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.delenv("NO_COLOR", raising=False)
    with Log.open(paths.log_file()) as opened:
        seed(opened)
        yield opened


def painted(pilot: Pilot[None]) -> Iterator[tuple[str, Style]]:
    """Yield every text of the screen that is not blank, in the style it is sent in."""
    for strip in pilot.app.screen._compositor.render_strips():
        for line_filter in pilot.app._filters:
            if line_filter.enabled:
                strip = strip.apply_filter(line_filter, Color.parse("black"))
        yield from ((one.text, one.style or Style()) for one in strip if one.text.strip())


def ratio(style: Style) -> float:
    assert style.color is not None
    assert style.bgcolor is not None
    assert not style.dim, "a terminal makes of it what it likes"
    return contrast(style.color.get_truecolor().hex, style.bgcolor.get_truecolor().hex)


def least(text: str) -> float:
    return OF_TEXT if any(sign.isalnum() for sign in text) else OF_DRAWING


@pytest.mark.parametrize(
    ("scene", "size"),
    [
        *((scene, SIZES[1]) for scene in SCENES),
        # Where there is more room, boards are drawn in other marks.
        *((scene, SIZES[2]) for scene in SCENES if scene.screen in {"home", "drill", "bench", "room", "marks"}),
    ],
    ids=lambda one: one.name if isinstance(one, Scene) else f"{one[0]}x{one[1]}",
)
async def test_all_that_is_painted_can_be_read_in_every_theme(scene: Scene, size: tuple[int, int], log: Log) -> None:
    async with seen(scene, log, size) as pilot:
        badly: dict[tuple[str, str], float] = {}
        for theme in THEMES:
            pilot.app.theme = theme
            await pilot.pause()
            found = list(painted(pilot))
            assert len(found) > 5
            badly |= {
                (theme, text.strip()): round(got, 2) for text, style in found if (got := ratio(style)) < least(text)
            }
        assert badly == {}


def as_sent(colour: str) -> str:
    """Return what a terminal of 256 colours is sent for `colour`, by Rich, which Textual draws with."""
    return RichColor.parse(colour).downgrade(ColorSystem.EIGHT_BIT).get_truecolor().hex


@pytest.mark.parametrize("name", THEMES)
def test_every_theme_can_be_read_where_a_terminal_has_256_colours(name: str) -> None:
    colours = SHIPPED[name].colours
    badly = {
        (role, ground): round(got, 2)
        for role in INKS
        for ground in GROUNDS
        if (got := contrast(as_sent(colours[role]), as_sent(colours[ground]))) < OF_TEXT
    }
    assert badly == {}
