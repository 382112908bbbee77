"""Text cut to the cells there are, what matters least first. No Textual."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size

_LEAST = 8
"""Cells below which what is cut says nothing any more."""


def squeezed(parts: Sequence[str], dot: str, width: int) -> str:
    """Return `parts` with `dot` between them in `width` cells: the first is cut or left out before the second is."""
    first, *rest = parts
    if not rest:
        return shortened(first, width)
    tail = "".join(f"{dot}{part}" for part in rest)
    room = width - len(tail)
    return f"{shortened(first, room)}{tail}" if room >= min(len(first), _LEAST) else squeezed(rest, dot, width)


def clauses(text: str, width: int) -> str:
    """Return as many clauses of `text`, parted by semicolons, as fit; the first one cut where even it does not."""
    parts = text.split("; ")
    fit = (shown for count in range(len(parts), 0, -1) if len(shown := "; ".join(parts[:count])) <= width)
    return next(fit, shortened(parts[0], width))


def shortened(text: str, width: int) -> str:
    """Return `text`, cut with an ellipsis where it is wider than `width` cells."""
    return text if cell_len(text) <= width else set_cell_size(text, max(width - 3, 0)) + "..."
