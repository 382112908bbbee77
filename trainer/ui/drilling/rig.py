"""All that stands behind a drill, on the screen or in lines: conductor, ears, what sounds; no Textual.

Built at once, closed at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from trainer.listen.decoder import Call
from trainer.practice import events
from trainer.practice.course import Course
from trainer.practice.drill import Drill
from trainer.practice.ladder import Target
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode, Phase
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.ears import Ears, Wish
from trainer.ui.drilling.logbook import Logbook
from trainer.ui.drilling.memory import ByHeart
from trainer.ui.drilling.passings import Passings
from trainer.ui.drilling.ports import Ports
from trainer.ui.drilling.quiet import Quiet
from trainer.ui.drilling.scheduler import Scheduler
from trainer.ui.drilling.sounding import Sounding, accents
from trainer.ui.services import Services


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be practised, and how."""

    drill: Drill
    """The drill."""
    course: Course
    """What of it."""
    mode: Mode
    """In which way."""
    tempo: float | None
    """Beats per minute to begin with; None: as the course has it."""
    wish: Wish
    """Which guitar."""
    bench: bool = True
    """True where the player can go to the fingering bench from here."""


@dataclass(frozen=True, slots=True)
class Outlets:
    """Where what happens goes; all are called on the loop's own thread."""

    ring: Callable[[], None] | None
    """Rings the terminal's bell; None where there is none."""
    called: Callable[[Call], None]
    """Does what a pedal calls."""
    show: Callable[[], None]
    """There is something new to show."""
    heard: Callable[[HeardChange, float], None] | None = None
    """Is given every change that was heard, as `Ears` says."""


class Rig:
    """One drill under way."""

    def __init__(
        self, services: Services, asked: Asked, passings: Passings, scheduler: Scheduler, outlets: Outlets
    ) -> None:
        """Stand before the first change; nothing is listened to or looked up yet."""
        self._services, self._asked, self._closed = services, asked, False
        self.sounding = Sounding(services, asked.drill, scheduler, outlets.ring, self._say)
        """What sounds."""
        ports = Ports(
            *(scheduler, services.clock, services.wait, self.sounding.bell, outlets.show), click=self.sounding
        )
        logbook = Logbook(services.log, asked.drill, passings, services.new_id, services.to_wall)
        settings = replace(
            services.practice,
            accents=accents(asked.drill.meter, services.settings),
            target=self._target(services.kept.targets.get(asked.drill.title)),
        )
        title = asked.drill.title
        self._by_heart = ByHeart(
            *(asked.drill, services.kept.memory.get(title)),
            keep=lambda memory: services.keep_memory(title, memory),
            draw=lambda: services.wait(0.0, 1.0),
        )
        self.conductor = Conductor(
            asked.course, asked.mode, logbook, ports, asked.tempo, settings, by_heart=self._by_heart
        )
        """The session, and what it leads to."""
        self.quiet = Quiet(
            *(services, asked.drill, passings, scheduler, outlets.show, lambda: self.conductor.session),
            blind=lambda: self._by_heart.on,
            bench=asked.bench,
        )
        """What is said besides."""
        self.conductor.quiet = self.quiet
        self.ears = Ears(services, self.conductor, scheduler, outlets.called, outlets.show, asked.wish, outlets.heard)
        """The guitar beside it."""

    def start(self) -> None:
        """Look up what the log holds and what may be said, listen where a guitar may matter, and see to the click."""
        self.conductor.look_up()
        self.quiet.start()
        mode, wish = self._asked.mode, self._asked.wish
        if mode is Mode.HEARD or wish.port or self._services.guitars:
            self.ears.start()
        if mode is Mode.PACED:
            self.sounding.start()

    def pause(self, at: float) -> None:
        """Stop timing, or go on."""
        paused = self.conductor.session.phase is Phase.PAUSED
        self.conductor.send(events.Resume(at) if paused else events.Pause(at))

    def check(self, at: float) -> None:
        """Check the shape that is held string by string, or go on."""
        if self.ears.check is None:
            self.conductor.send(events.Pause(at))
            self.ears.begin_check()
        else:
            self.conductor.send(events.Resume(at))
            self.ears.end_check()

    def remark(self, text: str) -> str:
        """Leave a remark on the run at hand, or on the newest in the log; return what is to be said of it."""
        kept = self.conductor.logbook.remark(self.conductor.session.run, text)
        return "Remark kept." if kept else "Nothing is in the log yet to remark on; play first."

    def chord(self) -> None:
        """Let the shape to come sound."""
        session = self.conductor.session
        self.sounding.chord(session.pair[1], session.tempo)

    def aim(self) -> None:
        """Make the tempo now set the drill's target, or take the target away where it is that already."""
        session = self.conductor.session
        old = session.settings.target
        tempo = None if old is not None and old.tempo == session.tempo else session.tempo
        self._services.keep_target(self._asked.drill.title, tempo)
        self.conductor.aim(self._target(tempo))
        self.conductor.say("No target any more." if tempo is None else f"Target: {tempo:g} beats per minute.")

    def recall(self) -> None:
        """Ask for shapes from memory, or show them all again."""
        on = self.conductor.recall()
        session = self.conductor.session
        known = self._by_heart.known(session)
        self.conductor.say(
            "From memory: three clean and a shape is shown less, a miss and it is shown more."
            if on
            else f"Every shape is shown. Known by heart: {known.known} of {len(known.shapes)}."
        )

    def close(self) -> tuple[str, ...]:
        """End the session, wherever it stands; return what is to be said of takes that were kept."""
        self._closed = True
        self.conductor.close(self._services.clock())
        self.quiet.close()
        self._by_heart.end(self.conductor.session)
        self.sounding.close()
        return self.ears.close()

    def _target(self, tempo: float | None) -> Target | None:
        settings = self._services.settings
        return None if tempo is None else Target(tempo, settings.target_in_a_row, settings.target_days)

    def _say(self, text: str) -> None:
        if not self._closed:
            self.conductor.say(text)
