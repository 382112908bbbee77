"""The ears of a drill screen: a listener's thread, the guitar it brings, and what of it is to be shown. No Textual."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, Problem
from trainer.listen.decoder import Call
from trainer.practice import events
from trainer.practice.check import Check, check
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteOn
from trainer.practice.record import Texture
from trainer.ui.board.marks import Sign
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.listening import TICK_S, Hearing, Listening, Outlets
from trainer.ui.drilling.scheduler import Cancel, Scheduler

if TYPE_CHECKING:
    from trainer.files.guitars import Guitar
    from trainer.listen.arrival import Report
    from trainer.listen.entries import Entry
    from trainer.practice.wiring import Wiring
    from trainer.ui.drilling.kept_take import KeptTake
    from trainer.ui.services import PortListener, Services

MISSING_AFTER_S = 0.4
"""A string that has not been heard this long after the others is shown as missing; a slow roll is over by then."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What the player asked for."""

    port: str | None = None
    """The port to hear; None: every guitar that was set up, or any where none was."""
    keep: bool = False
    """True: what is heard is kept as a take."""
    take: Path | None = None
    """Where to keep it; None: in the folder of takes."""


class Ears:
    """Listens beside a conductor, from the first moment that a guitar may matter."""

    def __init__(
        self,
        services: Services,
        conductor: Conductor,
        scheduler: Scheduler,
        called: Callable[[Call], None],
        show: Callable[[], None],
        wish: Wish,
        heard: Callable[[HeardChange, float], None] | None = None,
    ) -> None:
        """Do nothing yet; `called` is told of pedals, `show` that there may be something new to show.

        `heard` is given every change, whether or not the session counts it, and when the ear began that heard it.
        """
        self._services, self._conductor, self._scheduler = services, conductor, scheduler
        self._show, self._wish, self._heard = show, wish, heard
        outlets = Outlets(self._changed, called, self._plucked, self._news)
        keep = self._begin_take if wish.keep else None
        self._listening = Listening(conductor.logbook.drill, self._guitar, outlets, services.clock, keep)
        self._listener: PortListener | None = None
        self._tick: Cancel | None = None
        self._last_note = float("-inf")
        self._connected = False
        self._lit: Mapping[int, Sign] = {}
        self._takes: list[KeptTake] = []
        self.stopped = False
        """True while the ports are left to somebody else."""
        self.check: Check | None = None
        """The shape that is checked string by string; None where none is."""
        self.missing: Problem | None = None
        """Why no MIDI can be had, or no take be kept; None where both can, or nobody has asked yet."""

    @property
    def open(self) -> bool:
        """Tell whether anything is listened to."""
        return self._listener is not None

    @property
    def hearing(self) -> Hearing | None:
        """What can be shown of the guitar; None where nothing is listened to."""
        return self._listening.hearing if self.open else None

    def start(self) -> None:
        """Listen; starting again changes nothing."""
        if self._listener is not None:
            return
        from trainer.listen.ports import missing

        wanted = {self._wish.port} if self._wish.port else set(self._services.guitars) or None
        self._listener = self._services.listen(wanted, self._deliver, self._services.clock)
        self.stopped = False
        self._conductor.listen(self._listening)
        self._listener.start()
        self._scheduler.aside(missing, self._learn)
        self._next_tick()

    def stop(self) -> None:
        """Leave the ports to somebody else for a while."""
        if self._listener is not None:
            self._listener.close()
            self._listener, self.stopped = None, True
        if self._tick is not None:
            self._tick()

    def close(self) -> tuple[str, ...]:
        """Stop listening; return what is to be said of takes that were kept."""
        self.stop()
        if self._wish.keep and not self._takes and self.missing is None:
            from trainer.ui.drilling.kept_take import NOTHING

            return (NOTHING,)
        if self._takes[1:] and not self._takes[-1].played:
            self._takes.pop().end()
        return tuple(take.end() for take in self._takes)

    def begin_check(self) -> None:
        """Check the shape that is held string by string from here on."""
        self.start()
        drill = self._conductor.logbook.drill
        self.check = check(drill.steps[self._conductor.session.holding].shape, drill.instrument)

    def end_check(self) -> None:
        """Check no more; what was plucked meanwhile is no change, whatever else is still to be said of it."""
        if self.open:
            self._listening.expect(self._conductor.session.holding)
        self.check = None

    def lights(self) -> Mapping[int, Sign]:
        """Return how each string is to be lit now."""
        if self.check is not None:
            lit = dict.fromkeys(self.check.right, Sign.HEARD)
            return lit | dict.fromkeys(self.check.wrong, Sign.WRONG)
        reading = self._listening.hearing.reading if self.open else None
        if reading is None or reading.step not in self._conductor.shown.pair:
            return {}
        found: dict[int, Sign] = {string: Sign.HEARD for string, _ in reading.heard if string is not None}
        quiet = self._services.clock() - self._last_note > MISSING_AFTER_S
        figured = self._conductor.logbook.drill.steps[reading.step].texture is Texture.FIGURE
        # The notes of a figure have beats of their own, of which nobody knows when they are to come out of tempo.
        if reading.heard and quiet and not reading.landed and not figured:
            found |= {string: Sign.MISSING for string, _ in reading.missing if string is not None}
        return found | {string: Sign.WRONG for string, _ in reading.wrong if string is not None}

    def _guitar(self, port: str) -> Guitar:
        return self._services.guitar(port).on(self._conductor.logbook.drill.instrument)

    def _deliver(self, batch: tuple[Report, ...]) -> None:
        """Take a batch from the listener's thread over to the loop's."""
        self._scheduler.soon(lambda: self._listening.take_in(batch))

    def _changed(self, change: HeardChange, port: str, calibration: str) -> None:
        if self.check is None:
            self._conductor.hear(change, port, calibration)
        origin = self._listening.origin
        if self._heard is not None and origin is not None:
            self._heard(change, origin)

    def _plucked(self, note: NoteOn) -> None:
        self._last_note = note.at
        if self.check is not None:
            self.check = self.check.pluck(note.string, note.pitch)

    def _news(self) -> None:
        hearing = self._listening.hearing
        self._conductor.logbook.heard_from = (hearing.port, hearing.calibration)
        if self._connected and not hearing.connected:
            self._conductor.send(events.Deaf(self._services.clock()))
        self._connected = hearing.connected
        self._show()

    def _learn(self, problem: Problem | None) -> None:
        self.missing = self.missing or problem
        self._show()

    def _next_tick(self) -> None:
        def due() -> None:
            self._next_tick()
            self._listening.tick()
            lit = self.lights()
            if lit != self._lit:
                self._lit = lit
                self._show()

        self._tick = self._scheduler.at(self._services.clock() + TICK_S, due)

    def _begin_take(self, _: str, wiring: Wiring, __: float) -> Callable[[Entry], None]:
        from trainer.ui.drilling.kept_take import KeptTake

        # A second guitar, or a second course, is a take of its own; the name that was asked for is the first one's
        # in which anything was played.
        if self._takes and not self._takes[-1].played:
            self._takes.pop().end()
        path = None if self._takes else self._wish.take
        try:
            take = KeptTake(path, wiring, self._conductor.logbook.drill.title, self._services.wall())
        except ChangeoverError as error:
            self.missing = error.problems[0]
            return lambda _: None
        self._takes.append(take)
        return take.keep
