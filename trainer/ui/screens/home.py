"""The home screen: one thing to do is highlighted; what else there is stands below it."""

from __future__ import annotations

from textual.app import ComposeResult

from trainer.errors import ChangeoverError, Problem
from trainer.ui.board.widget import Board
from trainer.ui.commands import Call, Place
from trainer.ui.drilling.passings import Passings
from trainer.ui.messages import Open
from trainer.ui.offers import Offer, first_offer, offers
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.choices import Choices
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words


class HomeScreen(CommandScreen):
    """Where the player begins."""

    place = Place.HOME
    CSS_PATH = "home.tcss"
    heading = "Changeover"

    def __init__(self, services: Services) -> None:
        """Offer nothing yet."""
        super().__init__(services)
        self._offers: tuple[Offer, ...] = ()
        self._problems = ""

    def body(self) -> ComposeResult:
        """Lay out what is seen."""
        yield Choices()
        yield Board(look=self.services.look)
        yield Words()
        yield Prompt()

    def on_screen_resume(self) -> None:
        """Offer what is worth practising now."""
        super().on_screen_resume()
        problems = list(self.services.problems)
        try:
            self._offers = self._read()
        except ChangeoverError as error:
            self._offers = (first_offer(),)
            problems += error.problems
        self.query_one(Choices).show(tuple((offer.what, offer.why) for offer in self._offers))
        self._problems = _in_one_line(problems)
        self._highlight()

    def do_start(self, _: Call) -> None:
        """Drill what is highlighted."""
        offer = self._chosen
        self.post_message(Open("drill", drill=offer.drill, mode=offer.mode))

    def do_up(self, _: Call) -> None:
        """Highlight the line above."""
        self.query_one(Choices).move(-1)
        self._highlight()

    def do_down(self, _: Call) -> None:
        """Highlight the line below."""
        self.query_one(Choices).move(1)
        self._highlight()

    def on_choices_chosen(self, _: Choices.Chosen) -> None:
        """Drill what was clicked."""
        offer = self._chosen
        self.post_message(Open("drill", drill=offer.drill, mode=offer.mode))

    def do_library(self, _: Call) -> None:
        """Show all drills."""
        self.post_message(Open("library"))

    def do_make(self, _: Call) -> None:
        """Make a change."""
        self.post_message(Open("make"))

    def do_progress(self, _: Call) -> None:
        """Show how fast each change has become."""
        self.post_message(Open("progress"))

    def do_settings(self, _: Call) -> None:
        """Show the settings."""
        self.post_message(Open("settings"))

    @property
    def _chosen(self) -> Offer:
        return self._offers[self.query_one(Choices).chosen]

    def _read(self) -> tuple[Offer, ...]:
        path = self.services.log.path
        if not path.exists():
            return (first_offer(),)
        from trainer.files.library import titled
        from trainer.log.history import reading

        with reading(path) as history:
            return offers(history, titled)

    def _highlight(self) -> None:
        """Show the first change of what is highlighted, and how to start it."""
        offer = self._chosen
        passing = Passings(offer.drill, self.services.hand)[offer.drill.pairs[0]]
        self.query_one(Board).show(passing.change, offer.drill.instrument)
        self.query_one(Words).show(passing.words, self._problems, warn=True)
        self.query_one(Prompt).show("ENTER", f"starts {offer.what}.")


def _in_one_line(problems: list[Problem]) -> str:
    if not problems:
        return ""
    more = f"  (and {len(problems) - 1} more: changeover check)" if len(problems) > 1 else ""
    return f"{problems[0]}{more}"
