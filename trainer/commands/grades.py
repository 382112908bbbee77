"""What a guitar was heard to play, graded: the JSON that others rely on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from trainer.fretboard.text import print_shape
from trainer.practice import beats
from trainer.practice.breaking import breaks
from trainer.practice.drill import Drill
from trainer.practice.measures import Answer, HeardChange, summarise


def document(drill: Drill, changes: Iterable[HeardChange], origin: float = 0.0) -> dict[str, Any]:
    """Return the grades as a document; seconds count from `origin`, a value is None where it cannot be known."""
    every = tuple(changes)
    return {
        "title": drill.title,
        "changes": [_change(drill, change, origin) for change in every],
        "summary": asdict(summarise(every)),
        "beats": _beats(beats.of_changes(drill, every)),
    }


def _change(drill: Drill, change: HeardChange, origin: float) -> dict[str, Any]:
    return {
        "index": change.index,
        "from": print_shape(drill.steps[change.before].shape),
        "to": print_shape(drill.steps[change.after].shape),
        "steps": [change.before, change.after],
        "expected": change.expected,
        "texture": str(change.texture),
        "struck_s": _seconds(change.struck_s, origin),
        "landed_s": _seconds(change.landed_s, origin),
        "change_ms": change.change_ms,
        "strike_ms": change.strike_ms,
        "delay_ms": change.delay_ms,
        "gap_ms": change.gap_ms,
        "gap_melody_ms": change.gap_melody_ms,
        "gap_bass_ms": change.gap_bass_ms,
        "spread_ms": change.spread_ms,
        "direction": None if change.direction is None else str(change.direction),
        "lateness_ms": change.lateness_ms,
        "kept_down": _answers(change.kept_down),
        "guides": _answers(change.guides),
        "wrong": list(change.wrong),
        "octaves": [list(note) for note in change.octaves],
        "missing": [list(note) for note in change.missing],
        "balance": change.balance,
        "clean": change.clean,
        "mend": change.mend,
    }


def _beats(dues: tuple[beats.Due, ...]) -> dict[str, Any] | None:
    """Return how the changes fell on their beats and where they break; None where no time against a beat is known."""
    fell = beats.by_beat(dues)
    if not fell.beats:
        return None
    found = breaks((dues,))
    return {
        "by_beat": [{**asdict(beat), "beat": str(beat.beat)} for beat in fell.beats],
        "uneven_ms": fell.uneven_ms,
        "breaks": None if found is None else {**asdict(found), "way": str(found.way), "beat": str(found.beat)},
    }


def _answers(answers: Mapping[int, Answer]) -> dict[str, str]:
    return {str(finger): str(answer) for finger, answer in sorted(answers.items())}


def _seconds(at: float | None, origin: float) -> float | None:
    # To a microsecond: the clock of a live session has digits beyond, of no meaning and not the same twice.
    return None if at is None else round(at - origin, 6)
