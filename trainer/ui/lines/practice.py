"""Practice in line mode: typed lines in, told lines out; all that stands behind it is what stands behind the screen."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import wait
from threading import Thread
from types import MappingProxyType

from trainer.errors import plain
from trainer.listen.decoder import Call
from trainer.practice import events
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.phases import DEFAULT_MODE, Mode, Phase
from trainer.practice.state import Session
from trainer.practice.wording import MODE_ABOUT, MODE_NAMES
from trainer.ring import turned
from trainer.ui.command import Place
from trainer.ui.commands import commands_of
from trainer.ui.drilling.asked import EVENTS
from trainer.ui.drilling.courses import Courses
from trainer.ui.drilling.ears import Wish
from trainer.ui.drilling.explaining import tuning
from trainer.ui.drilling.joining import NOTHING_TO_JOIN
from trainer.ui.drilling.passings import Passings
from trainer.ui.drilling.rig import Asked, Outlets, Rig
from trainer.ui.drilling.sources import MIDI_PEDAL, source
from trainer.ui.lines.console import Console
from trainer.ui.lines.guitar import GuitarLines
from trainer.ui.lines.loop import LineLoop
from trainer.ui.lines.telling import came_to, fingers, in_words, prompt, told
from trainer.ui.lines.typed import HERE, Typed, elsewhere, guide, read
from trainer.ui.services import Services

WELCOME = "Type ? and enter for every key, s and enter for the next shape, q and enter to end."

WITH_KEYS = tuple(mode for mode in MODE_ABOUT if mode is not Mode.HEARD)
"""The ways to practise with nothing but keys, in the order in which they are gone through."""
_PATIENCE_S = 1.0
"""How long the end waits for a log that is slow."""
_SETTLE_S = 1.0
"""A port that is not open so long after it was asked for is waited for, and the player told so."""


class LinePractice:
    """One drill, practised line by line."""

    def __init__(
        self,
        services: Services,
        drill: Drill,
        mode: Mode | None,
        tempo: float | None,
        console: Console,
        wish: Wish | None = None,
    ) -> None:
        """Practise `drill`, in the mode and at the tempo that are set where none is given; `wish`: which guitar."""
        self.services = services
        self.drill = drill
        self.loop = LineLoop(services.clock)
        self._console = console
        self._passings = Passings(drill, services.hand)
        self._courses = Courses(drill, None, services)
        self._told: Session | None = None
        self._warned = ""
        self._wish = wish or Wish()
        self.guitar = GuitarLines(drill)
        """The guitar beside it: what was heard, and what of it was said."""
        self._remarked = ""
        asked = Asked(drill, self._courses.course, mode or _set(services), tempo, self._wish, bench=False)
        ring = console.ring if console.has_bell else None
        outlets = Outlets(ring, self._pedal, self._show, self._hear)
        self._rig = Rig(services, asked, self._passings, self.loop, outlets)
        self.conductor, self.ears = self._rig.conductor, self._rig.ears

    def run(self, typed: Iterable[str]) -> None:
        """Practise until the player ends it, by a line or with ctrl+c; `typed` is read on a thread of its own."""
        Thread(target=self._listen, args=(typed,), name="typed lines", daemon=True).start()
        try:
            self.begin()
            self.loop.run()
        except KeyboardInterrupt:
            self.say("")
        self.close()

    def begin(self) -> None:
        """Say what is practised, how, and what to mind, and see to all that stands behind a drill."""
        mode = self.conductor.session.mode
        self.say(f"{self.drill.title}. {MODE_ABOUT[mode]}", WELCOME)
        if self._rig.quiet.caution:
            self.say(self._rig.quiet.caution)
        self.say(in_words(self.drill.steps[self.conductor.session.pair[0]]))
        self._show()
        self._rig.start()
        self._await_port()

    def close(self) -> None:
        """End the session: what was begun is written down, and what it came to is told."""
        parting = self._rig.close()
        # What has landed is told once it is in the log; there is no later to tell it in.
        wait(tuple(self.conductor.logbook.waiting), _PATIENCE_S)
        session = self.conductor.session
        self.say(*told(self._told, session, self.drill), *came_to(session, self.guitar.changes), *parting)

    def say(self, *lines: str) -> None:
        """Print lines; nothing in them steers the terminal."""
        for line in lines:
            self._console.say(plain(line))

    def take(self, line: str, at: float) -> None:
        """Do what a typed line asks for; `at` is when it came in."""
        asked = read(line, at, self.services.settings.keys)
        if asked is None:
            why = elsewhere(line, self.services.settings.keys)
            self.say(f"Not in line mode: {why}." if why else "No such key. Type ? and enter for every key.")
            return
        self._do(asked, "")

    def _do(self, asked: Typed, key: str) -> None:
        """Do what was asked for with a line, or by what `key` stands for."""
        handler = _HANDLERS.get(asked.command.id)
        if handler is not None:
            handler(self, asked)
            return
        if asked.command.id == "press" and self.conductor.session.phase is Phase.ASK:
            self.say(f"Type a number from 0 to {self.conductor.session.changes}, then enter.")
            return
        self.conductor.logbook.source = source(key, browser=False)
        self.conductor.send(EVENTS[asked.command.id](asked.at))

    def _pedal(self, called: Call) -> None:
        """Do what a MIDI pedal calls, as if its line had been typed at that moment."""
        for command in commands_of(Place.DRILL):
            if command.id == called.id and command.id in HERE and not command.fixed:
                self._do(Typed(command, called.at, ""), MIDI_PEDAL)

    def _listen(self, typed: Iterable[str]) -> None:
        """Read lines until there are no more: then the session ends, unless a guitar that was asked for goes on."""
        clock = self.services.clock
        for line in typed:
            at = clock()
            self.loop.soon(lambda line=line, at=at: self.take(line, at))  # type: ignore[misc]  # bound for each line
        if not self._wish.port:
            self.loop.soon(self.loop.end)

    def _await_port(self) -> None:
        """Say so in a while where a guitar is listened for and there is none to be heard."""
        if self.ears.open:
            self.loop.at(self.services.clock() + _SETTLE_S, self._wait_for_port)

    def _wait_for_port(self) -> None:
        hearing = self.ears.hearing
        if self._by_ear and hearing is not None and not hearing.port and self.ears.missing is None:
            self.say(f"Waiting for the port {self._wish.port}." if self._wish.port else "Waiting for a guitar.")

    @property
    def _by_ear(self) -> bool:
        """Tell whether a guitar was asked for: one that merely may be there is not waited for."""
        wanted = self.conductor.session.mode is Mode.HEARD or self.ears.check is not None
        return wanted or self._wish.port is not None

    def _hear(self, change: HeardChange, origin: float) -> None:
        self.say(*self.guitar.hear(change, origin, self.conductor.session))

    def _show(self) -> None:
        """Say what is new."""
        now = self.conductor.shown
        self.say(*told(self._told, now, self.drill))
        self._told = now
        self.say(*self.guitar.news(self.ears, self.conductor.session, wanted=self._by_ear))
        # It comes and goes as there is time to read it; what was printed is there to be read, below what landed.
        remark = self._rig.quiet.text if self.conductor.session is now else ""
        if remark and remark != self._remarked:
            self.say(remark)
            self._remarked = remark
        problem = self.conductor.problem
        warning = "" if problem is None else f"Log: {problem.what}."
        if warning and warning != self._warned:
            self.say(warning)
        self._warned = warning

    def _answer(self, asked: Typed) -> None:
        self.conductor.send(events.Said(asked.at, int(asked.rest)))

    def _pause(self, asked: Typed) -> None:
        self._rig.pause(asked.at)

    def _mode(self, asked: Typed) -> None:
        modes = tuple(MODE_ABOUT) if self.ears.open else WITH_KEYS
        mode = turned(modes, self.conductor.session.mode)
        self.say(MODE_ABOUT[mode])
        self.conductor.send(events.SetMode(asked.at, mode))

    def _course(self, asked: Typed) -> None:
        self._courses.turn(self.conductor, asked.at)

    def _plan(self, asked: Typed) -> None:
        """Practise a step of the join plan, or say which steps there are."""
        joining = self._courses.plan(self.conductor.logbook)
        if joining is None:
            self.say(NOTHING_TO_JOIN)
            return
        plan = joining.plan
        number = int(asked.rest) if asked.rest.isdecimal() and len(asked.rest) < 4 else 0
        if 1 <= number <= len(plan.steps):
            joining.turn_to(number - 1)
            self._courses.take_step(self.conductor, asked.at)
            return
        steps = enumerate(zip(plan.states, plan.steps, strict=True), start=1)
        self.say(*(f"{index}. {step.kind} {step.first} to {step.last}: {state}." for index, (state, step) in steps))
        self.say("Type o, a space and a step's number, then enter, to practise it.")

    def _chord(self, _: Typed) -> None:
        self._rig.chord()

    def _target(self, _: Typed) -> None:
        self._rig.aim()

    def _check(self, asked: Typed) -> None:
        listened = self.ears.open
        self._rig.check(asked.at)
        if not listened:
            self._await_port()
        self._show()

    def _tuning(self, _: Typed) -> None:
        self.say(*tuning(self.drill.instrument))

    def _remark(self, asked: Typed) -> None:
        if not asked.rest:
            self.say("Type w, a space and your remark, then enter.")
        else:
            self.say(self._rig.remark(asked.rest))

    def _shape(self, _: Typed) -> None:
        self.say(*fingers(self._passings[self.conductor.session.pair]))

    def _help(self, _: Typed) -> None:
        self.say(*guide(self.services.settings.keys, {*EVENTS, *_HANDLERS}))
        session = self.conductor.session
        self.say(f"Now {MODE_NAMES[session.mode]}. {prompt(session, self.drill)}")

    def _quit(self, _: Typed) -> None:
        self.loop.end()


def _set(services: Services) -> Mode:
    """Return the way to practise that is set, where keys are enough for it."""
    return services.mode if services.mode in WITH_KEYS else DEFAULT_MODE


_HANDLERS: MappingProxyType[str, Callable[[LinePractice, Typed], None]] = MappingProxyType(
    {
        "answer": LinePractice._answer,
        "pause": LinePractice._pause,
        "mode": LinePractice._mode,
        "course": LinePractice._course,
        "plan": LinePractice._plan,
        "chord": LinePractice._chord,
        "target": LinePractice._target,
        "check": LinePractice._check,
        "tuning": LinePractice._tuning,
        "remark": LinePractice._remark,
        "shape": LinePractice._shape,
        "help": LinePractice._help,
        "quit": LinePractice._quit,
    }
)
"""What is done with a command that is no event of practice."""
