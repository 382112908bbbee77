"""Help: every key of the command table, every mark of the mark table, and the cautions."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from trainer.ui.board.marks import MARKS
from trainer.ui.commands import Call, Place, commands_of, key_text, keys_of
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

_ORDER = (Place.DRILL, Place.HOME, Place.LIBRARY, Place.MAKE, Place.PROGRESS, Place.SETTINGS, Place.HELP)


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
            yield Static(Content("\n").join(self._lines()))

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

    def _lines(self) -> Iterator[Content]:
        places = sorted(
            (place for place in _ORDER if place is not Place.HELP), key=lambda place: place is not self._from
        )
        for place in (places[0], Place.EVERYWHERE, *places[1:]):
            yield from self._keys(place)
        yield from self._marks()
        yield Content.styled("Mind your hands", "bold")
        yield from (Content(f"  {caution}") for caution in CAUTIONS)

    def _keys(self, place: Place) -> Iterator[Content]:
        yield Content.styled(f"Keys: {place}", "bold")
        for command in commands_of(place):
            if command.place is place:
                keys = "  ".join(key_text(key) for key in keys_of(command, self.services.settings.keys))
                yield Content.assemble(f"  {keys:<32} ", command.does)
        yield Content("")

    def _marks(self) -> Iterator[Content]:
        yield Content.styled("Marks on the board", "bold")
        for sign, mark in MARKS.items():
            yield Content(f"  {self.services.look.glyphs.mark(sign)}   {mark.meaning}")
        yield Content("")
