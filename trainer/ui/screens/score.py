"""Bars of a score: which, what shapes they come to, seen on the board while they are chosen; then drilled or kept."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from trainer.errors import Problem
from trainer.practice.drill import Drill
from trainer.ui.board.widget import Board
from trainer.ui.choosing import words as say
from trainer.ui.choosing.asked import Choosing
from trainer.ui.choosing.found import Found, opened, worked_out
from trainer.ui.command import Call, Place
from trainer.ui.drilling.passings import Passings
from trainer.ui.keeping import keep_and_tell
from trainer.ui.loop import LoopScheduler
from trainer.ui.messages import Open
from trainer.ui.screens.base import HEIGHTS, CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.sheet import Sheet
from trainer.ui.widgets.words import Words
from trainer.ui.working_out import WorkingOut

_TICK_S = 0.25
"""How often it is said how long the fingers take."""


class ScoreScreen(CommandScreen):
    """One score."""

    place = Place.SCORE
    CSS_PATH = "score.tcss"
    heading = "Bars of a score"
    VERTICAL_BREAKPOINTS = HEIGHTS

    def __init__(self, services: Services, path: Path) -> None:
        """Read nothing yet."""
        super().__init__(services)
        self._path = path
        self._chosen: Choosing | None = None
        self._found: Found | None = None
        self._at = Fraction(0)
        self._said = ""
        self._working_out: WorkingOut[Choosing, Found] | None = None
        self._passings: Passings | None = None
        self._dead = ""

    def body(self) -> ComposeResult:
        """Lay out what is asked, the bar's strokes, the board, the shapes and the words."""
        yield Static(id="fields", markup=False)
        yield Static(id="strokes", markup=False)
        yield Board(look=self.services.look)
        yield Sheet()
        with VerticalScroll(id="notes", can_focus=False):
            yield Static(id="lines", markup=False)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Read the score, away from the screen."""
        scheduler = LoopScheduler(self.services.clock, self.fail)
        self._working_out = WorkingOut(
            scheduler, self.services.clock, lambda wish: worked_out(self._path, wish), self._have_worked_out
        )
        scheduler.aside(lambda: opened(self._path), self._have_opened)
        self.set_interval(_TICK_S, self._prompt)
        self._show()

    def on_unmount(self) -> None:
        """Wait for nothing any more."""
        if self._working_out is not None:
            self._working_out.leave()

    def on_resize(self, _: Resize) -> None:
        """Show as many shapes as there is room for."""
        self.call_after_refresh(self._show_shapes)

    def show_own_keys(self) -> None:
        """Show the keys of this moment: the same key splits a shape or joins two."""
        found = self._found
        joins = found is not None and self._at in found.begins and self._at != found.strokes[0]
        idle = frozenset({"field_next", "bar_more", "stroke_next", "cut", "score_notes"})
        self.show_keys({"cut": "join"} if joins else None, idle if self._chosen is None else frozenset())

    def do_bar_more(self, _: Call) -> None:
        """The next value."""
        self._choose(lambda chosen: chosen.turned(1))

    def do_bar_less(self, _: Call) -> None:
        """The value before."""
        self._choose(lambda chosen: chosen.turned(-1))

    def do_field_next(self, _: Call) -> None:
        """Change the next value from now on."""
        self._choose(lambda chosen: chosen.moved(1))

    def do_field_before(self, _: Call) -> None:
        """Change the value before."""
        self._choose(lambda chosen: chosen.moved(-1))

    def do_bar_number(self, call: Call) -> None:
        """Type a bar's number."""
        self._choose(lambda chosen: chosen.with_digit(call.key))

    def do_cut(self, _: Call) -> None:
        """Begin a shape at the stroke, or begin none there."""
        found = self._found
        if found is not None and found.excerpt is not None and self._at != found.strokes[0]:
            place, begins = found.place(self._at), self._at not in found.begins
            self._choose(lambda chosen: chosen.cut(place, begins=begins))

    def do_uncut(self, _: Call) -> None:
        """Drop the player's cuts."""
        self._choose(Choosing.uncut)

    def do_stroke_next(self, _: Call) -> None:
        """Go on to the next stroke."""
        self._step(1, self._strokes)

    def do_stroke_before(self, _: Call) -> None:
        """Go back to the stroke before."""
        self._step(-1, self._strokes)

    def do_shape_next(self, _: Call) -> None:
        """Go on to the next shape."""
        self._step(1, self._beginnings)

    def do_shape_before(self, _: Call) -> None:
        """Go back to the shape before."""
        self._step(-1, self._beginnings)

    def do_score_notes(self, _: Call) -> None:
        """Show what was understood and what was not, or the board again."""
        self.toggle_class("-notes")
        self.query_one("#notes").scroll_home(animate=False)

    def do_drill_score(self, _: Call) -> None:
        """Drill the shapes."""
        drill = self._drill
        if drill is not None:
            self.post_message(Open("drill", drill=drill))

    def do_keep_score(self, _: Call) -> None:
        """Keep the shapes as a drill file."""
        drill = self._drill
        if drill is not None:
            self._said = keep_and_tell(drill)
            self._show()

    @property
    def _drill(self) -> Drill | None:
        """The drill of what is asked; None as long as there is none."""
        found, chosen = self._found, self._chosen
        return found.drill if found is not None and chosen is not None and found.asked == chosen.asked else None

    @property
    def _strokes(self) -> tuple[Fraction, ...]:
        return () if self._found is None else self._found.strokes

    @property
    def _beginnings(self) -> tuple[Fraction, ...]:
        return () if self._found is None else tuple(sorted(self._found.begins))

    def _step(self, by: int, places: tuple[Fraction, ...]) -> None:
        """Go to the next of `places`; in the notes, a page on."""
        if self.has_class("-notes"):
            notes = self.query_one("#notes")
            (notes.scroll_page_down if by > 0 else notes.scroll_page_up)(animate=False)
            return
        there = [place for place in places if (place > self._at if by > 0 else place < self._at)]
        if there:
            self._at = there[0] if by > 0 else there[-1]
            self._said = ""
            self._show()

    def _choose(self, change: Callable[[Choosing], Choosing]) -> None:
        """Take on what `change` makes of what is asked, and have it worked out where it is something else."""
        if self._chosen is None or self._working_out is None:
            return
        before, self._chosen = self._chosen, change(self._chosen)
        if self._chosen.asked != before.asked:
            self._said = ""
            self._working_out.ask(self._chosen)
        self._show()

    def _have_opened(self, outcome: Choosing | Problem) -> None:
        if not self.is_attached:
            return
        if isinstance(outcome, Problem):
            self._dead = say.in_app(outcome)
        else:
            self._chosen = outcome
            if self._working_out is not None:
                self._working_out.ask(outcome)
        self._show()

    def _have_worked_out(self, found: Found) -> None:
        if not self.is_attached:
            return
        strokes = found.strokes
        if self._found is None or self._found.asked.first != found.asked.first or self._at not in strokes:
            self._at = strokes[0] if strokes else Fraction(0)
        self._found = found
        self._said = say.refused_cut(found, self._at)
        self._passings = None if found.drill is None else Passings(found.drill, self.services.hand)
        self._show()

    def _show(self) -> None:
        chosen, found = self._chosen, self._found
        title = "" if chosen is None else chosen.score.title
        self.query_one(TopLine).show(title or self._path.name, "" if chosen is None else chosen.bars)
        self.query_one("#fields", Static).update(_row(() if chosen is None else say.field_texts(chosen)))
        bar, texts = ("", ()) if found is None else say.strokes_of_bar(found, self._at, fine=self.fine)
        self.query_one("#strokes", Static).update(Content.assemble(f"{bar}  " if bar else "", _row(texts)))
        if chosen is not None:
            self.query_one("#lines", Static).update("\n".join(say.notes(found, chosen)))
        self._show_shapes()
        self._prompt()
        self.show_own_keys()

    def _show_shapes(self) -> None:
        found, words = self._found, self.query_one(Words)
        sheet = self.query_one(Sheet)
        if self._dead or self._chosen is None or found is None:
            words.show("", self._dead, warn=True)
            return
        current = found.shape_at(self._at)
        sheet.show(say.shape_lines(found, current, max(sheet.size.height, 1)))
        drill, passings = found.drill, self._passings
        self.set_class(drill is None, "-none")
        if drill is None or passings is None:
            words.show("", "" if found.problem is None else say.in_app(found.problem), warn=True)
            return
        before = min(current, len(drill.steps) - 2)
        passing = passings[before, before + 1]
        self.query_one(Board).show(passing.change, drill.instrument)
        words.show(f"{before + 1} to {before + 2}: {passing.words}", self._said or say.summary(found, self._chosen))

    def _prompt(self) -> None:
        keys = self.first_key("drill_score"), self.first_key("keep_score")
        waited = None if self._working_out is None else self._working_out.waited
        some = self._drill is not None
        told = say.invitation(self._chosen, self._path.name, waited, keys, dead=bool(self._dead), some=some)
        self.query_one(Prompt).show(*told)


def _row(texts: tuple[tuple[str, bool], ...]) -> Content:
    """Return texts in a row, the one that is marked in brackets."""
    parts = (Content.styled(f"[{text}]", "bold reverse") if marked else Content(f" {text} ") for text, marked in texts)
    return Content(" ").join(parts)
