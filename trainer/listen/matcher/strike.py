"""How the notes of a step were struck: together or rolled, and how loud the melody was."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean

from trainer.fretboard.plucked import MELODY
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import each_once
from trainer.practice.measures import Direction


@dataclass(frozen=True, slots=True)
class Strike:
    """How far apart the notes of one stroke lay."""

    spread: float | None = None
    """Seconds from the first to the last; None where fewer than two notes were to sound together."""
    direction: Direction | None = None
    """Block up to the set bound, else which end came first."""


def strike(new: Attempt, settings: Settings) -> Strike:
    """Return how a step was struck: its widest stroke, where it has several."""
    strokes: dict[int, list[tuple[int, float]]] = {}
    slots = new.template.slots
    for index, note in new.held.items():
        strokes.setdefault(slots[index].stroke, []).append((slots[index].pitch, note.on))
    struck = [_strike(notes, settings) for notes in strokes.values() if len(notes) > 1]
    return max(struck, key=lambda each: each.spread or 0.0, default=Strike())


def _strike(notes: list[tuple[int, float]], settings: Settings) -> Strike:
    onsets = [on for _, on in notes]
    spread = max(onsets) - min(onsets)
    # Times differ by rounding of the floating point: a spread of exactly the bound is block.
    if spread <= settings.block_s + 1e-9:
        return Strike(spread, Direction.BLOCK)
    mean_pitch, mean_on = fmean(pitch for pitch, _ in notes), fmean(onsets)
    rising = sum((pitch - mean_pitch) * (on - mean_on) for pitch, on in notes)
    return Strike(spread, Direction.BASS_FIRST if rising >= 0 else Direction.TREBLE_FIRST)


def balance(new: Attempt, beat_s: float) -> float | None:
    """Return the velocity of the melody minus the mean of the others struck within one beat; None without either.

    Where the melody's string is plucked several times, the mean over those.
    """
    slots = new.template.slots
    melody = each_once(note for index, note in new.held.items() if slots[index].voice == MELODY)
    others = [note for note in each_once(new.held.values()) if note not in melody]
    found = []
    for note in melody:
        near = [other.velocity for other in others if abs(other.on - note.on) <= beat_s]
        if near:
            found.append(note.velocity - fmean(near))
    return fmean(found) if found else None
