"""Heard changes in words, one line each. Pure."""

from __future__ import annotations

from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange, Summary
from trainer.practice.record import Texture


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
