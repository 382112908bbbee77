"""Filters against the faults of a pitch tracker: ghosts, impossible pitches, double triggers. A stage of its own.

Events go in one by one in the order in which they arrive, and come out with their own times, some of them later, some
not at all. What is held back is released by the time that later events tell, or by a tick.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum

from trainer.fretboard.instrument import Instrument
from trainer.listen.matcher.settings import Filters
from trainer.listen.matcher.sounding import Key
from trainer.practice.notes import Bend, NoteEvent, NoteOff, NoteOn

_BENT = 0.5
"""Semitones of bend from which a note that begins would sound at another pitch."""


class Reason(StrEnum):
    """Why an event was taken out."""

    SOFT = "softer than any stroke"
    """Below the velocity floor."""
    IMPOSSIBLE = "not on that string"
    """A pitch that the string has not."""
    GHOST = "soft and short"
    """A ghost note."""
    DOUBLE = "triggered twice"
    """A second note-on for one pluck."""


@dataclass(slots=True)
class _Held:
    """An event that waits."""

    due: float
    event: NoteOn | NoteOff
    bent: bool = False


class FaultFilter:
    """Takes a tracker's faults out of a stream of note events."""

    def __init__(self, instrument: Instrument, filters: Filters) -> None:
        self._filters = filters
        self._ranges: dict[int | None, tuple[int, int]] = {
            string: (instrument.pitch(string, 0), instrument.pitch(string, instrument.top_fret))
            for string in range(1, instrument.strings + 1)
        }
        lows, highs = zip(*self._ranges.values(), strict=True)
        self._ranges[None] = (min(lows), max(highs))
        self._struck: dict[Key, float] = {}
        self._held: list[_Held] = []
        self._bends: dict[int | None, float] = {}
        self.taken: Counter[Reason] = Counter()
        """How many events were taken out, by reason."""

    def feed(self, event: NoteEvent) -> list[NoteEvent]:
        """Return the events that pass now that `event` has come."""
        passed = self.tick(event.at)
        if isinstance(event, NoteOn):
            passed += self._on(event)
        elif isinstance(event, NoteOff):
            passed += self._off(event)
        else:
            passed += self._bend(event)
        return passed

    def tick(self, now: float) -> list[NoteEvent]:
        """Return what was held back and has waited long enough at `now`."""
        if not self._held:
            return []
        due = sorted((held for held in self._held if held.due <= now), key=lambda held: held.due)
        if due:
            self._held = [held for held in self._held if held.due > now]
        return [held.event for held in due]

    def flush(self) -> list[NoteEvent]:
        """Return everything that is held back: there are no more events."""
        return self.tick(float("inf"))

    def _on(self, event: NoteOn) -> list[NoteEvent]:
        reason = self._fault(event)
        if reason is not None:
            self.taken[reason] += 1
            return []
        key = (event.string, event.pitch)
        self._struck[key] = event.at
        bent = abs(self._bends.get(event.string, 0.0)) >= _BENT
        wait = self._filters.settle_s if bent else 0.0
        if event.velocity < self._filters.quiet:
            wait = max(wait, self._filters.ghost_s)
        if not wait:
            return [event]
        self._held.append(_Held(event.at + wait, event, bent))
        return []

    def _bend(self, event: Bend) -> list[NoteEvent]:
        """Pass a bend, and after it the note that waited for it."""
        self._bends[event.string] = event.semitones
        settled = [
            held
            for held in self._held
            if held.bent and held.event.string == event.string and _loud(held.event, self._filters)
        ]
        self._held = [held for held in self._held if held not in settled]
        return [event, *(held.event for held in settled)]

    def _fault(self, event: NoteOn) -> Reason | None:
        if event.velocity < self._filters.floor:
            return Reason.SOFT
        low, high = self._ranges.get(event.string, self._ranges[None])
        if not low <= event.pitch <= high:
            return Reason.IMPOSSIBLE
        key = (event.string, event.pitch)
        before = self._struck.get(key)
        if before is not None and 0 <= event.at - before < self._filters.retrigger_s:
            # The end in between, if there was one, was no end.
            self._held = [held for held in self._held if not _ends(held.event, key)]
            return Reason.DOUBLE
        return None

    def _off(self, event: NoteOff) -> list[NoteEvent]:
        key = (event.string, event.pitch)
        for held in self._held:
            if isinstance(held.event, NoteOn) and (held.event.string, held.event.pitch) == key:
                self._held.remove(held)
                if _loud(held.event, self._filters):
                    return [held.event, event]
                self._struck.pop(key, None)
                self.taken[Reason.GHOST] += 1
                return []
        struck = self._struck.get(key)
        if struck is not None and 0 <= event.at - struck < self._filters.retrigger_s:
            self._held.append(_Held(struck + self._filters.retrigger_s, event))
            return []
        return [event]


def _loud(event: NoteOn | NoteOff, filters: Filters) -> bool:
    return isinstance(event, NoteOn) and event.velocity >= filters.quiet


def _ends(event: NoteOn | NoteOff, key: Key) -> bool:
    return isinstance(event, NoteOff) and (event.string, event.pitch) == key
