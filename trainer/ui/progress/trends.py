"""How the measures of a change have gone over time: a line for each, drawn small, with its number beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.practice.beats import late
from trainer.practice.statistics import LAST, Verdict, quantile, share, shares, trend

if TYPE_CHECKING:
    from trainer.practice.measures import Measures
    from trainer.practice.record import Attempt

_NAME = 8
"""Cells of a line's name."""
_BARS, _PLAIN_BARS = "▁▂▃▄▅▆▇█", "_.:-=+*#"
"""From low to high; the second for fonts that have ASCII only."""
_GOING = {Verdict.FASTER: ", falling", Verdict.SLOWER: ", rising", Verdict.LEVEL: ", level", Verdict.TOO_FEW: ""}
"""What a trend is called where less is not faster."""


@dataclass(frozen=True, slots=True)
class Line:
    """One measure over time."""

    name: str
    """What it is."""
    values: tuple[float, ...]
    """Oldest first; one at least."""
    number: str
    """What stands beside it."""
    whole: bool = False
    """True for a share: its height runs from 0 to 1, else from the least value shown to the greatest."""


_OF_MEASURES: tuple[tuple[str, Callable[[Measures], float | None]], ...] = (
    ("late", late),
    ("gap", lambda measures: measures.gap_ms),
    ("spread", lambda measures: measures.spread_ms),
)


def lines(attempts: Sequence[Attempt]) -> tuple[Line, ...]:
    """Return the lines of one series, those of which anything was heard; none where nothing was."""
    heard = [attempt.measures for attempt in attempts if attempt.measures is not None]
    if not heard:
        return ()
    found = [_of_times(name, [value for one in heard if (value := of(one)) is not None]) for name, of in _OF_MEASURES]
    found.append(_of_answers("kept", [one.kept for one in heard]))
    said = [attempt.clean for attempt in attempts]
    found.append(_of_answers("clean", [(clean is True, clean is not None) for clean in said]))
    return tuple(line for line in found if line is not None)


def draw(found: Sequence[Line], width: int, *, fine: bool = True) -> list[str]:
    """Return the lines as rows of at most `width` cells: name, the newest values as bars, number; none without room."""
    room = width - _NAME - 1 - max((len(line.number) for line in found), default=0)
    if room < 1:
        return [f"{line.name:<{_NAME}}{line.number}"[:width] for line in found]
    across = min(room, max((len(line.values) for line in found), default=0))
    return [f"{line.name:<{_NAME}}{_bars(line, across, fine):<{across}} {line.number}" for line in found]


def _bars(line: Line, most: int, fine: bool) -> str:
    shown, bars = line.values[-most:], _BARS if fine else _PLAIN_BARS
    low, high = (0.0, 1.0) if line.whole else (min(shown), max(shown))
    if high == low:
        return bars[len(bars) // 2] * len(shown)
    return "".join(bars[round((value - low) / (high - low) * (len(bars) - 1))] for value in shown)


def _of_times(name: str, values: Sequence[float]) -> Line | None:
    if not values:
        return None
    middle = quantile(sorted(values), 0.5)
    number = f"{round(middle):,} ms, {round(min(values)):,} to {round(max(values)):,}{_GOING[trend(values).verdict]}"
    return Line(name, tuple(values), number)


def _of_answers(name: str, counts: Sequence[tuple[int, int]]) -> Line | None:
    over_time = shares(counts)
    if not over_time:
        return None
    every = share(sum(were for were, _ in counts), sum(known for _, known in counts))
    newest = f", last ten {over_time[-1]:.0%}" if len(over_time) > LAST else ""
    return Line(name, tuple(over_time), f"{every}{newest}", whole=True)
