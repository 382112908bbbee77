"""What to do now in letters that can be read from two metres, a second thing in big letters at the right."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.ui.figures import ROWS, figures, has_figures
from trainer.ui.widgets.ink import ink


class Headline(Widget):
    """A caption, big letters below it, and a row of beats where there are any."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"headline--{part}" for part in ("caption", "big", "side", "beat")}
    DEFAULT_CSS = """
    Headline {
        height: 5;
        padding: 0 1;
        & > .headline--caption { color: $foreground; text-style: bold; }
        & > .headline--big { color: $accent; text-style: bold; }
        & > .headline--side { color: $foreground; text-style: bold; }
        & > .headline--beat { color: $beat; text-style: bold; }
    }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine` draws with half cells, else with ASCII."""
        super().__init__()
        self.fine = fine
        self._shown: tuple[str, str, str, bool, tuple[int, int] | None] = ("", "", "", False, None)

    def show(
        self, caption: str, big: str, side: str = "", *, beat: bool = False, beats: tuple[int, int] | None = None
    ) -> None:
        """Show these; `beat`: the side is a beat; `beats`: the one that is played and how many there are."""
        new = (caption, big, side, beat, beats)
        if new != self._shown:
            self._shown = new
            self.refresh()

    def render(self) -> Content:
        """Return the rows: caption, letters as large as there is room for, beats."""
        caption, big, side, beat, beats = self._shown
        width, height = self.size
        left, right = self._fitting(big, side, width, height - 2)
        rows = [Content.styled(caption, ink(self, "headline--caption"))]
        style = ink(self, "headline--beat" if beat else "headline--side")
        for index in range(max(len(left), len(right))):
            start = left[index] if index < len(left) else ""
            end = right[index] if index < len(right) else ""
            gap = " " * max(width - len(start) - len(end), 1)
            rows.append(
                Content.assemble(Content.styled(start, ink(self, "headline--big")), gap, Content.styled(end, style))
            )
        if beats is not None:
            rows.append(Content.styled(_beats(*beats), ink(self, "headline--beat")))
        return Content("\n").join(rows[:height])

    def _fitting(self, big: str, side: str, width: int, height: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Return both in figures as large as both have room for, in one row of plain letters where none fit."""
        spelt = self.fine and has_figures(big) and has_figures(side)
        digits = not self.fine and not any(letter.isalpha() for letter in side)
        for scale in range(max(height // ROWS, 1) if spelt else 0, 0, -1):
            left, right = figures(big, scale), figures(side, scale)
            if len(left[0]) + len(right[0]) + 2 <= width:
                return left, right
        middle = ("", f"  {' '.join(big)}", "")
        return middle, figures(side, fine=False) if digits and side else ("", side, "")


def _beats(current: int, count: int) -> str:
    """Return the beats in a row, the current one in brackets."""
    return " ".join(f"[{beat}]" if beat == current else f" {beat} " for beat in range(1, count + 1))
