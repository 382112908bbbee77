"""Heard changes as JSON that others rely on, and in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from trainer.fretboard.text import print_shape
from trainer.practice.drill import Drill
from trainer.practice.measures import Answer, HeardChange, Summary, summarise
from trainer.practice.record import Texture


def document(drill: Drill, changes: Iterable[HeardChange], origin: float = 0.0) -> dict[str, Any]:
    """Return the grades as a document; seconds count from `origin`, a value is None where it cannot be known."""
    every = tuple(changes)
    return {
        "title": drill.title,
        "changes": [_change(drill, change, origin) for change in every],
        "summary": asdict(summarise(every)),
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


def _answers(answers: Mapping[int, Answer]) -> dict[str, str]:
    return {str(finger): str(answer) for finger, answer in sorted(answers.items())}


def _seconds(at: float | None, origin: float) -> float | None:
    # To a microsecond: the clock of a live session has digits beyond, of no meaning and not the same twice.
    return None if at is None else round(at - origin, 6)


def line(drill: Drill, change: HeardChange) -> str:
    """Return one change in one line: which, how long it took, and the one thing to mend."""
    before, after = (drill.steps[index].name for index in (change.before, change.after))
    said = [_took(change)]
    if change.gap_ms is not None and change.gap_ms > 0:
        said.append(f"gap {change.gap_ms:.0f} ms")
    if not change.expected:
        said.append("not the next one")
    verdict = change.mend or ("clean" if change.clean else "")
    return f"{change.index + 1}. {before} to {after}: {', '.join(said)}{f'; {verdict}' if verdict else ''}."


def _took(change: HeardChange) -> str:
    if not change.landed:
        return "not landed"
    if change.texture is Texture.FIGURE:
        return "landed" if change.delay_ms is None else f"landed, {_delay(change.delay_ms)}"
    if change.change_ms is None:
        return "landed" if change.strike_ms is None else f"landed, {change.strike_ms:.0f} ms after the stroke before"
    return f"{change.change_ms:.0f} ms"


def _delay(ms: float) -> str:
    return f"{abs(ms):.0f} ms {'behind' if ms >= 0 else 'ahead of'} the beat"


def summary(found: Summary) -> str:
    """Return a run of changes in one sentence."""
    if not found.changes:
        return "No change was heard."
    parts = [f"{found.landed} of {found.changes} changes landed", f"{found.clean} clean"]
    if found.median_change_ms is not None:
        parts.append(f"median change {found.median_change_ms:.0f} ms")
    if found.median_gap_ms is not None:
        parts.append(f"median gap {found.median_gap_ms:.0f} ms")
    return f"{', '.join(parts)}."
