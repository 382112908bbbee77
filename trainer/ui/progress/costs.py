"""What costs a hand most, as rows to be drawn: each thing with its interval beside the line that nothing costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError
from trainer.log.hands import read_model
from trainer.practice.timemodel.words import standing, told, trusted
from trainer.ui.played import seconds, timed_by
from trainer.ui.progress import interval

if TYPE_CHECKING:
    from pathlib import Path

    from trainer.hand.reach import Hand
    from trainer.practice.curve import Interval

_LEAST = 12
"""Cells from which the intervals are drawn at all."""
_MOST = 60
"""Cells beyond which drawing them wider shows nothing more."""
NOT_YET = "There is nothing yet that could not be chance: more changes, or the same ones oftener, will tell."
LEGEND = "Milliseconds, 80 % sure; left of the line it saves, right of it it costs."


@dataclass(frozen=True, slots=True)
class Row:
    """One thing and what it costs."""

    words: str
    """What it is."""
    short: str
    """The same in fewer cells."""
    ms: Interval
    """More milliseconds than without it; less than nothing: it saves."""

    @property
    def number(self) -> str:
        """`+180 (120 to 240)`."""
        return f"{self.ms.middle:+,.0f} ({self.ms.low:+,.0f} to {self.ms.high:+,.0f})"


@dataclass(frozen=True, slots=True)
class Costs:
    """What the screen shows."""

    rows: tuple[Row, ...]
    """What weighs most first; none where there is nothing to tell."""
    said: str
    """What it rests on, and what the rows are."""
    trust: str
    """How far it can be trusted; empty where there is too little to try it on."""
    wrong: bool = False
    """True where the log could not be read, and `said` says why."""


def costs(log: Path, hand: Hand) -> Costs:
    """Return what the log teaches of the hand; it reads a file and reckons, so away from the screen."""
    try:
        model = read_model(log, hand)
    except ChangeoverError as error:
        return Costs((), str(error.problems[0]), "", wrong=True)
    if not model.enough:
        return Costs((), f"{_capital(standing(model))}.", "")
    rows = tuple(Row(one.telling.words.rstrip(","), one.telling.short, one.cost.ms) for one in told(model))
    base = f"{_capital(standing(model))}, {timed_by(model.kind)}; its usual change takes {seconds(model.usual_ms)}"
    return Costs(rows, f"{base}. {LEGEND if rows else NOT_YET}", trusted(model.calibration()))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def draw(rows: Sequence[Row], width: int, *, fine: bool = True) -> list[str]:
    """Return the rows in at most `width` cells: what it is, its interval drawn, its numbers; less without room."""
    numbers = [row.number for row in rows]
    right = max(map(len, numbers), default=0)
    words = max((len(row.words) for row in rows), default=0)
    long = width - right - words - 2 >= _LEAST
    names = [row.words if long else row.short for row in rows]
    left = max(map(len, names), default=0)
    room = min(width - left - right - 2, _MOST)
    if room < _LEAST:
        return [f"{name:<{left}} {number}"[:width] for name, number in zip(names, numbers, strict=True)]
    low, high = min([0.0, *(row.ms.low for row in rows)]), max([0.0, *(row.ms.high for row in rows)])
    step = (high - low) / (room - 1) or 1.0
    drawn = [_bar(row.ms, low, step, room, fine=fine) for row in rows]
    return [f"{name:<{left}} {bar} {number}" for name, bar, number in zip(names, drawn, numbers, strict=True)]


def _bar(ms: Interval, low: float, step: float, room: int, *, fine: bool) -> str:
    """Return an interval with its middle, and the line that costs nothing."""
    start, middle, end, nothing = (round((value - low) / step) for value in (ms.low, ms.middle, ms.high, 0.0))
    return interval.drawn(room, nothing, (start, end), middle, interval.FINE if fine else interval.PLAIN)
