"""The guitars of a class: a port a seat, each heard and graded apart while a round is played. No Textual.

Nothing has to be known before a round is over, so a note costs its own ear's work and nothing else: no clock runs for
the ears, and nothing is shown for a note. A class strikes on the beat, which is when the screen is drawn; so notes are
taken in by the listener's own thread, and only the rest of what it reports goes over to the loop's.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from threading import Thread
from typing import TYPE_CHECKING, NoReturn

from trainer.errors import plain
from trainer.listen.arrival import Arrival, Found, Lost, Trouble
from trainer.listen.decoder import Call, Decoder
from trainer.listen.matcher import Grid
from trainer.practice.notes import NoteOn
from trainer.practice.rounds import SeatHeard
from trainer.ui.drilling.listening import listened
from trainer.ui.room.graded import dues
from trainer.ui.room.round_heard import ABSENT, GONE, HALF_HEARD, Player, RoundHeard

if TYPE_CHECKING:
    from trainer.files.guitars import Guitar
    from trainer.listen.arrival import Report
    from trainer.practice.drill import Drill
    from trainer.practice.room import Room
    from trainer.sound.beat import Moments
    from trainer.ui.drilling.scheduler import Scheduler
    from trainer.ui.room.desk import Group, Seat
    from trainer.ui.services import PortListener, Services

_TURN_S = 0.001
"""How long the interpreter lets one thread have its way while another one waits, as long as a round is played: a note
waits no longer for the screen."""
_USUAL_TURN_S = sys.getswitchinterval()
LOUD = 16
"""What is struck softer than this (MIDI velocity) is no answer to who plays where: handling noise, or a neighbour's
string that sounds along. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Outlets:
    """Where what happens goes; all are called on the loop's own thread."""

    called: Callable[[Call], None]
    """A pedal that is at no seat was trodden."""
    show: Callable[[], None]
    """There may be something new to show."""


class Ears:
    """Hears the seats that have a port, from the first beat counted in to the end of the round."""

    def __init__(
        self, services: Services, drill: Drill, group: Group | None, scheduler: Scheduler, outlets: Outlets
    ) -> None:
        """Open nothing yet; without a `group` only pedals are heard."""
        self._services, self._drill, self._group = services, drill, group
        self._scheduler, self._outlets = scheduler, outlets
        seats = () if group is None else group.seats
        self._ports = {seat.id: seat.port for seat in seats if seat.port is not None}
        self._there: set[str] = set()
        self._decoders: dict[str, Decoder] = {}
        self._listener: PortListener | None = None
        self._round: RoundHeard | None = None
        self._asked: Seat | None = None
        self.said = ""
        """What there is to say of who plays where; empty: nothing."""
        self.trouble = ""
        """Why no guitar is heard; empty: there is no such reason."""
        self.left: Mapping[str, str] = {}
        """Why a seat that has a port was left to be marked by hand in the round that was last, by seat."""

    @property
    def there(self) -> tuple[int, int]:
        """How many of the seats' ports are there, and of how many."""
        return sum(port in self._there for port in self._ports.values()), len(self._ports)

    def start(self) -> None:
        """Listen where a seat has a port, or a pedal may be known; starting again changes nothing."""
        if self._ports or self._services.guitars:
            self._listen()

    def begin(self, room: Room, moments: Moments, tempo: float) -> None:
        """Hear the round that `room` begins, whose beats fall at `moments`; what was heard of one before is dropped."""
        self.stop()
        if not self._ports:
            return
        heard = listened(self._drill, room.course)
        asked = dues(room, heard, moments)
        if not asked:
            return
        bar = Fraction(self._drill.meter[0])
        grid = Grid(moments(bar), 60 / tempo, asked[0].pair[0])
        why = {port: "" if port in self._there else ABSENT for port in self._ports.values()}
        new = self._round = RoundHeard(heard.drill, asked, grid, lambda: moments(bar), why)
        wirings, now = {port: self._guitar(port).wiring for port in why}, self._services.clock()

        def take(players: dict[str, Player] | str) -> None:
            if isinstance(players, str):
                self.trouble = f"No guitar can be heard at this drill: {plain(players)}."
            else:
                new.players = players

        # An ear takes some milliseconds to get ready, and there may be many: the first beat is not to wait for them.
        self._scheduler.aside(lambda: new.ready(wirings, now), take)
        sys.setswitchinterval(_TURN_S)

    def keep_pace(self) -> None:
        """Set right where the beats lie, where that shows only while they run."""
        if self._round is not None:
            self._round.keep_pace(self._services.clock())

    def stop(self) -> None:
        """Drop what was heard of the round."""
        self._round, self.left = None, {}
        sys.setswitchinterval(_USUAL_TURN_S)

    def over(self) -> tuple[SeatHeard, ...]:
        """End the round and return what was heard of each seat that was heard from beginning to end."""
        played = self._round
        self.stop()
        if played is None:
            return ()
        told = {seat: played.told(seat, port) for seat, port in self._ports.items()}
        self.left = {seat: one for seat, one in told.items() if isinstance(one, str)}
        return tuple(one for one in told.values() if isinstance(one, SeatHeard))

    def bind(self, seat: Seat | None) -> None:
        """Let the next string that is played say which port `seat` has; None: ask no more."""
        self._asked = seat
        self.said = "" if seat is None else self.trouble or f"seat {seat.number}: play a string"
        if seat is not None:
            self._listen()
        self._outlets.show()

    def close(self) -> None:
        """Stop listening, aside: a driver may take its time."""
        self.stop()
        if self._listener is not None:
            closing = Thread(target=self._listener.close, name="closing ports", daemon=True)
            self._listener = None
            self._services.ending.append(closing.join)
            closing.start()

    def _take_in(self, batch: tuple[Report, ...]) -> None:
        """Take what is not part of a round."""
        for report in batch:
            if isinstance(report, Arrival):
                self._between(report)
            else:
                self._changed(report)
        if not all(isinstance(report, Arrival) for report in batch):
            self._outlets.show()

    def _changed(self, report: Found | Lost | Trouble) -> None:
        """Take what has become of a port."""
        match report:
            case Found():
                self._there.add(report.port)
                self.trouble = ""
            case Lost():
                self._there.discard(report.port)
                self._decoders.pop(report.port, None)
                self._leave(report.port, GONE)
            case Trouble() if report.port:
                self._leave(report.port, HALF_HEARD)
            case Trouble() if self._ports or self._asked:
                self.trouble = plain(f"No guitar is heard: {report.what}.")
            case _:
                pass

    def _leave(self, port: str, why: str) -> None:
        """Leave the seat at a port to be marked by hand in the round that is played."""
        if self._round is not None and self._round.why.get(port) == "":
            self._round.why[port] = why

    def _listen(self) -> None:
        if self._listener is None:
            # All ports: a pedal may be at none of the seats, and who plays where may still be asked.
            self._listener = self._services.listen(None, self._deliver, self._services.clock)
            self._listener.start()

    def _deliver(self, batch: tuple[Report, ...]) -> None:
        """Take a batch in the listener's thread: what the round has no use for goes over to the loop's."""
        under_way = self._round
        try:
            rest = batch if under_way is None else tuple(report for report in batch if not under_way.hear(report))
        except Exception as error:
            fault = error
            self._scheduler.soon(lambda: _fail(fault))
            return
        if rest:
            self._scheduler.soon(lambda: self._take_in(rest))

    def _between(self, arrival: Arrival) -> None:
        """Take a message of a port that is not heard in a round: a pedal's, or the answer to who plays where."""
        at_seat = arrival.port in self._ports.values()
        if at_seat and self._asked is None:
            return
        decoder = self._decoders.get(arrival.port)
        if decoder is None:
            decoder = self._decoders[arrival.port] = Decoder(self._guitar(arrival.port).wiring)
        for one in decoder.feed(arrival.at, arrival.data):
            if isinstance(one, Call) and not at_seat:
                self._outlets.called(one)
            elif isinstance(one, NoteOn) and self._asked is not None and one.velocity >= LOUD:
                self._bound(self._asked, arrival.port)

    def _bound(self, seat: Seat, port: str) -> None:
        """Take a port for a seat; whoever had it has none any more."""
        self._asked = None
        self._ports = {one: other for one, other in self._ports.items() if other != port} | {seat.id: port}
        why = "" if self._group is None or self._group.bind is None else self._group.bind(seat.id, port)
        self.said = plain(why or f"seat {seat.number} plays on {port}")
        self._outlets.show()

    def _guitar(self, port: str) -> Guitar:
        return self._services.guitar(port).on(self._drill.instrument)


def _fail(error: Exception) -> NoReturn:
    """Let what went wrong on the listener's thread end the program as if it had gone wrong on the loop's."""
    raise error
