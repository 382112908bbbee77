"""Times over attempts as a plot that carries its numbers: the slowest and fastest at the left, the count below.

A learning curve is drawn through them where there is one, and told on a line of its own above.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widget import Widget

from trainer.practice.curve import Curve
from trainer.ui.played import seconds
from trainer.ui.widgets.lines import clauses

_LABEL = 8
"""Cells of the axis at the left: a time and the line."""


def plot(
    times: Sequence[float], width: int, height: int, *, fine: bool = True, curve: Curve | None = None
) -> list[str]:
    """Return the rows of a plot of `times` (milliseconds, oldest first) in `width` by `height` cells.

    The newest are shown where there are more than columns. `curve` is one fitted through the newest of them. Empty
    where there is no time or no room.
    """
    columns, rows = width - _LABEL - 1, height - 2
    if not times or columns < 2 or rows < 2:
        return []
    shown = times[-columns:]
    first = len(times) - len(shown) + 1
    low, high = min(shown), max(shown)
    reach = high - low or 1.0
    dot, line, corner, floor = ("●", "│", "└", "─") if fine else ("*", "|", "+", "-")
    grid = [[" "] * columns for _ in range(rows)]
    if curve is not None:
        _draw(curve, grid, len(shown), (low, high), "·" if fine else ".")
    for column, time in enumerate(shown):
        grid[round((high - time) / reach * (rows - 1))][column * _step(columns, len(shown))] = dot
    labels = {rows - 1: seconds(low), 0: seconds(high)} if high > low else {0: seconds(high)}
    drawn = [f"{labels.get(row, ''):>{_LABEL - 1}} {line}{''.join(cells)}" for row, cells in enumerate(grid)]
    last = (len(shown) - 1) * _step(columns, len(shown))
    below = _ends(str(first), str(len(times)), last + 1)
    return [*drawn, f"{'':>{_LABEL}}{corner}{floor * columns}", f"{'':>{_LABEL + 1}}{below}"]


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
    """Return both numbers at the ends of `width` cells; the last one alone where both have no room."""
    return f"{first}{last:>{width - len(first)}}" if len(first) + len(last) < width else last


def _step(columns: int, points: int) -> int:
    """Return how many columns apart the points lie, at most four."""
    return max(1, min(4, (columns - 1) // max(points - 1, 1)))


class Plot(Widget):
    """A plot of change times, as large as its room."""

    DEFAULT_CSS = """
    Plot { padding: 0 1; color: $foreground; }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine`: with line-drawing signs."""
        super().__init__()
        self._fine = fine
        self._shown: tuple[tuple[float, ...], Curve | None, str] = ((), None, "")

    def show(self, times: Sequence[float], curve: Curve | None = None, words: str = "") -> None:
        """Show these times in milliseconds, oldest first, with their curve and what it says."""
        if (shown := (tuple(times), curve, words)) != self._shown:
            self._shown = shown
            self.refresh()

    def render(self) -> Content:
        """Return the plot."""
        times, curve, words = self._shown
        width, height = self.content_size
        head = [clauses(words, width)] if words else []
        return Content("\n".join([*head, *plot(times, width, height - len(head), fine=self._fine, curve=curve)]))
