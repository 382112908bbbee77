"""A join plan as a picture: the shapes of the passage with its cuts, and a row for each step."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.practice.joins import IN_A_ROW, Plan, State
from trainer.ui.widgets.ink import ink

_MARKS = {State.PASSED: "✓", State.NOW: "▶", State.TO_COME: " "}
_PLAIN_MARKS = {State.PASSED: "v", State.NOW: ">", State.TO_COME: " "}
_HEAD = 2
"""Rows of the passage above the steps."""
_NARROWEST, _WIDEST = 3, 9
"""Cells of a shape's column, the gap after it included: from here on there is one, and no wider than this."""


def picture(plan: Plan, names: Sequence[str], cursor: int, width: int, *, fine: bool = True) -> list[str]:
    """Return the plan in rows of at most `width` cells: two of the passage with its cuts, then one for each step.

    `names` are the shapes', `cursor` the number of the shape before the change at the cursor. Where there is room each
    shape has a column with its name on top; of a long passage the rows of the passage show as much as they hold, with
    the cursor in it, and each cell of a step stands for several shapes.
    """
    labels = _labels(plan, fine=fine)
    aside = max(map(len, labels)) + 2
    column = min((width - aside) // len(names), max(map(len, names)) + 3, _WIDEST)
    signs = ("■", "·") if fine else ("#", ".")
    if column < _NARROWEST:
        pictures = [_squeezed(row, width - aside) for row in plan.picture(*signs)]
        head = list(_numbers(plan, cursor, width, fine=fine))
    else:
        pictures = ["".join(f"{sign * (column - 1)} " for sign in row).rstrip() for row in plan.picture(*signs)]
        head = [f"{'':<{aside}}{row}" for row in _columns(plan, names, cursor, column, fine=fine)]
    return [*head, *(f"{label:<{aside}}{row}" for label, row in zip(labels, pictures, strict=True))]


def _labels(plan: Plan, *, fine: bool) -> list[str]:
    """Return how each step stands and what it practises; of the one at hand also its good runs in a row."""
    marks = _MARKS if fine else _PLAIN_MARKS
    found = []
    for number, (state, step) in enumerate(zip(plan.states, plan.steps, strict=True)):
        good = f", {plan.good} of {IN_A_ROW}" if number == plan.at and plan.good else ""
        found.append(f"{marks[state]} {step.kind} {step.first} to {step.last}{good}")
    return found


def _columns(plan: Plan, names: Sequence[str], cursor: int, column: int, *, fine: bool) -> tuple[str, str]:
    """Return the shapes' names over their columns with the cuts between them, and what points at the cursor."""
    cuts = {part.last for part in plan.segments[:-1]}
    cut, pointer = ("│", "▲") if fine else ("|", "^")
    cells = (
        f"{name if len(name) < column else str(number):<{column - 1}}{cut if number in cuts else ' '}"
        for number, name in enumerate(names, start=1)
    )
    return "".join(cells).rstrip(), f"{'':<{cursor * column - 1}}{pointer}"


def _numbers(plan: Plan, cursor: int, width: int, *, fine: bool) -> tuple[str, str]:
    """Return the shapes' numbers with the cuts between them, and what points at the cursor, which is always shown."""
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
        self._shown: tuple[Plan, tuple[str, ...], int, int] | None = None

    def show(self, plan: Plan, names: tuple[str, ...], chosen: int, cursor: int) -> None:
        """Show this plan of shapes with these names, step `chosen` highlighted, the cursor after shape `cursor`."""
        if self._shown != (plan, names, chosen, cursor):
            self._shown = (plan, names, chosen, cursor)
            self.refresh()

    def render(self) -> Content:
        """Return the rows; of many steps those around the highlighted one."""
        if self._shown is None:
            return Content("")
        plan, names, chosen, cursor = self._shown
        width, height = self.content_size
        head, rows = (drawn := picture(plan, names, cursor, width, fine=self._fine))[:_HEAD], drawn[_HEAD:]
        room = max(height - _HEAD, 1)
        first = max(0, min(chosen - room // 2, len(rows) - room))
        shown = range(first, min(first + room, len(rows)))
        passage = [Content.styled(row, ink(self, "joins--cuts")) for row in head]
        return Content("\n").join([*passage, *(self._row(number, rows[number], plan, chosen) for number in shown)])

    def _row(self, number: int, row: str, plan: Plan, chosen: int) -> Content:
        passed = plan.states[number] is State.PASSED
        tone = "chosen" if number == chosen else "passed" if passed else "step"
        return Content.styled(row, ink(self, f"joins--{tone}"))
