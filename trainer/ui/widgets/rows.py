"""A long list of lines, one of them chosen: a mark before it says so where neither colour nor style is seen."""

from __future__ import annotations

from rich.segment import Segment
from textual.strip import Strip
from textual.widgets import OptionList

MARK, PLAIN_MARK = "►", ">"
"""What stands before the line that is chosen, with line-drawing signs and in ASCII."""


class Rows(OptionList):
    """Textual's list, without the focus; the first cell of every line is kept for the mark."""

    DEFAULT_CSS = """
    Rows { text-wrap: nowrap; text-overflow: ellipsis; }
    Rows > .option-list--option { padding: 0 1; }
    """

    can_focus = False

    def __init__(self, *, fine: bool) -> None:
        """List nothing yet; `fine`: with line-drawing signs."""
        super().__init__(markup=False)
        self.fine = fine
        """True: with line-drawing signs, else in ASCII; taken on with the next drawing."""

    def render_line(self, y: int) -> Strip:
        """Return a row of the widget; the first one of the line that is chosen begins with the mark."""
        strip = super().render_line(y)
        line = self.scroll_offset.y + y
        if self.highlighted is None or line >= len(self._lines) or self._lines[line] != (self.highlighted, 0):
            return strip
        style = next(iter(strip)).style
        return Strip.join([Strip([Segment(MARK if self.fine else PLAIN_MARK, style)], 1), strip.crop(1)])
