"""What is to be heard of one step of a drill."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from trainer.errors import wrong
from trainer.listen.matcher.sounding import FAULTY_INTERVALS, Key
from trainer.practice.drill import Drill, Step
from trainer.practice.record import Texture

NO_NOTE = 0
"""What `Template.fill` returns for a note that the step has not."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One note that is to be heard."""

    stroke: int
    """Number of its stroke within the step, from 0."""
    beat: float
    """When it is plucked, 1 is the step's first beat."""
    string: int
    """Its string."""
    pitch: int
    """Its MIDI note."""
    fret: int
    """0 is the open string."""
    voice: str
    """Bass, inner or melody."""
    until: float | None
    """The beat until which it is to sound; None where its own string strikes again before that."""


@dataclass(frozen=True)
class Template:
    """The notes of one step. Sets of slots are bit masks: bit i stands for `slots[i]`."""

    step: Step
    """The step."""
    slots: tuple[Slot, ...]
    """Block or rolled: one for each plucked string. Figure: one for each pluck. In order of strokes."""

    @property
    def figure(self) -> bool:
        """True where the notes have beats of their own."""
        return self.step.texture is Texture.FIGURE

    @cached_property
    def beats(self) -> float:
        """How long the step lasts."""
        return float(self.step.beats)

    @cached_property
    def full(self) -> int:
        """Every slot."""
        return (1 << len(self.slots)) - 1

    @cached_property
    def wanted(self) -> int:
        """The slots without which the step has not landed: all of them, of a figure those of its last stroke."""
        if not self.figure:
            return self.full
        return sum(1 << index for index, slot in enumerate(self.slots) if slot.stroke == self.slots[-1].stroke)

    @cached_property
    def keys(self) -> frozenset[Key]:
        """(string, pitch) of every slot."""
        return frozenset((slot.string, slot.pitch) for slot in self.slots)

    @cached_property
    def by_key(self) -> dict[Key, tuple[int, ...]]:
        """The slots that a note can fill, in order, by its key; keys without a string included."""
        found: dict[Key, list[int]] = {}
        for index, slot in enumerate(self.slots):
            found.setdefault((slot.string, slot.pitch), []).append(index)
            found.setdefault((None, slot.pitch), []).append(index)
        return {key: tuple(indices) for key, indices in found.items()}

    @cached_property
    def octaves(self) -> dict[Key, int]:
        """The slot that a note heard an octave off, or a twelfth above, stands for, by its key."""
        found: dict[Key, int] = {}
        for key, indices in self.by_key.items():
            for interval in FAULTY_INTERVALS:
                found.setdefault((key[0], key[1] + interval), indices[0])
        return {key: index for key, index in found.items() if key not in self.by_key}

    def fill(self, filled: int, stroke: int, key: Key) -> int:
        """Return the slots that a note fills after `filled`, with strokes up to `stroke` begun.

        `NO_NOTE` where the step has no such note; slots already filled where it is one struck again. A note fills the
        first open slot at or after the stroke reached, else the first open one, else its last. Without a string it
        fills every slot of that pitch in the same stroke: two strings in unison cannot be told apart.
        """
        indices = self.by_key.get(key)
        if indices is None:
            return NO_NOTE
        if len(indices) == 1:
            return 1 << indices[0]
        still = [index for index in indices if not filled >> index & 1]
        ahead = [index for index in still if self.slots[index].stroke >= stroke]
        chosen = (ahead or still or [indices[-1]])[0]
        if key[0] is not None:
            return 1 << chosen
        reached = self.slots[chosen].stroke
        return sum(1 << index for index in indices if not self.figure or self.slots[index].stroke == reached)

    def landed(self, filled: int) -> bool:
        """Tell whether enough slots are filled for the step to have landed, if none was lost."""
        return filled & self.wanted == self.wanted

    def within(self, mask: int) -> list[int]:
        """Return the indices of the slots in `mask`."""
        return [index for index in range(len(self.slots)) if mask >> index & 1]


def templates(drill: Drill) -> tuple[Template, ...]:
    """Return what is to be heard of each step. Raises ChangeoverError where no step can be heard."""
    found = tuple(Template(step, tuple(_slots(step, drill))) for step in drill.steps)
    if not any(template.slots for template in found):
        raise wrong("no shape of this drill sounds", key="steps", hint="at least one string must be plucked")
    return found


def _slots(step: Step, drill: Drill) -> Iterable[Slot]:
    plucked = step.plucked
    seen: set[int] = set()
    for number, stroke in enumerate(plucked.strokes):
        for string in sorted(stroke.strings, reverse=True):
            stop = step.shape[string]
            if stop is None or (step.texture is not Texture.FIGURE and string in seen):
                continue
            seen.add(string)
            voice = plucked.voice(string)
            last = step.texture is not Texture.FIGURE or plucked.last(string) == stroke.beat
            until = plucked.free(string) if last else None
            yield Slot(
                number,
                float(stroke.beat),
                string,
                drill.instrument.pitch(string, stop.fret),
                stop.fret,
                voice,
                None if until is None else float(until),
            )
