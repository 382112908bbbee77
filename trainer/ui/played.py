"""From a change as the log knows it back to shapes, names and a drill."""

from __future__ import annotations

from collections.abc import Iterable

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import parse_shape, print_shape
from trainer.practice.drill import Drill, Step

_NAMES = {parse_shape(text): name for name, text in STOCK.items()}
"""What the stock calls its shapes."""


def name_of(key: str) -> str:
    """Return a change's shapes by their stock names, in text form where they have none; the key where it is none."""
    try:
        _, shapes = _read(key)
    except (ChangeoverError, ValueError):
        return key
    return " → ".join(stock_name(shape) or print_shape(shape) for shape in shapes)


def stock_name(shape: Shape) -> str:
    """Return what the stock calls `shape`, empty where it does not know it."""
    return _NAMES.get(shape, "")


def drill_of(title: str, keys: Iterable[str]) -> Drill | None:
    """Return a drill of the shapes of these changes in the order they come; None where a key cannot be read."""
    shapes: dict[Shape, None] = {}
    instrument = Instrument()
    try:
        for key in keys:
            instrument, both = _read(key)
            shapes.update((shape, None) for shape in both)
    except (ChangeoverError, ValueError):
        return None
    if len(shapes) < 2:
        return None
    steps = tuple(Step(shape, stock_name(shape)) for shape in shapes)
    return Drill(title or " - ".join(step.name for step in steps), steps, instrument=instrument)


def _read(key: str) -> tuple[Instrument, tuple[Shape, Shape]]:
    """Return what `practice.drill.change_key` made a key of."""
    tuning, capo, before, after = key.split(" | ")
    return Instrument.tuned(tuning, int(capo)), (_shape(before), _shape(after))


def _shape(text: str) -> Shape:
    stops, _, barres = text.partition(" + ")
    return parse_shape(stops, barres)
