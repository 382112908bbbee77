"""The ways side by side at one shape: strings and fingers, position, a bar for what it costs, and the whole."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.hand.words import roman
from trainer.ui.fingering.bench import Bench
from trainer.ui.fingering.signs import Signs, bar
from trainer.ui.fingering.ways import Column, Outcome
from trainer.ui.fitting import shortened

NARROWEST = 19
"""Cells of a column below which one is left out."""
_TWO_DIGITS = 10
_PLACE = 6
"""Cells of a position: none up to XVIII is longer than five."""
_NUMBER = 6
"""Cells of a number of costs."""


@dataclass(frozen=True, slots=True)
class Told:
    """One column."""

    index: int
    """Which way it is, counted from 0."""
    lines: tuple[str, ...]
    """Name; frets; fingers; position, bar and cost of this shape; cost of the whole and of its worst shape."""
    now: bool
    """True where it is looked at."""


def shown(count: int, looked_at: int, width: int, narrowest: int = NARROWEST) -> tuple[int, ...]:
    """Return which of `count` ways have room: the first one in any case, and the one that is looked at."""
    room = max(min(width // narrowest, count), 1)
    if looked_at < room:
        return tuple(range(room))
    return (looked_at,) if room == 1 else (0, *range(looked_at - room + 2, looked_at + 1))


def columns(bench: Bench, outcome: Outcome, width: int, signs: Signs) -> tuple[Told, ...]:
    """Return the columns for `width` cells, all of them equally wide and with a blank cell at the end."""
    ways, at = outcome.columns, bench.at
    token = 1 + max(2 if fret >= _TWO_DIGITS else 1 for way in ways for fret in (0, *way.drill.steps[at].shape.frets))
    narrowest = max(NARROWEST, bench.drill.instrument.strings * token + 1)
    indices = shown(len(ways), bench.column, width, narrowest)
    cell = width // len(indices) - 1
    most = max(way.costs[at] for way in ways)
    told = []
    for index in indices:
        way, now = ways[index], index == bench.column
        share = way.costs[at] / most if most > 0 else 0.0
        lines = (
            _head(index, outcome, at, cell, signs, now=now),
            *_hand(bench, way, at, token, signs, now=now),
            _cost(way, at, share, cell, signs),
            _whole(way, cell),
        )
        told.append(Told(index, tuple(f"{shortened(line, cell):<{cell}}" for line in lines), now))
    return tuple(told)


def _head(index: int, outcome: Outcome, at: int, width: int, signs: Signs, *, now: bool) -> str:
    apart = f" {signs.differs}" if outcome.differs(index, at) else ""
    name = shortened(f"{index + 1} {outcome.columns[index].name}", width - 1 - len(apart))
    return f"{signs.here if now else ' '}{name}{apart}"


def _hand(bench: Bench, way: Column, at: int, token: int, signs: Signs, *, now: bool) -> tuple[str, str]:
    """Return a row of frets, the note that is looked at marked, and below it one of fingers, those that are set."""
    step = way.drill.steps[at]
    taken = way.way.notes
    pinned = {taken[note].string for note in bench.step_pins(at) if taken[note] == bench.asked.pinned[note]}
    here = {taken[note].string for note in bench.in_view} if now and bench.cursor is not None else set()
    frets, fingers = "", ""
    for string in range(step.shape.strings, 0, -1):
        stop = step.shape[string]
        fret = "x" if stop is None else str(stop.fret)
        silent = stop is not None and stop.silent
        mark = signs.here if string in here else "(" if silent else ""
        frets += f"{mark + fret:>{token}}"
        finger = "" if stop is None or stop.finger is None else str(stop.finger)
        mark = signs.set if string in pinned else ""
        fingers += f"{mark + (finger or ('0' if mark else '')):>{token}}"
    return frets, fingers


def _whole(way: Column, width: int) -> str:
    """Return what all of it costs and its dearest shape; where there is less room, in fewer words."""
    text = f"{way.total:.1f}, worst {way.costs[way.worst]:.1f}"
    return f" all {text}" if len(text) + 5 <= width else f" {text}"


def _cost(way: Column, at: int, share: float, width: int, signs: Signs) -> str:
    place = way.position(at)
    drawn = bar(share, width - _PLACE - _NUMBER, signs)
    return f" {'' if place is None else roman(place):<{_PLACE - 1}}{drawn} {way.costs[at]:.1f}"
