"""The strings of a guitar as they are heard, a row each: note, a bar for its velocity, what is known of the string."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.ui.setting_up.view import Row
from trainer.ui.widgets.ink import ink

_FULL = 127
_HEAD = 17
"""Cells before the bar: the mark, the string and the note."""
_NUMBER = 5
"""Cells of the velocity after it."""
_FACT = 15
"""Cells of a fact, its gap in it."""
_LONGEST = 24
"""Cells of the bar at most."""
_SHORTEST = 8
_FRESH, _PLAIN_FRESH = "♪", "*"
"""Stands before a note that was struck just now, with signs and in ASCII."""


class Strings(Widget):
    """A row for each string."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"strings--{part}" for part in ("asked", "plain", "fresh", "fact")}
    DEFAULT_CSS = """
    Strings {
        height: 7;
        padding: 0 1;
        & > .strings--asked { color: $accent; text-style: bold reverse; }
        & > .strings--plain { color: $foreground; }
        & > .strings--fresh { color: $good; text-style: bold; }
        & > .strings--fact { color: $dim; }
    }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine` draws bars with blocks, else with ASCII."""
        super().__init__()
        self.fine = fine
        self._rows: tuple[Row, ...] = ()

    def show(self, rows: tuple[Row, ...]) -> None:
        """Show these strings."""
        if rows != self._rows:
            self._rows = rows
            self.refresh()

    def render(self) -> Content:
        """Return the rows; facts are left out from the last where there is no room."""
        width = self.size.width
        most = max((len(row.facts) for row in self._rows), default=0)
        facts = max(min(most, (width - _HEAD - _SHORTEST - _NUMBER) // _FACT), 0)
        bar = min(_LONGEST, width - _HEAD - _NUMBER - facts * _FACT)
        return Content("\n").join(self._row(row, bar, facts) for row in self._rows)

    def _row(self, row: Row, bar: int, facts: int) -> Content:
        name = "other" if row.string is None else f"string {row.string}"
        mark = ("▶" if self.fine else ">") if row.asked else " "
        full, empty = ("█", "·") if self.fine else ("#", ".")
        length = min(round(bar * row.velocity / _FULL), bar)
        told = "".join(f"  {fact:<{_FACT - 2}}" for fact in row.facts[:facts])
        struck = (_FRESH if self.fine else _PLAIN_FRESH) if row.fresh else " "
        loud = ink(self, f"strings--{'fresh' if row.fresh else 'plain'}")
        return Content.assemble(
            Content.styled(f"{mark} {name:<9}", ink(self, f"strings--{'asked' if row.asked else 'plain'}")),
            Content.styled(f"{struck}{row.note:<4} ", loud),
            Content.styled(full * length, loud),
            Content.styled(empty * (bar - length), ink(self, "strings--fact")),
            Content.styled(f" {row.velocity or '':<{_NUMBER - 1}}", loud),
            Content.styled(told, ink(self, "strings--fact")),
        )
