"""Setting up a guitar: its port, its strings, how loud and how late they are heard, its pedals."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from trainer.counts import plural
from trainer.listen.arrival import Report
from trainer.listen.setup import flow
from trainer.listen.setup.flow import Setup, Stage
from trainer.ui.command import Call, Place
from trainer.ui.loop import LoopScheduler
from trainer.ui.screens.base import HEIGHTS, CommandScreen
from trainer.ui.services import PortListener, Services
from trainer.ui.setting_up.sitting import Sitting
from trainer.ui.setting_up.view import View, view
from trainer.ui.widgets.choices import Choices
from trainer.ui.widgets.headline import Headline
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.strings import Strings
from trainer.ui.widgets.words import Words

_TICK_S = 0.05
"""How often time is let pass: a pluck is told this long after its window at the latest."""


class GuitarScreen(CommandScreen):
    """One guitar after another, got to know step by step."""

    place = Place.GUITAR
    CSS_PATH = "guitar.tcss"
    heading = "Set up a guitar"
    VERTICAL_BREAKPOINTS = HEIGHTS

    def __init__(self, services: Services) -> None:
        """Hear nothing yet."""
        super().__init__(services)
        self.sitting = Sitting(services.guitar, services.keep_guitar, lambda: services.today, services.setups)
        self._listening: PortListener | None = None
        self._scheduler: LoopScheduler | None = None
        self._due: Callable[[], None] | None = None
        self._key = ""

    def body(self) -> ComposeResult:
        """Lay out what is seen."""
        yield Static(id="steps", markup=False)
        yield Headline(fine=self.fine)
        yield Choices(fine=self.fine)
        yield Strings(fine=self.fine)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Listen to every port there is."""
        services = self.services
        scheduler = self._scheduler = LoopScheduler(services.clock, self.fail)
        self._listening = services.listen(None, lambda batch: scheduler.soon(lambda: self._take(batch)), services.clock)
        self._listening.start()
        self.set_interval(_TICK_S, self._tick)
        self._show()

    def on_unmount(self) -> None:
        """Stop listening; what was begun is there when the player comes back."""
        self._stop_beat()
        self.sitting.change(lambda setup: flow.move(setup, 0))
        if self._listening is not None:
            self._listening.close()

    def on_choices_chosen(self, _: Choices.Chosen) -> None:
        """Set up the port that was clicked."""
        self.sitting.line = self.query_one(Choices).chosen
        self.sitting.choose()
        self._show()

    def do_guitar_go(self, call: Call) -> None:
        """Do what the prompt says."""
        self._key = call.key
        setup = self.sitting.setup
        if setup is None:
            self.sitting.choose()
            self._show()
        elif setup.stage is Stage.PEDALS:
            self.do_close(call)
        else:
            self._change(lambda setup: flow.go(setup, call.at))

    def do_guitar_next(self, _: Call) -> None:
        """Go on to the next step, done or not."""
        self._change(lambda setup: flow.move(setup, 1))

    def do_guitar_before(self, _: Call) -> None:
        """Go back to the step before."""
        self._change(lambda setup: flow.move(setup, -1))

    def do_guitar_again(self, _: Call) -> None:
        """Begin the step from its start."""
        self._change(flow.again)

    def do_guitar_port(self, _: Call) -> None:
        """Choose another port."""
        self._stop_beat()
        self.sitting.leave_port()
        self._show()

    def do_guitar_up(self, _: Call) -> None:
        """Highlight the port above, or have the pedal do what stands before."""
        self._turn(-1)

    def do_guitar_down(self, _: Call) -> None:
        """Highlight the port below, or have the pedal do what comes next."""
        self._turn(1)

    def _turn(self, by: int) -> None:
        if self.sitting.chosen is None:
            self.sitting.move_line(by)
            self._show()
        else:
            self._change(lambda setup: flow.turn(setup, by) if setup.stage is Stage.PEDALS else setup)

    def show_own_keys(self) -> None:
        """Show the keys of this moment: without a guitar there are no steps, without a port there is nothing to do."""
        steps = frozenset({"guitar_before", "guitar_next", "guitar_again", "guitar_port"})
        choosing = self.sitting.chosen is None
        self.show_keys(hidden=(steps if choosing else frozenset()) | self._nothing)

    @property
    def _nothing(self) -> frozenset[str]:
        return frozenset() if self.sitting.chosen or self.sitting.ports else frozenset({"guitar_go"})

    def _take(self, batch: tuple[Report, ...]) -> None:
        """Take what the ports report; nothing once the screen is left."""
        if self.is_attached:
            for report in batch:
                self.sitting.take(report)
            self._changed()

    def _change(self, step: Callable[[Setup], Setup]) -> None:
        self.sitting.change(step)
        self._changed()

    def _changed(self) -> None:
        """Keep the beat in step with what was asked for, and show everything."""
        setup = self.sitting.setup
        if setup is not None and setup.beating:
            if self._due is None:
                self._wait_for_beat(self.services.clock())
        else:
            self._stop_beat()
        self._show()

    def _wait_for_beat(self, now: float) -> None:
        """Ring at the next beat, at its own moment so that none drifts."""
        setup = self.sitting.setup
        moment = None if setup is None else setup.striking.next_beat(now)
        if moment is None or self._scheduler is None:
            self._due = None
            return

        def due() -> None:
            self._wait_for_beat(moment)
            if self.services.bell:
                self.app.bell()
            self._show()

        self._due = self._scheduler.at(moment, due)

    def _stop_beat(self) -> None:
        if self._due is not None:
            self._due()
            self._due = None

    def _tick(self) -> None:
        self.sitting.tick(self.services.clock())
        self._changed()

    def _show(self) -> None:
        if not (self.is_attached and self.display):  # while it is taken down, a guitar may still play
            return
        now = view(self.sitting, self.services.clock(), fine=self.fine)
        self.set_class(not now.port, "-choosing")
        self.query_one(TopLine).show(self.heading, now.port or plural(len(self.sitting.ports), "port"))
        self.query_one("#steps", Static).update(_steps(now, "✓" if self.fine else "ok"))
        self.query_one(Headline).show(now.caption, now.big, now.side, beat=now.beat, beats=now.beats)
        self._show_ports(now)
        self.query_one(Strings).show(now.rows)
        self.query_one(Words).show(now.words, now.message, warn=now.warn)
        self.query_one(Prompt).show(self.first_key("guitar_go", self._key) if now.go else "", now.go)
        self.show_own_keys()

    def _show_ports(self, now: View) -> None:
        choices = self.query_one(Choices)
        choices.show(now.ports)
        choices.move(self.sitting.line - choices.chosen if now.ports else 0)


def _steps(now: View, ticked: str) -> Content:
    """Return the steps in a row, the current one in brackets; `ticked` stands after what is done."""
    parts = []
    for number, (name, here, done) in enumerate(now.steps, start=1):
        text = f"{number} {name}{f' {ticked}' if done else ''}"
        parts.append(Content.styled(f"[{text}]", "bold") if here else Content(f" {text} "))
    return Content("  ").join(parts)
