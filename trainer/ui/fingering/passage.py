"""The passage as a row of shapes: names, marks and what each costs, as much of it as there is room for."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.ui.fingering.bench import Bench
from trainer.ui.fingering.signs import Signs, height
from trainer.ui.fingering.ways import Outcome
from trainer.ui.fitting import shortened

_LEAST, _MOST = 5, 10
"""Cells of a shape in the row, without the gap after it."""


@dataclass(frozen=True, slots=True)
class Row:
    """A stretch of the passage in cells that are all equally wide."""

    first: int
    """Index of the first shape shown."""
    cell: int
    """Cells of each shape, the gap after it included."""
    names: tuple[str, ...]
    """Each shape's name; the one that is looked at in brackets."""
    marks: tuple[str, ...]
    """What is to be known of each: different, set, not to be taken."""
    costs: tuple[str, ...]
    """What each costs in the way that is looked at, as a height and a number."""

    def at(self, x: int) -> int | None:
        """Return the index of the shape at column `x`; None where there is none."""
        index = x // self.cell
        return self.first + index if 0 <= index < len(self.names) else None


def name_of(bench: Bench, at: int) -> str:
    """Return what to call a shape: its label, or its number."""
    return bench.drill.steps[at].label or str(at + 1)


def row(bench: Bench, outcome: Outcome | None, width: int, signs: Signs) -> Row:
    """Return the row for `width` cells, the shape that is looked at in the middle where not all of them fit."""
    count = len(bench.heads)
    names = [name_of(bench, at) for at in range(count)]
    cell = min(max(max(map(len, names)) + 2, _LEAST), _MOST) + 1
    room = max(min(width // cell, count), 1)
    first = min(max(bench.at - room // 2, 0), count - room)
    shown = range(first, first + room)
    return Row(
        first,
        cell,
        tuple(_name(names[at], cell - 1, now=at == bench.at) for at in shown),
        tuple(_marks(bench, outcome, at, signs) for at in shown),
        tuple(_cost(bench, outcome, at, signs) for at in shown),
    )


def _name(name: str, width: int, *, now: bool) -> str:
    name = shortened(name, width - 2)
    return f"[{name}]" if now else f" {name}"


def _marks(bench: Bench, outcome: Outcome | None, at: int, signs: Signs) -> str:
    marks = signs.set if bench.step_pins(at) else ""
    if outcome is not None:
        marks = (signs.differs if at in outcome.apart else "") + marks + (signs.stuck if at == outcome.stuck else "")
    return f" {marks}"


def _cost(bench: Bench, outcome: Outcome | None, at: int, signs: Signs) -> str:
    column = None if outcome is None else outcome.looked_at(bench.column)
    if column is None:
        return ""
    most = max(column.costs)
    return f" {height(column.costs[at] / most if most > 0 else 0.0, signs)}{column.costs[at]:.1f}"
