"""What stands behind the room view: the room as it is, the beat, the tempo that follows the class. No Textual."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from trainer.practice.record import How
from trainer.practice.room import Phase, Room
from trainer.practice.rounds import Aim, Marking, Round, SeatHeard
from trainer.practice.tempo import STEP, within_limits
from trainer.ui.drilling.beating import Beating
from trainer.ui.room import ears
from trainer.ui.room.ears import Ears

if TYPE_CHECKING:
    from trainer.listen.decoder import Call
    from trainer.practice.drill import Drill
    from trainer.ui.drilling.scheduler import Scheduler
    from trainer.ui.services import Services


class Seat(Protocol):
    """A seat of a class, as far as a round needs it."""

    @property
    def id(self) -> str:
        """What its results are kept under."""

    @property
    def number(self) -> int:
        """Counted from 1; its key hangs on it."""

    @property
    def name(self) -> str | None:
        """Who sits there, where that is said."""

    @property
    def port(self) -> str | None:
        """The key of the MIDI port whose guitar is played there."""


@dataclass(frozen=True, slots=True)
class Group:
    """A class that plays rounds."""

    name: str
    """What it is called."""
    seats: tuple[Seat, ...]
    """Its seats by number."""
    keep: Callable[[Drill, Round, float], str]
    """Keeps a round of a drill that began at a monotonic second; returns what went wrong in a line, empty: nothing."""
    bind: Callable[[str, str], str] | None = None
    """Keeps that a seat, by its id, plays on a port, by its key, and nobody else does; returns as `keep` does. None: it
    is known for this lesson alone."""


@dataclass(frozen=True, slots=True)
class Outlets:
    """Where what happens goes; all are called on the loop's own thread."""

    ring: Callable[[], None]
    """Rings the terminal's bell."""
    show: Callable[[], None]
    """There is something new to show."""
    over: Callable[[], None]
    """A round of a class was played to its end: it is to be marked."""
    called: Callable[[Call], None]
    """A MIDI pedal was trodden."""


class Desk:
    """A room under way. Every method that asks for something shows what came of it."""

    def __init__(
        self, services: Services, drill: Drill, scheduler: Scheduler, outlets: Outlets, group: Group | None = None
    ) -> None:
        """Stand before the first change; nothing sounds yet."""
        self.room = Room(drill)
        """As it stands."""
        self.aim = Aim(drill.tempo)
        """The tempo."""
        self.group = group
        """The class; None: nobody is marked."""
        self.marking = Marking(() if group is None else tuple(seat.id for seat in group.seats))
        """The marks of the round that is played or was last."""
        self.last: Round | None = None
        """The round that was marked last; None before one was, and once the next one begins."""
        self.played = False
        """Whether the part at hand was played."""
        self.said = ""
        """A line to say."""
        self.heard: Callable[[], None] | None = None
        """Called while the round is marked, when there is something new of what was heard, or of who plays where."""
        self.ears = Ears(services, drill, group, scheduler, ears.Outlets(outlets.called, self._listened))
        """The guitars of the class."""
        self._services, self._outlets = services, outlets
        self._beating = Beating(services, scheduler, outlets.ring, self._say, self._go_on)
        self._began = 0.0
        self._seen = False
        self._closed = False

    def start(self) -> None:
        """Open what the click and the guitars need, so that it is there when a round begins."""
        self._beating.open(self.room.drill)
        self.ears.start()

    def again(self) -> None:
        """Play the part at hand from its beginning."""
        self._seen = False
        self._play(self.room.go())

    def move(self, by: int) -> None:
        """Stand before the part that is `by` further on."""
        self.played = False
        self._stand(self.room.moved(by))

    def other_scope(self) -> None:
        """Play more of the drill in a round, or again one change."""
        self.played = False
        self._stand(self.room.other_scope())

    def freeze(self) -> None:
        """Stop the beat where it is, or go on at the shape where it was stopped."""
        room = self.room.freeze()
        if room.phase is Phase.PLAYING and room != self.room:
            self._play(room)
        elif room != self.room:
            self._stand(room)

    def tempo(self, steps: int) -> None:
        """Take another tempo, a round under way begins anew."""
        self.aim = self.aim.at(within_limits(self.aim.tempo + steps * STEP))
        if self.room.phase is Phase.PLAYING:
            self.again()
        else:
            self._outlets.show()

    def look(self, room: Room) -> None:
        """Draw more, less or otherwise; the beat goes on."""
        self._seen = self._seen or not room.hidden
        self.room = room
        self._outlets.show()

    def hear(self, heard: Iterable[SeatHeard]) -> None:
        """Take what was heard of some seats in the round that is played, or was last and is not marked yet."""
        self.marking = self.marking.hear(heard)
        if self.heard is not None:
            self.heard()

    def mark(self, marking: Marking) -> None:
        """Take the marks as they stand."""
        self.marking = marking

    def finish(self) -> None:
        """Keep the round as it is marked, and let the tempo follow."""
        if self.group is None or self.room.phase is not Phase.OVER:
            return
        how = How.READ if self._seen else How.RECALLED
        done = Round(self.aim.tempo, self.room.part.pairs, self.marking.results(), how)
        self.said = self.group.keep(self.room.drill, done, self._began)
        self.last, self.aim, self.marking = done, self.aim.after(done.share), self.marking.again()
        self.room = self.room.stopped()
        self._outlets.show()

    def drop(self) -> None:
        """Leave the round that was played unmarked: nothing is kept of it, and the tempo stays."""
        self.marking = self.marking.again()
        self._stand(self.room.stopped())

    def close(self) -> None:
        """Let go of all that sounds."""
        self._closed = True
        self._beating.close()
        self.ears.close()

    def _play(self, room: Room) -> None:
        """Count in, and play `room` on from where it stands."""
        self.room, self.last, self.said, self.played = room, None, "", True
        self._seen = self._seen or not room.hidden
        self._began = self._services.clock()
        moments = self._beating.begin(room.drill, self.aim.tempo, room.per_beat)
        self.ears.begin(room, moments, self.aim.tempo)
        self._outlets.show()

    def _stand(self, room: Room) -> None:
        self._beating.end()
        self.ears.stop()
        self.room, self.last = room, None
        self._outlets.show()

    def _go_on(self) -> None:
        """Go on by a part of a beat, as one has fallen."""
        before = self.room
        self.room = before.tick()
        moment = self.room.moment
        if self.room.phase is Phase.OVER:
            self._beating.end()
            self.hear(self.ears.over())
            if self.group is not None:
                self._outlets.over()
        elif self.room.ticks % self.room.per_beat == 0:
            self._beating.bell()
            if moment.beat == 1:
                self.ears.keep_pace()
        if self.room.phase is Phase.OVER or moment != before.moment or before.ticks < 0:
            self._outlets.show()

    def _listened(self) -> None:
        """Show what is new of the guitars, on the screen that is seen."""
        if not self._closed:
            (self.heard or self._outlets.show)()

    def _say(self, text: str) -> None:
        if not self._closed:
            self.said = text
            self._outlets.show()
