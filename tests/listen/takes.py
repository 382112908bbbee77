"""Annotated takes of real playing: a drill of the shapes that were played, and the events that a guitar would send.

For any file of the kind in tests/data/takes: notes with onset, duration, string and pitch, comping or solo.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from io import BytesIO
from itertools import groupby
from pathlib import Path
from statistics import median

import mido  # type: ignore[import-untyped]  # it ships no types

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape, Stop
from trainer.practice.drill import Drill, Order, Step
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteEvent, NoteOff, NoteOn

TAKES = Path(__file__).parents[1] / "data" / "takes"
"""Where the takes lie that may be shown with their attribution."""
NEAR_S = 0.02
"""A landing counts as found where it lies this near to the annotated one."""
TOGETHER_S = 0.05
"""Onsets no further apart than this, neighbour to neighbour, are one strum."""
_NECK = Instrument(frets=24)


@dataclass(frozen=True, slots=True)
class Heard:
    """One annotated note."""

    on: float
    """Onset in seconds."""
    off: float
    """End in seconds."""
    string: int
    """1 is the high E."""
    pitch: int
    """MIDI note, rounded, no lower than the open string."""


def read_take(path: Path) -> list[Heard]:
    """Return the notes of an annotation file in order of onset."""
    notes = json.loads(path.read_text(encoding="utf-8"))["notes"]
    found = [
        Heard(
            float(note["t"]),
            float(note["t"]) + float(note["d"]),
            int(note["string"]),
            max(round(float(note["midi"])), _NECK.pitch(int(note["string"]), 0)),
        )
        for note in notes
    ]
    return sorted(found, key=lambda note: (note.on, -note.string))


def strums(notes: list[Heard], together_s: float = TOGETHER_S) -> list[list[Heard]]:
    """Return the notes in strums: a pause, or a string that is struck again, begins a new one."""
    found: list[list[Heard]] = []
    for note in notes:
        last = found[-1] if found else []
        if last and note.on - last[-1].on <= together_s and note.string not in {other.string for other in last}:
            last.append(note)
        else:
            found.append([note])
    return found


def played_drill(played: list[list[Heard]], title: str) -> Drill:
    """Return a drill with one step for each strum, in order; fingers are not known."""
    return Drill(title, tuple(Step(_shape(strum)) for strum in played), instrument=_NECK, order=Order.ONCE)


def folded_drill(played: list[list[Heard]], title: str) -> tuple[Drill, list[list[Heard]]]:
    """Return a drill of the shapes as they change, a shape struck again counted once, and the first strum of each."""
    runs = [list(run) for _, run in groupby(played, key=_shape)]
    return played_drill([run[0] for run in runs], title), [run[0] for run in runs]


def events(notes: list[Heard], velocity: int = 80, strings: bool = True) -> list[NoteEvent]:
    """Return what a guitar with a channel for each string, or one for all, would send, without latency."""
    found: list[NoteEvent] = []
    for note in notes:
        string = note.string if strings else None
        found += [NoteOn(note.on, note.pitch, velocity, string), NoteOff(note.off, note.pitch, string)]
    return sorted(found, key=lambda event: (event.at, isinstance(event, NoteOn)))


def as_midi(
    notes: list[Heard],
    *,
    channels: Mapping[int, int] | None = None,
    tracks: bool = False,
    kind: int = 1,
    beat: int = 480,
) -> bytes:
    """Return a MIDI file as other programs write them, at the default tempo of half a second to a quarter.

    `channels` (from 1) by string, else one for all; `tracks`: a track for each string; `beat`: ticks to a quarter.
    """
    by_track: dict[int, list[tuple[int, bool, mido.Message]]] = {}
    for note in notes:
        channel = 0 if channels is None else channels[note.string] - 1
        for at, on in ((note.on, True), (note.off, False)):
            message = mido.Message("note_on" if on else "note_off", channel=channel, note=note.pitch, velocity=80)
            by_track.setdefault(note.string if tracks else 0, []).append((round(at * 2 * beat), on, message))
    file = mido.MidiFile(type=kind, ticks_per_beat=beat)
    for _, timed in sorted(by_track.items()):
        timed.sort(key=lambda each: each[:2])
        before = [0, *(tick for tick, _, _ in timed)]
        file.tracks.append(
            mido.MidiTrack(
                message.copy(time=tick - last) for (tick, _, message), last in zip(timed, before, strict=False)
            )
        )
    out = BytesIO()
    file.save(file=out)
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class Report:
    """How a take was heard."""

    changes: int
    """How many changes were played."""
    found: int
    """How many of them landed, from the right shape to the right shape, within `NEAR_S` of the annotation."""
    extra: int
    """How many landings were heard beside those."""
    median_s: float
    """Median distance of a landing found from the last annotated onset."""
    worst_s: float
    """Largest such distance."""


def report(played: list[list[Heard]], heard: Iterable[HeardChange]) -> Report:
    """Return how the changes between `played` strums, one a step of the drill, were heard."""
    landed = [change for change in heard if change.landed_s is not None]
    found: list[float] = []
    for step in range(1, len(played)):
        truth = max(note.on for note in played[step])
        away = [
            abs((change.landed_s or 0.0) - truth)
            for change in landed
            if (change.before, change.after) == (step - 1, step)
        ]
        if away and min(away) <= NEAR_S:
            found.append(min(away))
    return Report(
        changes=len(played) - 1,
        found=len(found),
        extra=len(landed) - len(found),
        median_s=median(found) if found else 0.0,
        worst_s=max(found, default=0.0),
    )


def _shape(strum: list[Heard]) -> Shape:
    frets = {note.string: note.pitch - _NECK.pitch(note.string, 0) for note in strum}
    return Shape(tuple(Stop(frets[s]) if s in frets else None for s in range(_NECK.strings, 0, -1)))
