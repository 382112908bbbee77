"""An interval as a row of cells: its ends, its middle, and where nought is."""

from __future__ import annotations

FINE, PLAIN = "●├┤─│", "o[]-|"
"""The middle, both ends, what lies between, nought."""


def drawn(columns: int, nought: int, ends: tuple[int, int], middle: int, signs: str = FINE) -> str:
    """Return `columns` cells with all of these at theirs; an interval within one cell is its middle alone."""
    dot, left, right, between, zero = tuple(signs)
    first, last = ends
    cells = [" "] * columns
    cells[nought] = zero
    if last > first:
        cells[first : last + 1] = [left, *([between] * (last - first - 1)), right]
    cells[middle] = dot
    return "".join(cells)
