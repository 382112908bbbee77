"""Plots that carry their numbers, as rows of text: values over attempts or days as dots, amounts as bars.

The greatest and the least stand at the left, the first and the last below. A learning curve is drawn through times
where there is one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from trainer.practice.curve import Curve
from trainer.ui.played import seconds

LABEL = 8
"""Cells of the axis at the left: a number and the line."""
_WIDEST_BAR = 8
"""Cells of a bar and the gap after it."""
_BLOCKS, _PLAIN_BLOCKS = " ▁▂▃▄▅▆▇█", " ::::####"
"""The top of a bar, from nothing to a whole cell; the second for fonts that have ASCII only."""


def plot(
    values: Sequence[float],
    width: int,
    height: int,
    *,
    fine: bool = True,
    curve: Curve | None = None,
    label: Callable[[float], str] = seconds,
    ends: tuple[str, str] = ("", ""),
) -> list[str]:
    """Return the rows of a plot of `values` (oldest first) in `width` by `height` cells.

    The newest are shown where there are more than columns. `curve` is one fitted through the newest of them, `label`
    writes a value, `ends` are what the first and the last are called, else they are numbered. Empty where there is no
    value or no room.
    """
    columns, rows = width - LABEL - 1, height - 2
    if not values or columns < 2 or rows < 2:
        return []
    shown = values[-columns:]
    low, high = min(shown), max(shown)
    reach = high - low or 1.0
    dot = "●" if fine else "*"
    grid = [[" "] * columns for _ in range(rows)]
    if curve is not None:
        _draw(curve, grid, len(shown), (low, high), "·" if fine else ".")
    for column, value in enumerate(shown):
        grid[round((high - value) / reach * (rows - 1))][column * _step(columns, len(shown))] = dot
    labels = {rows - 1: label(low), 0: label(high)} if high > low else {0: label(high)}
    last = (len(shown) - 1) * _step(columns, len(shown))
    first_one = str(len(values) - len(shown) + 1) if len(shown) < len(values) or not ends[0] else ends[0]
    below = _ends(first_one, ends[1] or str(len(values)), last + 1)
    return _framed(grid, labels, below, fine=fine)


def bars(
    values: Sequence[float],
    width: int,
    height: int,
    ends: tuple[str, str],
    *,
    fine: bool = True,
    chosen: int | None = None,
) -> list[str]:
    """Return the rows of a plot of amounts as bars that stand on nought, oldest first, in `width` by `height` cells.

    `ends` are what the first and the last bar are called; where not all have room, the newest are shown. The bar with
    the index `chosen` has a mark below it. Empty where there is no value or no room.
    """
    columns, rows = width - LABEL - 1, height - 2
    if not values or columns < 2 or rows < 2:
        return []
    wide = max(1, min(_WIDEST_BAR, columns // len(values)))
    shown = values[-(columns // wide) :]
    left_out = len(values) - len(shown)
    blocks = _BLOCKS if fine else _PLAIN_BLOCKS
    most = max(shown) or 1.0
    grid = [[" "] * columns for _ in range(rows)]
    for number, value in enumerate(shown):
        # What is not nought is seen, however little it is.
        eighths = max(round(value / most * rows * 8), 1) if value > 0 else 0
        for row in range(rows):
            block = blocks[min(max(eighths - 8 * (rows - 1 - row), 0), 8)]
            for cell in range(max(wide - 1, 1)):
                grid[row][number * wide + cell] = block
    first = ends[0] if not left_out else ""
    below = _ends(first, ends[1], len(shown) * wide)
    marked = None if chosen is None or chosen < left_out else (chosen - left_out) * wide + max(wide - 2, 0) // 2
    return _framed(grid, {0: f"{max(shown):,.0f}", rows - 1: "0"}, below, fine=fine, marked=marked)


def _framed(
    grid: Sequence[Sequence[str]], labels: dict[int, str], below: str, *, fine: bool, marked: int | None = None
) -> list[str]:
    """Return the rows of a grid with its axes: `labels` of rows at the left, a line `below`, a mark at one column."""
    line, corner, floor, mark = ("│", "└", "─", "▲") if fine else ("|", "+", "-", "^")
    drawn = [f"{labels.get(row, ''):>{LABEL - 1}} {line}{''.join(cells)}" for row, cells in enumerate(grid)]
    foot = "".join(mark if column == marked else floor for column in range(len(grid[0])))
    return [*drawn, f"{'':>{LABEL}}{corner}{foot}", f"{'':>{LABEL + 1}}{below}"]


def _draw(curve: Curve, grid: list[list[str]], points: int, bounds: tuple[float, float], sign: str) -> None:
    """Draw a curve over the columns of the newest `points` times, as far back as it was fitted and within `bounds`."""
    low, high = bounds
    step = _step(len(grid[0]), points)
    for column in range((points - 1) * step + 1):
        number = curve.attempts - points + column / step
        row = round((high - curve.fitted(number)) / ((high - low) or 1.0) * (len(grid) - 1))
        if number >= 0 and 0 <= row < len(grid):
            grid[row][column] = sign


def _ends(first: str, last: str, width: int) -> str:
    """Return both ends' names at the ends of `width` cells; the last one alone where both have no room."""
    return f"{first}{last:>{width - len(first)}}" if len(first) + len(last) < width else last


def _step(columns: int, points: int) -> int:
    """Return how many columns apart the points lie, at most four."""
    return max(1, min(4, (columns - 1) // max(points - 1, 1)))
