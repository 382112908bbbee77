"""The last ten times of a change, each with a bar: the longer, the slower."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.ui.drilling.known import seconds
from trainer.ui.widgets.ink import ink

_NUMBER = 7
_BEST = "*"
"""Stands behind the best time there is."""


class LastTen(Widget):
    """Times one below the other, the newest at the foot."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"lastten--{part}" for part in ("caption", "time", "best", "bar")}
    DEFAULT_CSS = """
    LastTen {
        & > .lastten--caption { color: $dim; }
        & > .lastten--time { color: $foreground; }
        & > .lastten--best { color: $good; text-style: bold; }
        & > .lastten--bar { color: $dim; }
    }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine` draws bars of blocks, else of ASCII."""
        super().__init__()
        self.fine = fine
        self._times: tuple[float, ...] = ()
        self._best: float | None = None

    def show(self, times: tuple[float, ...], best: float | None) -> None:
        """Show `times` in milliseconds, the newest last; `best` is marked where it is among them."""
        if (times, best) != (self._times, self._best):
            self._times, self._best = times, best
            self.refresh()

    def render(self) -> Content:
        """Return the rows."""
        room = max(self.size.height - 1, 0)
        times = self._times[-room:] if room else ()
        if not times:
            return Content("")
        caption = Content.styled(f"last times, s ({_BEST} best)", ink(self, "lastten--caption"))
        return Content("\n").join([caption, *(self._row(time, max(times)) for time in times)])

    def _row(self, time: float, longest: float) -> Content:
        tone = "best" if time == self._best else "time"
        bar = ("▄" if self.fine else "=") * max(round((self.size.width - _NUMBER) * time / longest), 1)
        mark = _BEST if time == self._best else ""
        number = Content.styled(f"{seconds(time):>{_NUMBER - 2}}{mark:<2}", ink(self, f"lastten--{tone}"))
        return Content.assemble(number, Content.styled(bar, ink(self, "lastten--bar")))
