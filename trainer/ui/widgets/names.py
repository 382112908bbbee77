"""The names of the two shapes of a change and of what comes after, on one row or in big letters on three."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.ui.figures import ROWS, figures, has_figures
from trainer.ui.widgets.ink import ink

_GAP = "   "
_TAIL = 40
"""Cells to be left beside big letters."""


class Names(Widget):
    """From which shape to which, and what then."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"names--{part}" for part in ("now", "next", "then", "watch")}
    DEFAULT_CSS = """
    Names {
        padding: 0 1;
        & > .names--now { color: $foreground; text-style: bold; }
        & > .names--next { color: $accent; text-style: bold; }
        & > .names--then { color: $dim; }
        & > .names--watch { color: $foreground; text-style: bold; }
    }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine` allows big letters and an arrow."""
        super().__init__()
        self.fine = fine
        self._shown: tuple[tuple[str, str], tuple[str, ...], str] = (("", ""), (), "")

    def show(self, names: tuple[str, str], then: tuple[str, ...], watch: str) -> None:
        """Show the change's two names, those that follow, and the finger to watch."""
        if (names, then, watch) != self._shown:
            self._shown = (names, then, watch)
            self.refresh()

    def render(self) -> Content:
        """Return the rows."""
        (before, after), then, watch = self._shown
        width, height = self.size
        arrow = "→" if self.fine else "->"
        big = height >= ROWS and self.fine and has_figures(before + after) and _width(before, after) <= width - _TAIL
        rows = ROWS if big else 1
        columns = [
            (figures(before) if big else (before,), "now"),
            (tuple(f"  {arrow}  " if row == rows // 2 else "     " for row in range(rows)), "now"),
            (figures(after) if big else (after,), "next"),
        ]
        used = sum(len(lines[0]) for lines, _ in columns)
        watch = watch if used + len(watch) + len(_GAP) <= width else ""
        room = width - used - len(watch) - 2 * len(_GAP)
        tail = _fitting(then, f" {arrow} ", room)
        fill = " " * max(width - used - len(_GAP) - len(tail) - len(watch), 0)
        lines = []
        for row in range(rows):
            parts = [Content.styled(text[row], ink(self, f"names--{tone}")) for text, tone in columns]
            if row == rows // 2:
                parts += [
                    Content(_GAP),
                    Content.styled(tail, ink(self, "names--then")),
                    Content(fill),
                    Content.styled(watch, ink(self, "names--watch")),
                ]
            lines.append(Content.assemble(*parts))
        return Content("\n").join(lines)


def _width(before: str, after: str) -> int:
    """Return how wide both names are in big letters."""
    return len(figures(before)[0]) + len(figures(after)[0])


def _fitting(then: tuple[str, ...], arrow: str, room: int) -> str:
    """Return as much of what follows as `room` cells hold."""
    if not then:
        return "then the run is over" if room >= len("then the run is over") else ""
    for count in range(len(then), 0, -1):
        text = f"then {arrow.join(then[:count])}"
        if len(text) <= room:
            return text
    return ""
