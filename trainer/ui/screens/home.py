"""The home screen: one thing to do is highlighted; what else there is stands below it."""

from __future__ import annotations

from textual import work
from textual.app import ComposeResult
from textual.worker import get_current_worker

from trainer.errors import ChangeoverError, Problem
from trainer.files.library import library, titled
from trainer.ui.board.widget import Board
from trainer.ui.command import Call, Place
from trainer.ui.drilling.passings import Passings
from trainer.ui.messages import Open
from trainer.ui.offers import FEWEST, LEFT_OFF, Offer, first_offer, offers
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.choices import Choices
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words

AT_ONCE_BYTES = 1 << 20
"""A log that is no longer is read before the first frame; a longer one would keep it waiting (5,000 changes or so)."""
WELCOME = "Two presses time a change: one when your fingers leave the shape, one when the next is down."
"""Said to somebody who has not played yet."""


class HomeScreen(CommandScreen):
    """Where the player begins."""

    place = Place.HOME
    CSS_PATH = "home.tcss"
    heading = "Changeover"

    def __init__(self, services: Services) -> None:
        """Offer nothing yet."""
        super().__init__(services)
        self._offers: tuple[Offer, ...] = ()
        self._in_log: tuple[Problem, ...] = ()
        self._in_drills: tuple[Problem, ...] = ()

    def body(self) -> ComposeResult:
        """Lay out what is seen."""
        yield Choices(fine=self.fine)
        yield Board(look=self.services.look)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Look through the player's own drills."""
        self.call_after_refresh(self._check_drills)

    def on_screen_resume(self) -> None:
        """Offer what is worth practising now."""
        self.query_one(Board).look = self.services.look
        self.query_one(Choices).fine = self.fine
        path = self.services.log_path
        size = path.stat().st_size if path.exists() else 0
        if size < AT_ONCE_BYTES:
            self._offer(*self._read_log())
            self._plan_today()
        else:
            self._read_long_log()

    def do_start(self, _: Call) -> None:
        """Drill what is highlighted."""
        self._start()

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
        self._start()

    def do_library(self, _: Call) -> None:
        """Show all drills."""
        self.post_message(Open("library"))

    def do_make(self, _: Call) -> None:
        """Make a change."""
        self.post_message(Open("make"))

    def do_scores(self, _: Call) -> None:
        """Look for a score."""
        self.post_message(Open("scores"))

    def do_warmup(self, _: Call) -> None:
        """Warm up."""
        self.post_message(Open("warmup"))

    def do_room(self, _: Call) -> None:
        """Show what is highlighted to a class."""
        if self._offers:
            self.post_message(Open("room", drill=self._offers[self.query_one(Choices).chosen].drill))

    def do_progress(self, _: Call) -> None:
        """Show how fast each change has become."""
        self.post_message(Open("progress"))

    def do_settings(self, _: Call) -> None:
        """Show the settings."""
        self.post_message(Open("settings"))

    @work(thread=True, exclusive=True, group="log")
    def _read_long_log(self) -> None:
        """Read the log away from the screen."""
        self.from_thread(self._offer, *self._read_log())
        self.from_thread(self._plan_today)

    @work(thread=True, exclusive=True, group="today")
    def _plan_today(self) -> None:
        """Plan today's practice away from the screen, and offer it first."""
        if not self.services.log_path.exists():
            return
        from trainer.log.history import reading
        from trainer.ui.planned import plan_for
        from trainer.ui.today import offers_of

        own, today = self.services.settings, self.services.today
        try:
            with reading(self.services.log_path) as history:
                made = plan_for(history, self.services.hand, today, own.goal_tempo, own.minutes, FEWEST)
        except ChangeoverError:
            return  # it was said when the log was read for what was left off
        self.from_thread(self._offer_today, offers_of(made))

    def _offer_today(self, today: tuple[Offer, ...]) -> None:
        """Put today's practice first, below it where the player left off; what was highlighted by hand stays so."""
        if not today or not self._offers:
            return
        choices = self.query_one(Choices)
        chosen = self._offers[choices.chosen] if choices.chosen else None
        left_off = tuple(offer for offer in self._offers if offer.why == LEFT_OFF)
        new = (*today, *left_off)
        kept = next((number for number, offer in enumerate(new) if offer == chosen), 0)
        self._offer(new, self._in_log)
        choices.move(kept - choices.chosen)
        self._highlight()

    def _read_log(self) -> tuple[tuple[Offer, ...], tuple[Problem, ...]]:
        """Return what is worth practising by what the log holds, and why it could not be read."""
        if not self.services.log_path.exists():
            return (first_offer(),), ()
        from trainer.log.history import reading

        try:
            with reading(self.services.log_path) as history:
                return offers(history, titled, self.services.kept.targets), ()
        except ChangeoverError as error:
            return (first_offer(),), error.problems

    @work(thread=True, exclusive=True, group="drills")
    def _check_drills(self) -> None:
        """Read the player's own drills, to tell at once of one that cannot be used."""
        worker, shelf = get_current_worker(), library()
        found = list(shelf.problems)
        for entry in shelf.entries:
            if worker.is_cancelled:  # nobody is kept waiting at the end
                return
            if not entry.ships:
                found += (problem for problem in entry.load(self.services.hand)[1] if not problem.warning)
        self.from_thread(self._tell, tuple(found))

    def _offer(self, found: tuple[Offer, ...], problems: tuple[Problem, ...] = ()) -> None:
        self._offers = found
        self.query_one(Choices).show(tuple((offer.what, offer.why) for offer in found))
        self._in_log = problems
        self._highlight()

    def _tell(self, problems: tuple[Problem, ...]) -> None:
        self._in_drills = problems
        self._highlight()

    def _start(self) -> None:
        if self._offers:
            offer = self._offers[self.query_one(Choices).chosen]
            self.post_message(Open("drill", drill=offer.drill, mode=offer.mode, tempo=offer.tempo, given=offer.given))

    def _highlight(self) -> None:
        """Show the first change of what is highlighted, and how to start it."""
        if not self._offers:
            return
        offer = self._offers[self.query_one(Choices).chosen]
        passing = Passings(offer.drill, self.services.hand)[offer.drill.pairs[0]]
        self.query_one(Board).show(passing.change, offer.drill.instrument)
        kept = self.services.log_problem
        log = self._in_log if kept is None else (kept,)
        problems = in_one_line((*log, *self.services.problems, *self._in_drills))
        because = WELCOME if offer.first else offer.because
        self.query_one(Words).show(passing.words, problems or because, warn=bool(problems))
        self.query_one(Prompt).show(self.first_key("start"), f"starts {offer.what}.")


def in_one_line(problems: tuple[Problem, ...]) -> str:
    """Return the first of `problems` and how many more there are; nothing where there is none."""
    if not problems:
        return ""
    more = f" And {len(problems) - 1} more: 'changeover check' lists them." if len(problems) > 1 else ""
    return f"{problems[0]}.{more}"
