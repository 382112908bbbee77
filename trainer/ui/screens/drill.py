"""The drill screen: the board, what to do now, and how long it took."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from trainer.practice import events
from trainer.practice.course import Pair
from trainer.practice.drill import Drill
from trainer.practice.phases import Mode
from trainer.practice.wording import GO, MODE_ABOUT
from trainer.ring import turned
from trainer.ui.board.widget import Board, Mini
from trainer.ui.command import Call, Place, key_text, keys_of
from trainer.ui.commands import BY_ID, commands_of
from trainer.ui.drilling.asked import EVENTS
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.courses import Choice, Courses
from trainer.ui.drilling.ears import Ears, Wish
from trainer.ui.drilling.explaining import fingers, tuning
from trainer.ui.drilling.known import seconds
from trainer.ui.drilling.left_out import hidden
from trainer.ui.drilling.passings import Passings
from trainer.ui.drilling.rig import Asked, Outlets, Rig
from trainer.ui.drilling.sources import source
from trainer.ui.drilling.view import View, view
from trainer.ui.loop import LoopScheduler
from trainer.ui.messages import Open
from trainer.ui.screens import pedals
from trainer.ui.screens.base import HEIGHTS, WIDTHS
from trainer.ui.screens.remarking import Remarking
from trainer.ui.services import Services
from trainer.ui.widgets.lastten import LastTen
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.names import Names
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.readout import Readout
from trainer.ui.widgets.sheet import Sheet
from trainer.ui.widgets.words import Words

_TICK_S = 0.1
"""How often the running number is drawn; it has one digit after the point."""


class DrillScreen(Remarking):
    """One drill, practised."""

    place = Place.DRILL
    CSS_PATH = "drill.tcss"
    HORIZONTAL_BREAKPOINTS = WIDTHS
    VERTICAL_BREAKPOINTS = HEIGHTS

    def __init__(
        self,
        services: Services,
        drill: Drill,
        mode: Mode | None = None,
        tempo: float | None = None,
        wish: Wish | None = None,
        given: Choice | None = None,
    ) -> None:
        """Practise `drill`, or `given` of it, in the mode and at the tempo given or set; `wish`: which guitar."""
        super().__init__(services)
        self._wish = wish or Wish()
        self._drill = drill
        self._mode = mode or services.mode
        self._tempo = tempo
        self._key = ""
        self._tuned = 0
        self._drawn: tuple[Pair | None, Pair | None, str] = (None, None, "")
        self._passings = Passings(drill, services.hand)
        self._courses = Courses(drill, given, services)
        self._rig: Rig | None = None
        self._left = False

    def body(self) -> ComposeResult:
        """Lay out what is seen."""
        yield Names(fine=self.fine)
        with Horizontal(id="middle"):
            yield Board(self._drill.instrument, look=self.services.look, id="board")
            with Vertical(id="aside"):
                yield Static("", id="then-name", markup=False)
                yield Mini(look=self.services.look)
                yield LastTen(fine=self.fine)
        yield Readout(fine=self.fine)
        yield Sheet(id="fingers")
        yield Sheet(id="tuning")
        yield Words()
        yield Input(id="remark")
        yield Prompt()

    @property
    def rig(self) -> Rig:
        """What stands behind the screen, as soon as it is mounted."""
        assert self._rig is not None  # noqa: S101  # nothing is asked of a screen before it is mounted
        return self._rig

    @property
    def conductor(self) -> Conductor:
        """The conductor."""
        return self.rig.conductor

    @property
    def ears(self) -> Ears:
        """The ears beside it."""
        return self.rig.ears

    def on_mount(self) -> None:
        """Begin."""
        services = self.services
        scheduler = LoopScheduler(services.clock, self.fail)
        asked = Asked(self._drill, self._courses.course, self._mode, self._tempo, self._wish)
        outlets = Outlets(self.app.bell, partial(pedals.call, self), self._show)
        self._rig = Rig(services, asked, self._passings, scheduler, outlets)
        self._timer = self.set_interval(_TICK_S, self._show_readout, pause=True)
        self._show()
        self._rig.start()

    def on_unmount(self) -> None:
        """End the session, wherever it stands; the log may answer for it later, when there is nothing left to show."""
        self._left = True
        self.services.parting += self.rig.close()

    def run_command(self, call: Call) -> None:
        """Feed the session where the command is an event of practice."""
        event = EVENTS.get(call.command.id)
        if event is None:
            super().run_command(call)
            return
        if call.command.id == "press":
            self._key = call.key
        self.conductor.logbook.source = source(call.key, browser=self.app.is_web)
        self.conductor.send(event(call.at))

    @property
    def may_turn(self) -> bool:
        """False while something is timed or beats, or a remark is written."""
        return not (self._now.busy or self.has_class("-remark"))

    def do_answer(self, call: Call) -> None:
        """Say how many landed."""
        self.conductor.send(events.Said(call.at, int(call.key)))

    def do_pause(self, call: Call) -> None:
        """Stop timing, or go on."""
        self.rig.pause(call.at)

    def do_mode(self, call: Call) -> None:
        """Practise in the next way."""
        mode = turned(tuple(MODE_ABOUT), self.conductor.session.mode)
        if mode is Mode.HEARD:
            self.ears.start()
        self.conductor.send(events.SetMode(call.at, mode))
        self.conductor.say(MODE_ABOUT[mode])

    def do_course(self, call: Call) -> None:
        """Practise the next of what there is to practise."""
        self._courses.turn(self.conductor, call.at)

    def do_plan(self, _: Call) -> None:
        """Show the join plan."""
        self.post_message(Open("plan", joining=self._courses.plan(self.conductor.logbook)))

    def do_check(self, call: Call) -> None:
        """Check the shape that is held string by string, or go on."""
        self.rig.check(call.at)
        self._show()

    def do_guitar_of_drill(self, call: Call) -> None:
        """Leave the guitar to the screen that sets it up."""
        self.ears.stop()
        super().do_guitar_of_drill(call)

    def do_bench(self, _: Call) -> None:
        """Leave the guitar alone and compare ways to finger the drill."""
        self.ears.stop()
        self.post_message(Open("bench", drill=self._drill))

    def on_screen_resume(self) -> None:
        """Hear the guitar again, as it has been set up."""
        self._courses.take_step(self.conductor, self.services.clock())
        if self._rig is not None and self.ears.stopped:
            self.ears.start()

    def do_chord(self, _: Call) -> None:
        """Let the shape to come be heard."""
        self.rig.chord()

    def do_target(self, _: Call) -> None:
        """Make this tempo the drill's target, or take it away."""
        self.rig.aim()

    def do_memory(self, _: Call) -> None:
        """Play from memory, or with every shape in sight."""
        self.rig.recall()

    def do_tuning(self, _: Call) -> None:
        """Show how the open strings are tuned in place of the figures until practice goes on, or the figures again."""
        caption, *rows = tuning(self._drill.instrument)
        self.query_one("#tuning", Sheet).show([("", "caption", (caption,)), *(("", "text", (row,)) for row in rows)])
        self.toggle_class("-tuning")
        self._tuned = len(self.conductor.shown.tries)
        self._show()

    def _show(self) -> None:
        """Show what may be shown now."""
        if self._left or not self.query(TopLine):  # while it is taken down, a guitar may still play
            return
        session = self.conductor.shown
        now = self._now = view(self.conductor, self._courses.name, self.signs, self.ears)
        self.query_one(TopLine).show(now.title, now.progress, now.way, self.signs.dot)
        self.query_one(Names).show(now.names, now.then, now.watch)
        self._show_boards(now)
        self._show_readout()
        self.set_class(session.mode is Mode.WALK, "-walk")
        if now.busy or len(session.tries) != self._tuned:
            self.remove_class("-tuning")
        self.query_one(LastTen).show(now.last_ten, now.best_ms)
        hint = now.mind or now.note if session.mode is Mode.WALK else now.note
        self.query_one(Words).show(now.words, now.message, warn=now.warn, hint=hint)
        key = key_text(self._press_key).upper() if now.said.press else ""
        self.query_one(Prompt).show(key, now.prompt, now.brief)
        self.show_own_keys()
        (self._timer.pause if now.running is None else self._timer.resume)()

    def show_own_keys(self) -> None:
        """Show the keys of this moment; none while a remark is written, whose own line says how it ends."""
        if self.has_class("-remark"):
            self.show_keys(hidden=frozenset(command.id for command in commands_of(self.place)))
        elif self._rig is not None:
            session = self.conductor.shown
            used = {"press": (self._press_key,)}
            self.show_keys({"press": self._now.said.press}, hidden(session.mode, session.phase), used)

    def _show_boards(self, now: View) -> None:
        """Draw the change at hand, and small the shape that comes after it."""
        if now.board is None:
            self.query_one("#board", Board).clear()
        elif now.board != self._drawn[0]:
            self.query_one("#board", Board).show(self._passings[now.board].change)
            lines = fingers(self._passings[now.pair], self.services.look.glyphs)
            self.query_one("#fingers", Sheet).show([(line.mark, line.action, line.parts) for line in lines])
        then = f"then {now.then[0]}" if now.then else ""
        if (now.after, then) != self._drawn[1:]:
            self.query_one(Mini).show(None if now.after is None else self._drill.steps[now.after[1]].shape)
            self.query_one("#then-name", Static).update(then)
        self._drawn = (now.board, now.after, then)
        self.query_one("#board", Board).show_lights(self.ears.lights())

    def _show_readout(self) -> None:
        """Show the figures; the running one goes on by itself."""
        now, figure, tone = self._now, self._now.now, self._now.now.tone
        if now.running is not None:
            tone = "running"
            figure = replace(figure, text=seconds(1000 * (self.services.clock() - now.running), 1))
        elif figure.beats is not None:
            tone = "beat"
        elif figure.text == GO:
            tone = "go"
        self.query_one(Readout).show(figure, now.last, now.facts, tone=tone, record=now.record, mind=now.mind)

    @property
    def _press_key(self) -> str:
        """The key that presses, as the player knows it: the one used last, else the first that is set."""
        return self._key or keys_of(BY_ID["press"], self.services.settings.keys)[0]
