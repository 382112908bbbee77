"""An ear for one player: MIDI messages in, heard changes and pedal calls out. The only way to a matcher.

Live or from a file, it is the same: an ear tells what it takes in as it goes (`keep`), and an ear that is given that
again (`replay`) gives the same changes. Three rules make it so. Times are rounded to the take's grid before anything
is done with them. Whatever is done to the matcher from outside comes after the time until then has passed. And where
time was let pass further than the matcher's slack allows for an event still on its way, that is kept too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from trainer.listen import wire
from trainer.listen.decoder import Call, Decoder
from trainer.listen.entries import Broke, Entry, Expected, Message, Paced, Waited, on_grid
from trainer.listen.matcher import Grid, Matcher, Reading, Settings
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteEvent
from trainer.practice.wiring import Wiring

_DEFAULTS = Settings()


@dataclass(frozen=True, slots=True)
class Heard:
    """What came of something that an ear took in."""

    changes: tuple[HeardChange, ...] = ()
    """Each change twice: landed, and done; one that did not land once, done (`listen.matcher.Matcher`)."""
    calls: tuple[Call, ...] = ()
    """Commands that pedals call."""
    notes: tuple[NoteEvent, ...] = ()
    """The note events it was decoded to, latency taken off, before any filter."""


_NOTHING = Heard()


class Ear:
    """Hears one player at one drill. Moments in and out are on one clock, of which `origin` is the take's start."""

    def __init__(
        self,
        drill: Drill,
        wiring: Wiring,
        settings: Settings = _DEFAULTS,
        grid: Grid | None = None,
        first: int = 0,
        *,
        origin: float = 0.0,
        keep: Callable[[Entry], None] | None = None,
    ) -> None:
        """Get ready to hear `drill` from step `first`; `grid` where it is played in tempo.

        `keep` is called with each thing taken in, before anything comes of it. Raises ChangeoverError where no step of
        the drill can be heard, or a shape does not fit its instrument.
        """
        self._origin = on_grid(origin)
        self._keep = keep
        self._slack_s = settings.slack_s
        self._wire = wire.Wire()
        self._decoder = Decoder(wiring)
        self._matcher = Matcher(drill, replace(settings, levelled=settings.levelled or wiring.levelled))
        self._standing = 0
        self._newest = 0.0
        self._waited = 0.0
        self._unkept: float | None = None
        if first:
            self.expect(first, origin)
        if grid is not None:
            self.pace(grid, origin)

    @property
    def origin(self) -> float:
        """When the take started, on the clock of the moments given."""
        return self._origin

    @property
    def reading(self) -> Reading:
        """What is being played at this moment."""
        return self._matcher.reading

    @property
    def standing(self) -> int:
        """Index of the step that the player was last known to have reached, or is expected to begin with."""
        return self._standing

    def hear(self, at: float, data: bytes) -> Heard:
        """Take bytes that arrived at `at`: whole messages, or any part of a stream."""
        return self._joined(
            [self._message(Message(self._inside(at), message.data)) for message in self._wire.feed(data)]
        )

    def tick(self, now: float) -> Heard:
        """Let time pass; `now` is not before the last event was handled."""
        return self._outside(self._wait(self._inside(now)))

    def expect(self, step: int, at: float) -> Heard:
        """Expect `step` from `at` on; what had landed is given as done, what had not is dropped and never given."""
        return self._outside(self._expect(Expected(self._inside(at), step)))

    def pace(self, grid: Grid | None, at: float) -> Heard:
        """Take the beats from `grid` from `at` on; None: out of tempo."""
        if grid is not None:
            grid = replace(grid, at=self._inside(grid.at))
        return self._outside(self._pace(Paced(self._inside(at), grid)))

    def lost(self, at: float) -> Heard:
        """Take in that the port was lost: what sounded ends, what was under way is dropped, the last shape is expected.

        What had landed is given as done.
        """
        return self._outside(self._break(Broke(self._inside(at))))

    def finish(self) -> Heard:
        """End the playing and return what is left; nothing more may be taken in."""
        return self._outside(Heard(self._matcher.finish()))

    def replay(self, entry: Entry) -> Heard:
        """Take in what an ear has kept; its moments are seconds from the start of the take."""
        match entry:
            case Message():
                return self._outside(self._message(entry))
            case Waited():
                return self._outside(self._wait(entry.at))
            case Expected():
                return self._outside(self._expect(entry))
            case Paced():
                return self._outside(self._pace(entry))
            case Broke():
                return self._outside(self._break(entry))

    def _message(self, message: Message) -> Heard:
        if message.at < self._newest:
            # A file cannot go back in time; a port does not.
            message = replace(message, at=self._newest)
        self._newest = message.at
        decoded = self._decoder.feed(message.at, message.data)
        notes: tuple[NoteEvent, ...] = tuple(one for one in decoded if not isinstance(one, Call))
        calls = () if len(notes) == len(decoded) else tuple(one for one in decoded if isinstance(one, Call))
        unkept = self._unkept
        if unkept is not None and any(note.at < unkept - self._slack_s for note in notes):
            self._unkept = None
            self._kept(Waited(unkept))
        self._kept(message)
        return Heard(self._feed(notes), calls, notes)

    def _wait(self, now: float) -> Heard:
        self._waited = self._unkept = max(self._waited, now)
        return Heard(self._stand(self._matcher.tick(self._waited)))

    def _expect(self, expected: Expected) -> Heard:
        at, passed = self._pass_time(expected.at)
        self._kept(replace(expected, at=at))
        self._standing = expected.step
        return Heard(passed + self._matcher.restart(expected.step))

    def _pace(self, paced: Paced) -> Heard:
        at, passed = self._pass_time(paced.at)
        self._kept(replace(paced, at=at))
        self._matcher.pace(paced.grid)
        return Heard(passed)

    def _break(self, broke: Broke) -> Heard:
        at, passed = self._pass_time(broke.at)
        self._kept(Broke(at))
        # Begun anew before the ends are told: nobody let go of anything.
        passed += self._matcher.restart(self._standing)
        self._wire = wire.Wire()
        self._newest = max(self._newest, at)
        ends = tuple(one for one in self._decoder.close(at) if not isinstance(one, Call))
        return Heard(passed + self._feed(ends), (), ends)

    def _feed(self, notes: tuple[NoteEvent, ...]) -> tuple[HeardChange, ...]:
        found: tuple[HeardChange, ...] = ()
        for note in notes:
            found += self._matcher.feed(note)
        return self._stand(found)

    def _stand(self, changes: tuple[HeardChange, ...]) -> tuple[HeardChange, ...]:
        for change in changes:
            if change.landed or change.done:
                self._standing = change.after
        return changes

    def _pass_time(self, until: float) -> tuple[float, tuple[HeardChange, ...]]:
        """Let time pass before something is done from outside; return when it is done, and what the time brought."""
        passed = self._wait(until).changes
        # What is kept of it says so by its moment.
        self._unkept = None
        return self._waited, passed

    def _kept(self, entry: Entry) -> None:
        if self._keep is not None:
            self._keep(entry)

    def _inside(self, at: float) -> float:
        """Return a moment given as one of the take."""
        return on_grid(at - self._origin)

    def _outside(self, heard: Heard) -> Heard:
        """Return what came of something, on the clock of the moments given."""
        origin = self._origin
        if origin == 0 or heard is _NOTHING:
            return heard
        return Heard(
            tuple(_moved(change, origin) for change in heard.changes),
            tuple(replace(call, at=call.at + origin) for call in heard.calls),
            tuple(replace(note, at=note.at + origin) for note in heard.notes),
        )

    def _joined(self, parts: list[Heard]) -> Heard:
        if not parts:
            return _NOTHING
        if len(parts) == 1:
            return self._outside(parts[0])
        return self._outside(
            Heard(
                tuple(change for part in parts for change in part.changes),
                tuple(call for part in parts for call in part.calls),
                tuple(note for part in parts for note in part.notes),
            )
        )


def _moved(change: HeardChange, by: float) -> HeardChange:
    landed = change.landed_s
    return replace(change, struck_s=change.struck_s + by, landed_s=None if landed is None else landed + by)
