"""A join plan as a picture: the shapes of the passage with its cuts, and a row for each step."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.practice.joins import Plan, State
from trainer.ui.widgets.ink import ink

_MARKS = {State.PASSED: "✓", State.NOW: "▶", State.TO_COME: " "}
_PLAIN_MARKS = {State.PASSED: "v", State.NOW: ">", State.TO_COME: " "}


def across(plan: Plan, cursor: int, width: int, *, fine: bool = True) -> tuple[str, str]:
    """Return the shapes' numbers with the cuts between them, and below them what points at the change at the cursor.

    `cursor` is the shape before the change, from 1. As much of a long passage as `width` cells hold, the cursor in it.
    """
    cuts = {part.last for part in plan.segments[:-1]}
    shapes = plan.segments[-1].last
    cut, pointer = ("│", "▲") if fine else ("|", "^")
    line, places = "", {}
    for shape in range(1, shapes + 1):
        line += f"{shape}"
        places[shape] = len(line) + (1 if shape in cuts else 0)
        line += f" {cut} " if shape in cuts else " "
    at = places[cursor]
    first = max(0, min(at - width // 2, len(line.rstrip()) - width))
    return line[first : first + width].rstrip(), f"{'':>{at - first}}{pointer}"


def steps(plan: Plan, width: int, *, fine: bool = True) -> list[str]:
    """Return a row for each step: how it stands, what it practises, and its shapes among all; `width` cells at most."""
    marks, signs = (_MARKS, ("■", "·")) if fine else (_PLAIN_MARKS, ("#", "."))
    names = [
        f"{marks[state]} {step.kind} {step.first} to {step.last}"
        for state, step in zip(plan.states, plan.steps, strict=True)
    ]
    wide = max(map(len, names))
    pictures = (_squeezed(picture, width - wide - 2) for picture in plan.picture(*signs))
    return [f"{name:<{wide}}  {picture}" for name, picture in zip(names, pictures, strict=True)]


def _squeezed(picture: str, width: int) -> str:
    """Return a picture in at most `width` cells: where it is longer, each cell stands for several shapes."""
    if len(picture) <= width or width < 1:
        return picture if len(picture) <= width else ""
    edges = [number * len(picture) // width for number in range(width + 1)]
    return "".join(_busiest(picture[edges[n] : edges[n + 1]]) for n in range(width))


def _busiest(signs: str) -> str:
    """Return the sign of what is in the step where any of several shapes is: no step may vanish."""
    return next((sign for sign in signs if sign in "■#"), signs[0])


class Joins(Widget):
    """The plan, one step highlighted and one change at the cursor."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"joins--{part}" for part in ("chosen", "passed", "step", "cuts")}
    DEFAULT_CSS = """
    Joins {
        padding: 0 1;
        text-wrap: nowrap;
        & > .joins--chosen { color: $accent; text-style: bold reverse; }
        & > .joins--passed { color: $dim; }
        & > .joins--step { color: $foreground; }
        & > .joins--cuts { color: $foreground; text-style: bold; }
    }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine`: with line-drawing signs."""
        super().__init__()
        self._fine = fine
        self._shown: tuple[Plan, int, int] | None = None

    def show(self, plan: Plan, chosen: int, cursor: int) -> None:
        """Show this plan, step `chosen` highlighted, the cursor after shape `cursor`."""
        if self._shown != (plan, chosen, cursor):
            self._shown = (plan, chosen, cursor)
            self.refresh()

    def render(self) -> Content:
        """Return the rows; of many steps those around the highlighted one."""
        if self._shown is None:
            return Content("")
        plan, chosen, cursor = self._shown
        width, height = self.content_size
        head = [Content.styled(row, ink(self, "joins--cuts")) for row in across(plan, cursor, width, fine=self._fine)]
        rows = steps(plan, width, fine=self._fine)
        room = max(height - len(head), 1)
        first = max(0, min(chosen - room // 2, len(rows) - room))
        shown = range(first, min(first + room, len(rows)))
        return Content("\n").join([*head, *(self._row(number, rows[number], plan, chosen) for number in shown)])

    def _row(self, number: int, row: str, plan: Plan, chosen: int) -> Content:
        passed = plan.states[number] is State.PASSED
        tone = "chosen" if number == chosen else "passed" if passed else "step"
        return Content.styled(row, ink(self, f"joins--{tone}"))
