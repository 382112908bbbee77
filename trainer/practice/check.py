"""A shape that was taken in silence, checked string by string with slow plucks: nothing is timed, nothing logged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import note_name
from trainer.fretboard.shape import Shape


@dataclass(frozen=True, slots=True)
class Check:
    """What was plucked of a shape so far."""

    wanted: Mapping[int, int]
    """MIDI note of each string that sounds in the shape."""
    heard: Mapping[int, int] = field(default_factory=lambda: MappingProxyType({}))
    """MIDI note heard last on each string that was plucked."""
    newest: int | None = None
    """The string plucked last; None where none was, or it cannot be told."""

    def pluck(self, string: int | None, pitch: int) -> Check:
        """Return the check after one more note.

        A note whose string is not known goes to a string that wants it, one not yet right before others; one that no
        string wants is passed over.
        """
        if string is None:
            wanting = [each for each, note in self.wanted.items() if note == pitch]
            string = next((each for each in wanting if each not in self.right), wanting[0] if wanting else None)
        if string is None:
            return replace(self, newest=None)
        return replace(self, heard=MappingProxyType({**self.heard, string: pitch}), newest=string)

    @property
    def right(self) -> tuple[int, ...]:
        """Strings that sounded as they should."""
        return tuple(string for string, pitch in self.heard.items() if self.wanted.get(string) == pitch)

    @property
    def wrong(self) -> tuple[int, ...]:
        """Strings that sounded something else, or should not sound."""
        return tuple(string for string, pitch in self.heard.items() if self.wanted.get(string) != pitch)

    @property
    def left(self) -> tuple[int, ...]:
        """Strings still to be plucked, last string first."""
        return tuple(sorted((string for string in self.wanted if string not in self.heard), reverse=True))

    @property
    def words(self) -> str:
        """What to say after the last pluck."""
        if self.newest in self.wrong and self.newest is not None:
            return self._fault(self.newest)
        if self.left:
            first = self.left[0]
            return f"String {first} next." if self.heard else f"Pluck string by string, from string {first}."
        return self._fault(self.wrong[0]) if self.wrong else "Every string sounds as it should."

    def _fault(self, string: int) -> str:
        heard = note_name(self.heard[string])
        if string not in self.wanted:
            return f"String {string} sounds {heard} and should be silent."
        return f"String {string} sounds {heard}, not {note_name(self.wanted[string])}: look at its finger."


def check(shape: Shape, instrument: Instrument) -> Check:
    """Return the check of `shape` before anything was plucked."""
    return Check(
        MappingProxyType({string: instrument.pitch(string, stop.fret) for string, stop in shape if not stop.silent})
    )
