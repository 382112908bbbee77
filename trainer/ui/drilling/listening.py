"""The guitar beside a session: what a listener reports goes in, changes heard and pedal calls come out. No Textual."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.listen.decoder import Call
from trainer.listen.ear import Ear, Heard
from trainer.listen.entries import Entry
from trainer.listen.matcher import Grid, Reading
from trainer.practice.course import Course
from trainer.practice.drill import Drill, Order
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteEvent, NoteOn
from trainer.practice.wiring import Wiring

TICK_S = 0.02
"""How often the ear is told the time: a landing that waits for nothing else is confirmed within this."""


class Guitar(Protocol):
    """The part of `files.guitars.Guitar` that is needed."""

    @property
    def wiring(self) -> Wiring:
        """How it speaks."""

    @property
    def calibration(self) -> str:
        """Which latency is taken off, in words."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """What can be shown of a guitar at this moment."""

    port: str
    """Its port; empty where none has been found yet."""
    calibration: str
    """Which latency is taken off, in words."""
    connected: bool
    """False while the port is lost."""
    trouble: str
    """What went wrong last; empty where nothing has."""
    reading: Reading | None
    """What is being played, its step one of the drill's; None where nothing can be told."""


@dataclass(frozen=True, slots=True)
class Outlets:
    """Where what was heard goes; all are called on the loop's own thread."""

    changed: Callable[[HeardChange, str, str], None]
    """A change, the port it came from and the calibration used."""
    called: Callable[[Call], None]
    """A command that a pedal calls."""
    plucked: Callable[[NoteOn], None]
    """A note was struck."""
    show: Callable[[], None]
    """There may be something new to show."""


@dataclass(frozen=True, slots=True)
class Listened:
    """The shapes an ear listens for: a drill cut to a course, and which steps of the whole drill they are."""

    drill: Drill
    """With the steps of the course alone, in its order."""
    steps: tuple[int, ...]
    """Index in the whole drill of each of its steps."""


def listened(drill: Drill, course: Course) -> Listened:
    """Return what to listen for while `course` is practised: one round of it, in a ring where it comes round."""
    steps = (course.pairs[0][0], *(after for _, after in course.pairs))
    ring = steps[0] == steps[-1]
    steps = steps[:-1] if ring else steps
    cut = replace(
        drill,
        steps=tuple(drill.steps[step] for step in steps),
        order=Order.RING if ring else Order.ONCE,
        segments=(),
    )
    return Listened(cut, steps)


class Listening:
    """One player's guitar at one course. The first port that is found is theirs until another one plays."""

    def __init__(
        self,
        drill: Drill,
        guitar: Callable[[str], Guitar],
        outlets: Outlets,
        now: Callable[[], float],
        keep: Callable[[str, Wiring, float], Callable[[Entry], None]] | None = None,
    ) -> None:
        """Listen for all of `drill`; `guitar` tells what is known of the guitar on a port.

        `keep` begins a take of a port, its wiring and a moment, and returns what takes its entries.
        """
        self._drill, self._known = drill, guitar
        self._outlets, self._now, self._keep = outlets, now, keep
        self._listened = Listened(drill, tuple(range(len(drill.steps))))
        self._port = ""
        self._connected = False
        self._trouble = ""
        self._ear: Ear | None = None
        self._first = 0
        self._grid: Grid | None = None
        self._index = 0
        self._newest = -1
        self._played = False

    @property
    def hearing(self) -> Hearing:
        """What can be shown at this moment."""
        return Hearing(self._port, self._guitar.calibration, self._connected, self._trouble, self._reading())

    @property
    def origin(self) -> float | None:
        """When the ear began that hears now, which is the start of its take; None where none does."""
        return None if self._ear is None else self._ear.origin

    def take_course(self, course: Course, step: int) -> None:
        """Listen for `course` from here on, beginning with step `step` of the drill."""
        self._finish()
        self._listened = listened(self._drill, course)
        self._first = self._inside(step)
        self._grid = None
        self._begin()

    def take_in(self, batch: tuple[Report, ...]) -> None:
        """Take what the listener reports."""
        for report in batch:
            match report:
                case Arrival():
                    self._arrived(report)
                case Found():
                    self._found(report)
                case Lost() if report.port == self._port:
                    self._connected = False
                    if self._ear is not None:
                        self._heard(self._ear.lost(report.at))
                case Trouble() if report.port in {self._port, ""}:
                    self._trouble = report.what
                case _:
                    pass
        self._outlets.show()

    def tick(self) -> None:
        """Let time pass; only what it brings to light is to be shown."""
        if self._ear is not None:
            heard = self._ear.tick(self._now())
            self._heard(heard)
            if heard.changes:
                self._outlets.show()

    def expect(self, step: int) -> None:
        """Listen anew: the player begins with step `step` of the drill."""
        self._first = self._inside(step)
        if self._ear is not None:
            self._heard(self._ear.expect(self._first, self._now()))

    def pace(self, at: float, beat_s: float, step: int) -> None:
        """Measure by a beat: its first, on which step `step` of the drill begins, falls at `at`."""
        self._first = self._inside(step)
        self._grid = Grid(at, beat_s, self._first)
        if self._ear is not None:
            self._heard(self._ear.expect(self._first, self._now()))
            self._heard(self._ear.pace(self._grid, self._now()))

    def keep_pace(self, at: float, beat_s: float) -> None:
        """Set right where the beat under way lies, which is known better now; nothing else changes."""
        if self._grid is not None and (at, beat_s) != (self._grid.at, self._grid.beat_s):
            self._grid = replace(self._grid, at=at, beat_s=beat_s)
            if self._ear is not None:
                self._heard(self._ear.pace(self._grid, self._now()))

    def at_ease(self) -> None:
        """Measure out of tempo from here on."""
        self._grid = None
        if self._ear is not None:
            self._heard(self._ear.pace(None, self._now()))

    def close(self) -> None:
        """End the playing; what is left is graded."""
        self._finish()

    def _arrived(self, arrival: Arrival) -> None:
        if arrival.port != self._port:
            if self._played and self._connected:
                return  # somebody else's guitar
            self._take_port(arrival.port)
        if self._ear is not None:
            self._played = True
            self._heard(self._ear.hear(arrival.at, arrival.data))

    def _found(self, found: Found) -> None:
        if found.port == self._port:
            self._connected, self._trouble = True, ""
        elif not self._connected and (not self._port or not self._played):
            self._take_port(found.port)

    def _take_port(self, port: str) -> None:
        self._finish()
        self._port, self._connected, self._trouble, self._played = port, True, "", False
        self._begin()

    def _begin(self) -> None:
        if not self._port:
            return
        now, guitar = self._now(), self._guitar
        keep = None if self._keep is None else self._keep(self._port, guitar.wiring, now)
        self._index = self._newest + 1
        self._ear = Ear(self._listened.drill, guitar.wiring, grid=self._grid, first=self._first, origin=now, keep=keep)

    def _finish(self) -> None:
        if self._ear is not None:
            self._heard(self._ear.finish())
            self._ear = None

    @property
    def _guitar(self) -> Guitar:
        return self._known(self._port)

    def _heard(self, heard: Heard) -> None:
        for note in heard.notes:
            self._pluck(note)
        if any(change.landed and not change.done for change in heard.changes):
            self._trouble = ""  # that is over
        for change in heard.changes:
            moved = self._outside(change)
            self._newest = max(self._newest, moved.index)
            self._outlets.changed(moved, self._port, self._guitar.calibration)
        for call in heard.calls:
            self._outlets.called(call)

    def _pluck(self, note: NoteEvent) -> None:
        if isinstance(note, NoteOn):
            self._outlets.plucked(note)

    def _outside(self, change: HeardChange) -> HeardChange:
        """Return a change with its shapes as steps of the whole drill, and an index no other of the session has."""
        steps = self._listened.steps
        return replace(change, index=self._index + change.index, before=steps[change.before], after=steps[change.after])

    def _inside(self, step: int) -> int:
        return self._listened.steps.index(step) if step in self._listened.steps else 0

    def _reading(self) -> Reading | None:
        if self._ear is None or not self._connected:
            return None
        reading = self._ear.reading
        return replace(reading, step=self._listened.steps[reading.step])
