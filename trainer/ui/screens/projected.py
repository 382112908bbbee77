"""A screen that is one picture for the whole room to see, and a row of keys."""

from __future__ import annotations

from textual.app import ComposeResult

from trainer.ui.room.picture import LEAST
from trainer.ui.screens.base import CommandScreen
from trainer.ui.widgets.keybar import KeyBar
from trainer.ui.widgets.lines import TooSmall
from trainer.ui.widgets.room import RoomView


class Projected(CommandScreen):
    """What a class sees on the wall: no top line, no words below it."""

    # The bar of keys takes a row more than the picture needs.
    least = (LEAST[0], LEAST[1] + 1)

    def compose(self) -> ComposeResult:
        """Lay out the picture and the keys, and nothing else."""
        yield RoomView(self.services.look)
        yield KeyBar(self.place)
        yield TooSmall()
