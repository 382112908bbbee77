"""Which bars, and in which order: printed numbers, repeats and endings."""

from __future__ import annotations

import re
from collections.abc import Sequence

from trainer.errors import plain, wrong
from trainer.scores.score import Bar

_SPAN = re.compile(r"\s*(\w{1,12})\s*(?:[-–:]\s*(\w{1,12})\s*)?")
MOST_PLAYED = 20_000
"""Bars that repeats may come to."""


def bar_span(bars: Sequence[Bar], text: str | None, file: str) -> tuple[int, int]:
    """Return the indices of the first and last bar that `text` names by their printed numbers, `5-8` or `5`.

    Raises ChangeoverError where there is no such bar.
    """
    if text is None:
        return 0, len(bars) - 1
    match = _SPAN.fullmatch(text)
    if match is None:
        raise wrong(f"'{plain(text[:40])}' names no bars", file=file, key="--bars", hint="a bar as 5, or some as 5-8")
    first = _index(bars, match[1], file)
    last = first if match[2] is None else _index(bars, match[2], file, last=True)
    if last < first:
        raise wrong(f"bar {match[2]} comes before bar {match[1]}", file=file, key="--bars", hint="as 5-8")
    return first, last


def _index(bars: Sequence[Bar], number: str, file: str, *, last: bool = False) -> int:
    found = [index for index, bar in enumerate(bars) if bar.number == number]
    if not found:
        hint = f"they go from {plain(bars[0].number)} to {plain(bars[-1].number)}"
        raise wrong(f"there is no bar {number}", file=file, key="--bars", hint=hint)
    return found[-1 if last else 0]


def span_name(bars: Sequence[Bar], first: int, last: int) -> str:
    """Return `bar 5` or `bars 5 to 8`."""
    one, other = plain(bars[first].number), plain(bars[last].number)
    return f"bar {one}" if first == last else f"bars {one} to {other}"


def played(bars: Sequence[Bar], first: int, last: int) -> list[int]:
    """Return the indices of the bars from `first` to `last` in the order in which they are played.

    A run is repeated from its opening sign, or from the end of the last repeated run, as often as its closing sign
    says; bars under an ending are played in their rounds only. An ending's own number can ask for a further round.
    """
    order: list[int] = []
    start, rounds, at = first, 1, first
    while at <= last and len(order) < MOST_PLAYED:
        bar = bars[at]
        if bar.opens and at != start:
            start, rounds = at, 1
        if bar.endings and rounds not in bar.endings:
            at += 1
            continue
        order.append(at)
        if bar.closes and rounds < _rounds(bars, start, at, last):
            rounds += 1
            at = start
            continue
        at += 1
        if bar.closes:
            start, rounds = (at, 1) if not _ending_follows(bars, at, last) else (start, rounds)
    return order


def _rounds(bars: Sequence[Bar], start: int, at: int, last: int) -> int:
    """Return how often the run from `start` that closes at `at` is played."""
    closes = max(bars[at].closes, *(bar.closes for bar in bars[start : at + 1]), 1)
    after = at + 1
    numbers = {number for bar in bars[start : at + 1] for number in bar.endings}
    while after <= last and bars[after].endings and not bars[after].opens:
        numbers |= bars[after].endings
        after += 1
    return max([closes, *numbers])


def _ending_follows(bars: Sequence[Bar], at: int, last: int) -> bool:
    return at <= last and bool(bars[at].endings) and not bars[at].opens
