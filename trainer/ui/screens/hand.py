"""What costs this hand most, as its own times tell, and how far that can be trusted."""

from __future__ import annotations

from textual.app import ComposeResult

from trainer.ui.command import Place
from trainer.ui.loop import LoopScheduler
from trainer.ui.progress.costs import Costs, costs, draw
from trainer.ui.screens.base import CommandScreen
from trainer.ui.widgets.plot import Plot
from trainer.ui.widgets.words import Words


class HandScreen(CommandScreen):
    """One hand, learned from the practice log."""

    place = Place.HAND
    CSS_PATH = "hand.tcss"
    heading = "What costs your hand most"

    def body(self) -> ComposeResult:
        """Lay out the rows and the words."""
        yield Words()
        yield Plot()

    def on_mount(self) -> None:
        """Read the log and reckon, away from the screen."""
        self.query_one(Words).show("Reckoning from your times ...")
        log, hand = self.services.log_path, self.services.hand
        LoopScheduler(self.services.clock, self.fail).aside(lambda: costs(log, hand), self._show)

    def _show(self, found: Costs) -> None:
        if self.is_mounted:
            self.query_one(Plot).show(lambda width, _: draw(found.rows, width, fine=self.fine))
            self.query_one(Words).show(
                "" if found.wrong else found.said, found.said if found.wrong else found.trust, warn=found.wrong
            )
