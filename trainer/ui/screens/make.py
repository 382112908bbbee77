"""Make a change: two shapes placed finger by finger, then drilled there and back; no file is needed."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult
from textual.containers import Horizontal

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import print_shape
from trainer.hand.analysis import analyse
from trainer.hand.hold import trouble
from trainer.hand.words import describe
from trainer.practice.draft import Draft, empty
from trainer.practice.drill import Drill, Step
from trainer.ui.command import Call, Place
from trainer.ui.keeping import keep_and_tell
from trainer.ui.messages import Open
from trainer.ui.played import stock_name
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.neck import Neck
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words

_SIDES = ("from", "to")


class MakeScreen(CommandScreen):
    """Two shapes side by side, one of them being made."""

    place = Place.MAKE
    CSS_PATH = "make.tcss"
    heading = "Make a change"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (76, "-wide")]  # noqa: RUF012  # Textual's own type for it is a list

    def __init__(self, services: Services) -> None:
        """Begin with open strings on both sides."""
        super().__init__(services)
        self._instrument = Instrument()
        self._drafts = [empty(self._instrument), empty(self._instrument)]
        self._side = 0

    def body(self) -> ComposeResult:
        """Lay out both shapes, the change in words, and what to press."""
        with Horizontal():
            for side in _SIDES:
                yield Neck(self._instrument, self.services.look, id=side)
        yield Words()
        yield Prompt()

    def on_screen_resume(self) -> None:
        """Show both shapes."""
        self._show()

    def do_finger(self, call: Call) -> None:
        """Put the finger of the digit pressed at the cursor."""
        if call.key.isdigit():
            self._take(self._draft.placed(int(call.key), self._instrument))

    def do_open_string(self, _: Call) -> None:
        """Leave the cursor's string open."""
        self._take(self._draft.opened(self._instrument))

    def do_mute_string(self, _: Call) -> None:
        """Neither hold nor play the cursor's string."""
        self._take(self._draft.muted(self._instrument))

    def do_copy_shape(self, _: Call) -> None:
        """Begin this shape as a copy of the other."""
        self._take(replace(self._draft, shape=self._drafts[1 - self._side].shape, said=""))

    def do_other_shape(self, _: Call) -> None:
        """Go on to the other shape."""
        self._side = 1 - self._side
        self._show()

    def do_cursor_up(self, _: Call) -> None:
        """Move the cursor a string up; string 1 is on top."""
        self._take(self._draft.moved(self._instrument, strings=-1))

    def do_cursor_down(self, _: Call) -> None:
        """Move the cursor a string down."""
        self._take(self._draft.moved(self._instrument, strings=1))

    def do_cursor_right(self, _: Call) -> None:
        """Move the cursor a fret to the right."""
        self._take(self._draft.moved(self._instrument, frets=self._along))

    def do_cursor_left(self, _: Call) -> None:
        """Move the cursor a fret to the left."""
        self._take(self._draft.moved(self._instrument, frets=-self._along))

    def do_drill_made(self, _: Call) -> None:
        """Drill the change there and back."""
        drill = self._drill
        if drill is not None:
            self.post_message(Open("drill", drill=drill))

    def do_keep_made(self, _: Call) -> None:
        """Keep the change as a drill file."""
        drill = self._drill
        if drill is not None:
            self.query_one(Words).show(self._change_in_words(), keep_and_tell(drill))

    @property
    def _along(self) -> int:
        return -1 if self.services.look.left_handed else 1

    @property
    def _draft(self) -> Draft:
        return self._drafts[self._side]

    @property
    def _drill(self) -> Drill | None:
        """The two shapes as a drill; None as long as they are the same."""
        first, second = (draft.shape for draft in self._drafts)
        if first == second:
            return None
        steps = tuple(Step(shape, stock_name(shape)) for shape in (first, second))
        return Drill(f"{steps[0].name} and {steps[1].name}", steps, instrument=self._instrument)

    def _take(self, draft: Draft) -> None:
        self._drafts[self._side] = draft
        self._show()

    def _show(self) -> None:
        for index, side in enumerate(_SIDES):
            draft = self._drafts[index]
            title = f"{side}: {stock_name(draft.shape) or print_shape(draft.shape)}"
            neck = self.query_one(f"#{side}", Neck)
            neck.show(draft, title, active=index == self._side)
            neck.set_class(index != self._side, "-other")
        words = self.query_one(Words)
        doubts = [str(problem) for problem in trouble(self._draft.shape, self._instrument, self.services.hand)]
        words.show(self._change_in_words(), self._draft.said or next(iter(doubts), ""), warn=True)
        self._prompt()

    def _change_in_words(self) -> str:
        first, second = (draft.shape for draft in self._drafts)
        if first == second:
            return "Both shapes are the same so far."
        return describe(analyse(first, second, self._instrument, self.services.hand))

    def _prompt(self) -> None:
        if self._drill is None:
            self.query_one(Prompt).show(
                "1 2 3 4",
                "put a finger at the cursor; arrows move it, TAB is the other shape.",
                "a finger at the cursor; TAB: the other shape.",
            )
        else:
            drill, keep = (self.first_key(wanted) for wanted in ("drill_made", "keep_made"))
            self.query_one(Prompt).show(
                drill,
                f"drills this change there and back; {keep} keeps it as a drill of yours.",
                f"drills this change; {keep} keeps it.",
            )
