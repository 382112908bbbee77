"""How the changes of one run fell on the beats of the bar: a small picture with its axis, and where they break."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.practice import beats
from trainer.practice.beats import NOWHERE, Beat, ByBeat
from trainer.practice.breaking import Break, breaks
from trainer.practice.statistics import share
from trainer.ui.progress import interval

if TYPE_CHECKING:
    from collections.abc import Callable

    from trainer.log.history import History
    from trainer.practice.drill import Drill
    from trainer.practice.record import Run

_NAME = 9
"""Cells of a beat's name."""
_LEAST = 21
"""Cells of the picture itself; where a row's text leaves fewer, a shorter one is taken."""
_MOST = 61
"""Wider it does not get: the eye has to find the number that belongs to a row."""
_STEP_MS = 10
"""The axis ends on a multiple of this."""
_SIGNS = {True: interval.FINE, False: "*[]-|"}
"""Median, ends of the spread, between them, the beat."""


@dataclass(frozen=True, slots=True)
class Fell:
    """How the changes of one run fell."""

    by_beat: ByBeat
    """On each beat."""
    words: str
    """Where the drill breaks and how even the run was, as clauses; empty where nothing is known."""


NOTHING = Fell(NOWHERE, "")
"""Of a run of which nothing is known against the beat."""


def fell(history: History, titled: Callable[[str], Drill | None], run: Run, runs: Sequence[Run]) -> Fell:
    """Return how the changes of `run` fell; where they break is told from it and the ones before it of the same drill.

    `runs` stand with the newest first. Nothing of a drill that is in no file: on which beats its shapes were written is
    not known any more.
    """
    if run.tempo is None or (drill := titled(run.drill)) is None:
        return NOTHING
    own = beats.of_attempts(drill, history.of_run(run.id))
    by_beat = beats.by_beat(own)
    if not by_beat.beats:
        return NOTHING
    same = [one for one in runs if one.drill == run.drill and one.tempo is not None and one.at <= run.at]
    dues = (own if one == run else beats.of_attempts(drill, history.of_run(one.id)) for one in same[: beats.NEWEST])
    return Fell(by_beat, sentence(by_beat, breaks(tuple(dues))))


def sentence(by_beat: ByBeat, found: Break | None) -> str:
    """Return evenness and where it breaks, as clauses."""
    even = [] if by_beat.uneven_ms is None else [f"even to {by_beat.uneven_ms:.0f} ms"]
    where = "no beat stands out" if found is None else found.words.rstrip(".")
    return "; ".join((where, *even))


def draw(by_beat: ByBeat, width: int, height: int, *, fine: bool = True) -> list[str]:
    """Return a row for each beat and the axis below, within `width` by `height` cells.

    A row has the beat's name, its median lateness with the spread either side, and the numbers. Where not all have
    room the latest are shown; nothing where nothing fell on a beat.
    """
    timed = [beat for beat in by_beat.beats if beat.late_ms is not None]
    latest = sorted(timed, key=lambda beat: beat.late_ms or 0.0, reverse=True)[: max(height - 1, 0)]
    shown = [beat for beat in timed if beat in latest]
    if not shown:
        return []
    texts = next((one for one in _texts(shown) if width - _NAME - 1 - max(map(len, one)) >= _LEAST), [""] * len(shown))
    columns = min(width - _NAME - max(map(len, texts)) - 1, _MOST)
    if columns < _LEAST:
        return [f"beat {beats.number(beat.beat)} {beat.late_ms:+.0f} ms"[:width] for beat in shown]
    low = min(0, *(math.floor(_ends(beat)[0] / _STEP_MS) * _STEP_MS for beat in shown))
    high = max(_STEP_MS, *(math.ceil(_ends(beat)[1] / _STEP_MS) * _STEP_MS for beat in shown))

    def column(ms: float) -> int:
        return round((ms - low) / (high - low) * (columns - 1))

    rows = [
        f"{f'beat {beats.number(beat.beat)}':<{_NAME}}{_row(beat, columns, column, _SIGNS[fine])} {text}".rstrip()
        for beat, text in zip(shown, texts, strict=True)
    ]
    return [*rows, f"{'':<{_NAME}}{_axis(low, high, columns, column)}"]


def _texts(shown: Sequence[Beat]) -> list[list[str]]:
    """Return what stands beside each row, in full and in ever fewer words."""
    long, middle = [], []
    for beat in shown:
        spread = "" if beat.late_spread_ms is None else f" (spread {beat.late_spread_ms:.0f})"
        gap = "" if beat.gap_ms is None else f", gap {beat.gap_ms:.0f}"
        clean = f", clean {share(beat.clean, beat.answered)}" if beat.answered else ""
        middle.append(f"{beat.late_ms:+.0f} ms{spread}{gap}")
        long.append(f"{middle[-1]}{clean}, {beat.changes} in all")
    return [long, middle, [f"{beat.late_ms:+.0f} ms" for beat in shown]]


def _ends(beat: Beat) -> tuple[float, float]:
    middle, spread = beat.late_ms or 0.0, beat.late_spread_ms or 0.0
    return middle - spread, middle + spread


def _row(beat: Beat, columns: int, column: Callable[[float], int], signs: str) -> str:
    first, last = (column(end) for end in _ends(beat))
    return interval.drawn(columns, column(0), (first, last), column(beat.late_ms or 0.0), signs)


def _axis(low: int, high: int, columns: int, column: Callable[[float], int]) -> str:
    """Return the numbers under the picture: the ends and the beat itself, those that have room."""
    cells = [" "] * columns
    end = f"{high} late"
    places = [(columns - len(end), end), (column(0), "0"), (0, f"{-low} early" if low else "")]
    for place, text in places:
        span = slice(place, place + len(text))
        if text and all(cell == " " for cell in cells[max(place - 1, 0) : place + len(text) + 1]):
            cells[span] = text
    return "".join(cells).rstrip()
