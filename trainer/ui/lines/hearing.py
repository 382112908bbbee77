"""Line mode with a MIDI guitar: what is played is graded and logged, and each change told in one line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from threading import Thread
from types import MappingProxyType

from trainer.errors import plain
from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.listen.decoder import Call
from trainer.listen.ear import Ear, Heard
from trainer.listen.entries import Entry
from trainer.listen.matcher import Grid
from trainer.practice.drill import Drill, Step
from trainer.practice.measures import HeardChange, Measures, measures_of, summarise
from trainer.practice.record import Attempt, Run, Timing
from trainer.practice.wiring import Wiring
from trainer.ui.drilling.explaining import tuning
from trainer.ui.drilling.passings import Passings
from trainer.ui.lines.console import Console
from trainer.ui.lines.grades import line, summary
from trainer.ui.lines.loop import LineLoop
from trainer.ui.lines.telling import fingers, in_words
from trainer.ui.lines.typed import guide, read
from trainer.ui.services import Services

TICK_S = 0.02
"""How often the ear is told the time: a landing that waits for nothing else is told within this."""
Wired = tuple[str, Wiring, str]
"""A port's key, how its guitar speaks, and in words which calibration that is."""


class HearingPractice:
    """One drill, heard from one port."""

    def __init__(
        self,
        services: Services,
        drill: Drill,
        wired: Wired,
        tempo: float | None,
        console: Console,
        keep: Callable[[Entry], None] | None = None,
    ) -> None:
        """Practise `drill`; `tempo` where it is played in tempo; `keep` takes what the ear takes in.

        Raises ChangeoverError where no step of the drill can be heard.
        """
        self.services, self.drill, self.loop = services, drill, LineLoop(services.clock)
        self.port, self._wiring, self._calibration = wired
        self.changes: list[HeardChange] = []
        """Every change that is done, in order; its moments are monotonic seconds."""
        self.ear = Ear(drill, self._wiring, origin=services.clock(), keep=keep)
        self._tempo = tempo
        self._console = console
        self._passings = Passings(drill, services.hand)
        self._attempts: dict[int, str] = {}
        self._said: dict[int, str | None] = {}
        self._run: str | None = None
        self._open = False
        self._warned = ""
        self._remarked = ""

    def run(self, typed: Iterable[str]) -> None:
        """Practise until the player ends it, by a line or with ctrl+c; `typed` is read on a thread of its own."""
        from trainer.listen.ports import Listener

        listener = Listener({self.port}, lambda batch: self.loop.soon(lambda: self.take_in(batch)), self.services.clock)
        Thread(target=self._listen, args=(typed,), name="typed lines", daemon=True).start()
        self.say(f"{self.drill.title}. Play: each change is told in a line. Port {self.port}.")
        self.say("Type ? and enter for every key, s and enter for the next shape, q and enter to end.")
        self.say(f"First {in_words(self.drill.steps[0])}")
        listener.start()
        self.loop.at(self.services.clock() + 1, self._wait_for_port)
        self._tick()
        try:
            self.loop.run()
        except KeyboardInterrupt:
            self.say("")
        listener.close()
        self.close()

    def close(self) -> None:
        """End the playing: what is left is graded and logged, and what it came to is told."""
        self._heard(self.ear.finish())
        if self._run is not None:
            landed = sum(change.landed for change in self.changes)
            self.services.log.finish(self._run, asked=len(self.changes), landed=landed, remark=self._remarked or None)
        self.say(summary(summarise(self.changes)))

    def say(self, text: str) -> None:
        """Print one line; nothing in it steers the terminal."""
        self._console.say(plain(text))

    def take_in(self, batch: tuple[Report, ...]) -> None:
        """Take what the listener reports."""
        for report in batch:
            match report:
                case Arrival():
                    self._heard(self.ear.hear(report.at, report.data))
                case Lost():
                    self._open = False
                    self._heard(self.ear.lost(report.at))
                    self.say(f"The port is gone: {self.port}. It is heard again as soon as it is back.")
                case Found():
                    self._found(report.at)
                case Trouble():
                    self.say(f"{self.port}: {report.what}.")

    def take(self, typed: str, at: float) -> None:
        """Do what a typed line asks for; `at` is when it came in."""
        asked = read(typed, at, self.services.settings.keys)
        if asked is not None and asked.command.id == "press":
            self.say(f"Nothing to press: the guitar is heard. Now {self._now.name}.")
        elif asked is None or asked.command.id not in _HANDLERS:
            self.say("No such key here. Type ? and enter for every key.")
        else:
            _HANDLERS[asked.command.id](self, asked.rest, at)

    @property
    def _now(self) -> Step:
        return self.drill.steps[self.ear.standing]

    def _found(self, at: float) -> None:
        again = self.ear.standing or self.changes
        self._open = True
        self.say(f"The port is {'back' if again else 'open'}: {self.port}. Strike {self._now.name}.")
        if self._tempo is not None and not self.changes:
            self._count_in(at)

    def _count_in(self, at: float) -> None:
        """Begin the beat: a bar is counted, the first shape falls on the beat after it."""
        beat_s = 60 / (self._tempo or 60)
        start = at + (self.drill.meter[0] + 1) * beat_s
        self._heard(self.ear.pace(Grid(start, beat_s), at))
        self.say(f"In tempo, {self._tempo:g} to the minute: {self.drill.meter[0]} beats are counted, then play.")
        self._beat(start - self.drill.meter[0] * beat_s, beat_s, 0)

    def _beat(self, first: float, beat_s: float, number: int) -> None:
        """Ring each beat at its own moment, so that none drifts; the count-in is told too."""

        def due() -> None:
            self._beat(first, beat_s, number + 1)
            if number < self.drill.meter[0]:
                self.say(f"{number + 1}")
            if self.services.bell:
                self._console.ring()

        self.loop.at(first + number * beat_s, due)

    def _tick(self) -> None:
        now = self.services.clock()
        self._heard(self.ear.tick(now))
        self.loop.at(now + TICK_S, self._tick)

    def _wait_for_port(self) -> None:
        if not self._open:
            self.say(f"Waiting for the port {self.port}.")

    def _heard(self, heard: Heard) -> None:
        for change in heard.changes:
            self._log(change)
            self._tell(change)
            if change.done:
                self.changes.append(change)
        for call in heard.calls:
            self._called(call)

    def _tell(self, change: HeardChange) -> None:
        """Tell a change once it has landed, or is done without; what else its end brings to light in a line more."""
        if change.index not in self._said:
            following = self.drill.steps[(change.after + 1) % len(self.drill.steps)].name
            self.say(f"{line(self.drill, change)} Next {following}.")
        elif change.mend is not None and change.mend != self._said[change.index]:
            self.say(f"{change.index + 1}. {change.mend}.")
        self._said[change.index] = change.mend

    def _log(self, change: HeardChange) -> None:
        """Write down a change that landed, and again with its verdict once that is known."""
        if not change.landed:
            return
        measures = measures_of(change, self.port, self._calibration)
        known = self._attempts.get(change.index)
        if known is None:
            known = self._attempts[change.index] = self.services.new_id()
            self.services.log.add(self._attempt(known, change, measures))
        if change.done:
            self.services.log.measure(known, measures, change.clean)
        problem = self.services.log_problem
        warning = "" if problem is None else f"Log: {problem.what}."
        if warning and warning != self._warned:
            self.say(warning)
        self._warned = warning

    def _attempt(self, id_: str, change: HeardChange, measures: Measures) -> Attempt:
        if self._run is None:
            self._run = self.services.new_id()
            began = self.services.to_wall(change.struck_s)
            self.services.log.begin(Run(self._run, self.drill.title, began, Timing.HEARD, self._tempo))
        return Attempt(
            id=id_,
            run=self._run,
            change=self._passings[change.before, change.after].key,
            at=self.services.to_wall(change.landed_s if change.landed_s is not None else change.struck_s),
            timing=Timing.HEARD,
            source=self.port,
            change_ms=change.change_ms,
            clean=change.clean,
            tempo=self._tempo,
            texture=change.texture,
            measures=measures,
        )

    def _called(self, call: Call) -> None:
        """Do what a pedal calls, where it means something while the guitar is heard."""
        handler = _HANDLERS.get(call.id)
        if handler is not None:
            handler(self, "", call.at)

    def _listen(self, typed: Iterable[str]) -> None:
        """Read lines as long as there are any; without a keyboard ctrl+c ends it."""
        clock = self.services.clock
        for typed_line in typed:
            at = clock()
            self.loop.soon(lambda text=typed_line, at=at: self.take(text, at))  # type: ignore[misc]  # bound for each

    def _expect(self, step: int, at: float) -> None:
        self._heard(self.ear.expect(step % len(self.drill.steps), at))
        self.say(f"Strike {self._now.name}.")

    def _next(self, _: str, at: float) -> None:
        self._expect(self.ear.standing + 1, at)

    def _previous(self, _: str, at: float) -> None:
        self._expect(self.ear.standing - 1, at)

    def _restart(self, _: str, at: float) -> None:
        self._expect(0, at)

    def _tuning(self, _: str, at: float) -> None:
        for text in tuning(self.drill.instrument):
            self.say(text)

    def _shape(self, _: str, at: float) -> None:
        following = (self.ear.standing + 1) % len(self.drill.steps)
        for text in fingers(self._passings[self.ear.standing, following]):
            self.say(text)

    def _remark(self, text: str, at: float) -> None:
        if text and self._run is not None:
            self._remarked = text
            self.services.log.finish(self._run, remark=text)
            self.say("Remark kept.")
        else:
            self.say("Type w, a space and your remark, then enter, once a change has landed.")

    def _help(self, _: str, at: float) -> None:
        for text in guide(self.services.settings.keys, _HANDLERS):
            self.say(text)

    def _quit(self, _: str, at: float) -> None:
        self.loop.end()


_HANDLERS: MappingProxyType[str, Callable[[HearingPractice, str, float], None]] = MappingProxyType(
    {
        "next": HearingPractice._next,
        "previous": HearingPractice._previous,
        "again": HearingPractice._previous,
        "restart": HearingPractice._restart,
        "tuning": HearingPractice._tuning,
        "remark": HearingPractice._remark,
        "shape": HearingPractice._shape,
        "help": HearingPractice._help,
        "quit": HearingPractice._quit,
    }
)
"""What each command does with what was typed after it and when it was asked for; there are no others here."""
