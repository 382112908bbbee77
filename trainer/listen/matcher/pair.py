"""What the change between two steps asks of the sound: which notes leave, which fingers stay, which slide."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Action, Move
from trainer.hand.reach import Hand
from trainer.listen.matcher.sounding import Key
from trainer.listen.matcher.template import Template


@dataclass(frozen=True, slots=True)
class Slide:
    """A finger's way along one string."""

    finger: int
    """1 to 4."""
    string: int
    """The string it slides along."""
    start: int
    """MIDI note it leaves."""
    end: int
    """MIDI note it reaches."""
    asked: bool
    """True where the drill asks for its sound."""


@dataclass(frozen=True, slots=True)
class Pair:
    """The change from one step to another, as far as it can be heard."""

    kept: tuple[tuple[int, tuple[Key, ...]], ...]
    """Each finger that stays down with every (string, MIDI note) that it holds on both sides."""
    slides: tuple[Slide, ...]
    """Each guide finger."""
    leaving: frozenset[int]
    """Slots of the old step that are fretted and not kept."""
    opened: frozenset[Key]
    """(string, MIDI note) of the open strings that sound when the old step's fingers come up."""


def pair_of(before: Template, after: Template, instrument: Instrument) -> Pair:
    """Return what the change from `before` to `after` asks. Raises ChangeoverError where a shape does not fit."""
    old, new = before.step, after.step
    change = analyse(old.shape, new.shape, instrument, Hand(), (old.plucked, new.plucked))
    kept = tuple(
        (move.finger, _held(move, old.shape, new.shape, instrument))
        for move in change.moves
        if move.action is Action.KEPT
    )
    staying = {string for _, keys in kept for string, _ in keys}
    staying |= {move.end[0] for move in change.doing(Action.SWAP) if move.end is not None}
    staying |= {string for string, _ in old.shape if _maybe_kept(string, old.shape, new.shape)}
    return Pair(
        kept=kept,
        slides=tuple(
            Slide(
                move.finger,
                move.start[0],
                instrument.pitch(*move.start),
                instrument.pitch(*move.end),
                new.sounding_slide,
            )
            for move in change.doing(Action.GUIDE)
            if move.start is not None and move.end is not None
        ),
        leaving=frozenset(
            index for index, slot in enumerate(before.slots) if slot.fret > 0 and slot.string not in staying
        ),
        opened=frozenset((string, instrument.pitch(string, 0)) for string, stop in old.shape if stop.stopped),
    )


def _held(move: Move, old: Shape, new: Shape, instrument: Instrument) -> tuple[Key, ...]:
    """Return the strings on which a kept finger holds the sounding fret on both sides, with their notes."""
    start, end = old.placings[move.finger], new.placings[move.finger]
    both = set(start.strings) & set(end.strings)
    return tuple(
        (string, instrument.pitch(string, start.fret))
        for string in sorted(both)
        if _stops(old, string, start.fret) and _stops(new, string, end.fret)
    )


def _stops(shape: Shape, string: int, fret: int) -> bool:
    """Tell whether a finger lying across `string` at `fret` is what stops it: no other finger stops it higher up."""
    stop = shape[string]
    return stop is None or stop.fret == fret


def _maybe_kept(string: int, old: Shape, new: Shape) -> bool:
    """Tell whether `string` stays at its fret under a finger that a shape does not name."""
    before, after = old[string], new[string]
    if before is None or after is None or not before.stopped or before.fret != after.fret:
        return False
    return None in {before.finger, after.finger}
