"""Practice in line mode: typed lines in, told lines out, the same session and log as on the screen."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import wait
from threading import Thread
from types import MappingProxyType

from trainer.errors import plain
from trainer.practice import events
from trainer.practice.drill import Drill
from trainer.practice.phases import DEFAULT_MODE, Mode, Phase
from trainer.practice.state import Session
from trainer.practice.wording import GO, MODE_ABOUT, MODE_NAMES
from trainer.ui.drilling.asked import EVENTS
from trainer.ui.drilling.conductor import Conductor, Ports
from trainer.ui.drilling.courses import choices
from trainer.ui.drilling.explaining import tuning
from trainer.ui.drilling.logbook import Logbook
from trainer.ui.drilling.passings import Passings
from trainer.ui.lines.console import Console
from trainer.ui.lines.loop import LineLoop
from trainer.ui.lines.telling import fingers, in_words, prompt, told
from trainer.ui.lines.typed import Typed, guide, read
from trainer.ui.services import Services

WELCOME = "Type ? and enter for every key, s and enter for the next shape, q and enter to end."


WITH_KEYS = tuple(mode for mode in MODE_ABOUT if mode is not Mode.HEARD)
"""The ways to practise with nothing but keys, in the order in which they are gone through."""
_PATIENCE_S = 1.0
"""How long the end waits for a log that is slow."""


class LinePractice:
    """One drill, practised line by line."""

    def __init__(
        self,
        services: Services,
        drill: Drill,
        mode: Mode | None,
        tempo: float | None,
        console: Console,
    ) -> None:
        """Practise `drill`, in the mode and at the tempo that are set where none is given."""
        self.services = services
        self.drill = drill
        self.loop = LineLoop(services.clock)
        self._console = console
        self._passings = Passings(drill, services.hand)
        self._choices = choices(drill, drill.pairs[0])
        self._choice = 0
        self._told: Session | None = None
        self._warned = ""
        ports = Ports(self.loop, services.clock, services.wait, self._bell, self._show)
        logbook = Logbook(services.log, drill, self._passings, services.new_id, services.to_wall)
        self.conductor = Conductor(
            self._choices[0].course, mode or _set(services), logbook, ports, tempo, services.practice
        )

    def run(self, typed: Iterable[str]) -> None:
        """Practise until the player ends it, by a line or with ctrl+c; `typed` is read on a thread of its own."""
        Thread(target=self._listen, args=(typed,), name="typed lines", daemon=True).start()
        mode = self.conductor.session.mode
        self.say(f"{self.drill.title}. {MODE_ABOUT[mode]}")
        self.say(WELCOME)
        self.say(in_words(self.drill.steps[self.conductor.session.pair[0]]))
        self._show()
        try:
            self.loop.run()
        except KeyboardInterrupt:
            self.say("")
        self.close()

    def close(self) -> None:
        """End the session: what was begun is written down, and what it came to is told."""
        self.conductor.close(self.services.clock())
        # What has landed is told once it is in the log; there is no later to tell it in.
        wait(tuple(self.conductor.logbook.waiting), _PATIENCE_S)
        for line in told(self._told, self.conductor.session, self.drill):
            self.say(line)
        landed = sum(one.change_ms is not None for one in self.conductor.session.tries)
        asked = len(self.conductor.session.tries)
        paced = [run for run in self.conductor.session.ended if run.tempo is not None]
        landed, asked = landed + sum(run.landed for run in paced), asked + sum(run.asked for run in paced)
        self.say(f"Ended: {landed} of {asked} changes landed." if asked else "Ended.")

    def say(self, text: str) -> None:
        """Print one line; nothing in it steers the terminal."""
        self._console.say(plain(text))

    def take(self, line: str, at: float) -> None:
        """Do what a typed line asks for; `at` is when it came in."""
        asked = read(line, at, self.services.settings.keys)
        if asked is None:
            self.say("No such key. Type ? and enter for every key.")
            return
        handler = _HANDLERS.get(asked.command.id)
        if handler is not None:
            handler(self, asked)
            return
        if asked.command.id == "press" and self.conductor.session.phase is Phase.ASK:
            self.say(f"Type a number from 0 to {self.conductor.session.changes}, then enter.")
            return
        self.conductor.logbook.source = "keys"
        self.conductor.send(EVENTS[asked.command.id](at))

    def _listen(self, typed: Iterable[str]) -> None:
        """Read lines until there are no more: then the session ends."""
        clock = self.services.clock
        for line in typed:
            at = clock()
            self.loop.soon(lambda line=line, at=at: self.take(line, at))  # type: ignore[misc]  # bound for each line
        self.loop.soon(self.loop.end)

    def _show(self) -> None:
        """Say what is new."""
        now = self.conductor.shown
        for line in told(self._told, now, self.drill):
            self.say(line)
        self._told = now
        problem = self.conductor.problem
        warning = "" if problem is None else f"Log: {problem.what}."
        if warning and warning != self._warned:
            self.say(warning)
        self._warned = warning

    def _bell(self, _: bool) -> None:
        if self.conductor.session.phase is Phase.CHANGING:
            self.say(GO)
        if self.services.bell:
            self._console.ring()

    def _answer(self, asked: Typed) -> None:
        self.conductor.send(events.Said(asked.at, int(asked.rest or 0)))

    def _pause(self, asked: Typed) -> None:
        paused = self.conductor.session.phase is Phase.PAUSED
        self.conductor.send(events.Resume(asked.at) if paused else events.Pause(asked.at))

    def _mode(self, asked: Typed) -> None:
        mode = WITH_KEYS[(WITH_KEYS.index(self.conductor.session.mode) + 1) % len(WITH_KEYS)]
        self.say(MODE_ABOUT[mode])
        self.conductor.send(events.SetMode(asked.at, mode))

    def _course(self, asked: Typed) -> None:
        if self._choice == 0:
            self._choices = choices(self.drill, self.conductor.session.pair)
        self._choice = (self._choice + 1) % len(self._choices)
        choice = self._choices[self._choice]
        self.say(f"Now: {choice.name}.")
        self.conductor.begin_anew(choice.course, asked.at)

    def _tuning(self, _: Typed) -> None:
        for line in tuning(self.drill.instrument):
            self.say(line)

    def _remark(self, asked: Typed) -> None:
        if not asked.rest:
            self.say("Type w, a space and your remark, then enter.")
        elif self.conductor.logbook.remark(self.conductor.session.run, asked.rest):
            self.say("Remark kept.")
        else:
            self.say("Nothing is in the log yet to remark on; play first.")

    def _shape(self, _: Typed) -> None:
        for line in fingers(self._passings[self.conductor.session.pair]):
            self.say(line)

    def _help(self, _: Typed) -> None:
        for line in guide(self.services.settings.keys, {*EVENTS, *_HANDLERS}):
            self.say(line)
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
        "tuning": LinePractice._tuning,
        "remark": LinePractice._remark,
        "shape": LinePractice._shape,
        "help": LinePractice._help,
        "quit": LinePractice._quit,
    }
)
"""What is done with a command that is no event of practice."""
