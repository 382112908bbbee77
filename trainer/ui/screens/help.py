"""Help: every key of the command table, every mark of the mark table, and the cautions."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest
from textwrap import wrap

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from trainer.ui.board.marks import MARKS
from trainer.ui.command import Call, Place, key_text, keys_of
from trainer.ui.commands import commands_of
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services

CAUTIONS = (
    "Pain, numbness or tingling: stop at once, and have it looked at by a doctor or physiotherapist.",
    "Warm up, away from the instrument first; begin slow and small; raise the load little by little.",
    "Stretches and barres: never force one, keep to short spells, and rest the hand between them.",
    "Take at least ten minutes' break in every hour. A small hand needs other fingerings, not more force.",
    "This program measures time, not health; a teacher or a licensed practitioner knows more than it does.",
)
"""What every player should mind (common advice of musicians' medicine; it gives no medical advice)."""

_LEFT = 24
"""Cells of the column of keys."""
_ORDER = (
    Place.DRILL,
    Place.HOME,
    Place.LIBRARY,
    Place.MAKE,
    Place.SCORES,
    Place.SCORE,
    Place.GUITAR,
    Place.PROGRESS,
    Place.HAND,
    Place.PLAN,
    Place.BENCH,
    Place.WARMUP,
    Place.ROOM,
    Place.MARKS,
    Place.SETTINGS,
    Place.LATENCY,
    Place.HELP,
)


class HelpScreen(CommandScreen):
    """Everything there is to press and to read."""

    place = Place.HELP
    CSS_PATH = "help.tcss"
    heading = "Help"

    def __init__(self, services: Services, place: Place = Place.HOME) -> None:
        """Begin with the keys of `place`, where the player comes from."""
        super().__init__(services)
        self._from = place

    def body(self) -> ComposeResult:
        """Lay out the page."""
        with VerticalScroll(can_focus=False):
            yield Static(id="page")

    def on_resize(self, event: events.Resize) -> None:
        """Lay the page out for this width."""
        rows = (line for row in self._rows() for line in _laid_out(*row, width=event.size.width - 4))
        self.query_one("#page", Static).update(Content("\n").join(rows))

    def do_scroll_up(self, _: Call) -> None:
        """Scroll a line up."""
        self.query_one(VerticalScroll).scroll_up(animate=False)

    def do_scroll_down(self, _: Call) -> None:
        """Scroll a line down."""
        self.query_one(VerticalScroll).scroll_down(animate=False)

    def do_scroll_page_up(self, _: Call) -> None:
        """Scroll a page up."""
        self.query_one(VerticalScroll).scroll_page_up(animate=False)

    def do_scroll_page_down(self, _: Call) -> None:
        """Scroll a page down."""
        self.query_one(VerticalScroll).scroll_page_down(animate=False)

    def _rows(self) -> Iterator[tuple[str, str]]:
        """Yield rows of a key or mark and what it means; a row without the second is a heading."""
        places = sorted(
            (place for place in _ORDER if place is not Place.HELP), key=lambda place: place is not self._from
        )
        for place in (places[0], Place.EVERYWHERE, *places[1:]):
            keys = list(self._keys(place))
            if keys:
                yield f"Keys: {place}", ""
                yield from keys
        yield "Marks on the board", ""
        yield from ((self.services.look.glyphs.mark(sign), mark.meaning) for sign, mark in MARKS.items())
        yield "Mind your hands", ""
        yield from (("", caution) for caution in CAUTIONS)

    def _keys(self, place: Place) -> Iterator[tuple[str, str]]:
        for command in commands_of(place):
            if command.place is place:
                keys = keys_of(command, self.services.settings.keys)
                yield ", ".join(key_text(key) for key in keys), command.does


def _laid_out(left: str, right: str, width: int) -> Iterator[Content]:
    """Yield the lines of one row: what is at the right keeps to its own column."""
    if not right:
        yield Content("")
        yield Content.styled(left, "bold")
        return
    lefts = wrap(left, _LEFT) or [""]
    rights = wrap(right, max(width - _LEFT - 4, 20))
    for first, second in zip_longest(lefts, rights, fillvalue=""):
        yield Content(f"  {first:<{_LEFT}}  {second}")
