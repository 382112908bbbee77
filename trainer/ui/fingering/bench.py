"""The fingering bench as a value: what is asked of the search, what is looked at, and the way back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType
from typing import TypeAlias

from trainer.hand.search.fingering import Taken
from trainer.practice.drill import Drill
from trainer.practice.fingering import Keep, passage_of, spans_of
from trainer.ring import turned

Pin: TypeAlias = tuple[int, Taken]
"""The index of a note in the drill's passage, and how it is to be taken."""


class Aim(StrEnum):
    """What is made as easy as can be."""

    WHOLE = "the whole easy"
    WORST = "the worst change easy"


KEEPS = MappingProxyType({Keep.FRETS: "frets as written", Keep.PITCHES: "any strings"})
"""What stays of the drill whatever the fingers do, in a player's words."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the search is asked for."""

    school: str
    """Whose weights, by name."""
    aim: Aim = Aim.WHOLE
    """What is to be easy."""
    keep: Keep = Keep.FRETS
    """What of the drill stays: one of `KEEPS`."""
    pins: tuple[Pin, ...] = ()
    """What must be taken so, in order of the notes."""
    near: tuple[Taken, ...] = ()
    """The fingering that was looked at when something was set last, a way to take each note."""
    chosen: tuple[Taken, ...] = ()
    """The fingering that was taken over, a way to take each note; empty: the drill's own."""

    @property
    def pinned(self) -> Mapping[int, Taken]:
        """How each note that is set must be taken, by its index."""
        return dict(self.pins)


@dataclass(frozen=True, slots=True)
class Bench:
    """A drill on the bench. Every change of what is asked can be undone; looking about is none."""

    drill: Drill
    """As it came."""
    asked: Asked
    """What is asked for."""
    past: tuple[Asked, ...] = ()
    """What was asked before, the newest last."""
    at: int = 0
    """Index of the shape that is looked at."""
    cursor: int | None = None
    """Which of the shape's notes is looked at, from the lowest; None: the whole shape."""
    column: int = 0
    """Which fingering is looked at, counted from 0."""
    follows: bool = False
    """True from the moment something is set until another way is looked at: what comes of it is to be looked at."""
    heads: tuple[tuple[tuple[int, ...], ...], ...] = field(init=False)
    """For each shape, for each of its pitches from the lowest, the indices of the notes struck."""

    def __post_init__(self) -> None:
        """Find out which notes each shape has. Raises ChangeoverError where the drill has no notes."""
        object.__setattr__(self, "heads", _heads(self.drill))

    @property
    def in_view(self) -> tuple[int, ...]:
        """The notes that are looked at: those of one pitch, or of the whole shape."""
        heads = self.heads[self.at]
        chosen = heads if self.cursor is None else (heads[self.cursor],)
        return tuple(note for head in chosen for note in head)

    def step_pins(self, at: int) -> tuple[int, ...]:
        """Return the notes of a shape that are set."""
        pinned = self.asked.pinned
        return tuple(note for head in self.heads[at] for note in head if note in pinned)

    def at_shape(self, at: int) -> Bench:
        """Look at the whole of this shape, the nearest there is."""
        return replace(self, at=min(max(at, 0), len(self.heads) - 1), cursor=None)

    def looking(self, column: int) -> Bench:
        """Look at another fingering."""
        return replace(self, column=column, follows=False)

    def next_note(self) -> Bench:
        """Look at the shape's next note, and after the highest at the whole shape again."""
        cursor = 0 if self.cursor is None else self.cursor + 1
        return replace(self, cursor=cursor if cursor < len(self.heads[self.at]) else None)

    def pin(self, way: Sequence[Taken]) -> Bench:
        """Set what is looked at as `way` takes it; let it go where all of it is set so already."""
        pinned = dict(self.asked.pins)
        wanted = {note: way[note] for note in self.in_view}
        if all(pinned.get(note) == taken for note, taken in wanted.items()):
            kept = {note: taken for note, taken in pinned.items() if note not in wanted}
        else:
            kept = pinned | wanted
        return self._set(kept, way)

    def other_finger(self, way: Sequence[Taken]) -> Bench:
        """Set the next finger for the note that is looked at, where `way` does not take it open."""
        if self.cursor is None:
            return self
        pinned = dict(self.asked.pins)
        for note in self.in_view:
            taken = pinned.get(note, way[note])
            if taken.finger:
                pinned[note] = replace(taken, finger=taken.finger % 4 + 1)
        return self._set(pinned, way)

    def take_over(self, way: Sequence[Taken]) -> Bench:
        """Make `way` the fingering that others are compared with."""
        return replace(self._ask(replace(self.asked, chosen=tuple(way))), column=0)

    def other_school(self, names: Sequence[str]) -> Bench:
        """Ask by the next one's weights."""
        return self._ask(replace(self.asked, school=turned(names, self.asked.school)))

    def other_aim(self) -> Bench:
        """Make something else easy."""
        return self._ask(replace(self.asked, aim=turned(tuple(Aim), self.asked.aim)))

    def other_keep(self) -> Bench:
        """Keep more of the drill, or less."""
        return self._ask(replace(self.asked, keep=turned(tuple(KEEPS), self.asked.keep)))

    def undo(self) -> Bench:
        """Ask for what was asked before."""
        return replace(self, asked=self.past[-1], past=self.past[:-1]) if self.past else self

    def _set(self, pinned: Mapping[int, Taken], way: Sequence[Taken]) -> Bench:
        """Ask with these notes set; `way` is looked at."""
        pins = tuple(sorted(pinned.items(), key=lambda pin: pin[0]))
        if pins == self.asked.pins:
            return self
        return replace(self._ask(replace(self.asked, pins=pins, near=tuple(way))), follows=True)

    def _ask(self, asked: Asked) -> Bench:
        return self if asked == self.asked else replace(self, asked=asked, past=(*self.past, self.asked))


def _heads(drill: Drill) -> tuple[tuple[tuple[int, ...], ...], ...]:
    notes = passage_of(drill).notes
    found = []
    for start, end in spans_of(drill):
        own: dict[int, list[int]] = {}
        for index, note in enumerate(notes):
            if start <= note.onset < end:
                own.setdefault(note.midi, []).append(index)
        found.append(tuple(tuple(own[midi]) for midi in sorted(own)))
    return tuple(found)
