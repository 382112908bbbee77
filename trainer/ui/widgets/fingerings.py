"""The fingering bench as widgets: the passage as a row of shapes, and the ways side by side; both take clicks."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from trainer.ui.fingering.bench import Bench
from trainer.ui.fingering.columns import columns
from trainer.ui.fingering.passage import row
from trainer.ui.fingering.signs import Signs
from trainer.ui.fingering.ways import Outcome
from trainer.ui.widgets.ink import ink


class Shapes(Widget):
    """The passage: names, marks and costs of its shapes."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"shapes--{part}" for part in ("now", "name", "mark", "cost")}
    DEFAULT_CSS = """
    Shapes {
        padding: 0 1;
        text-wrap: nowrap;
        & > .shapes--now { color: $accent; text-style: bold reverse; }
        & > .shapes--name { color: $foreground; text-style: bold; }
        & > .shapes--mark { color: $accent; }
        & > .shapes--cost { color: $dim; }
    }
    """

    class Chosen(Message):
        """A shape was clicked."""

        def __init__(self, at: int) -> None:
            """Keep its index."""
            super().__init__()
            self.at = at

    def __init__(self, signs: Signs) -> None:
        """Show nothing yet."""
        super().__init__()
        self._signs = signs
        self._shown: tuple[Bench, Outcome | None] | None = None

    def show(self, bench: Bench, outcome: Outcome | None) -> None:
        """Show the passage of `bench` with what came of it."""
        self._shown = (bench, outcome)
        self.refresh()

    def render(self) -> Content:
        """Return the rows."""
        if self._shown is None:
            return Content("")
        bench, outcome = self._shown
        drawn = row(bench, outcome, self.content_size.width, self._signs)
        tones = ["now" if drawn.first + index == bench.at else "name" for index in range(len(drawn.names))]
        names = (
            Content.assemble(Content.styled(name, ink(self, f"shapes--{tone}")), " " * (drawn.cell - len(name)))
            for name, tone in zip(drawn.names, tones, strict=True)
        )
        lines = [Content.assemble(*names)]
        for texts, tone in ((drawn.marks, "mark"), (drawn.costs, "cost")):
            line = "".join(f"{text:<{drawn.cell}}" for text in texts)
            lines.append(Content.styled(line, ink(self, f"shapes--{tone}")))
        return Content("\n").join(lines)

    def on_click(self, event: events.Click) -> None:
        """Ask for the shape under the pointer."""
        if self._shown is not None:
            drawn = row(*self._shown, self.content_size.width, self._signs)
            at = drawn.at(event.x - self.styles.padding.left)
            if at is not None:
                self.post_message(self.Chosen(at))


class Ways(Widget):
    """The ways at one shape, a column each."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"ways--{part}" for part in ("now", "head", "text")}
    DEFAULT_CSS = """
    Ways {
        padding: 0 1;
        text-wrap: nowrap;
        & > .ways--now { color: $accent; text-style: bold reverse; }
        & > .ways--head { color: $foreground; text-style: bold; }
        & > .ways--text { color: $foreground; }
    }
    """

    class Chosen(Message):
        """A way was clicked."""

        def __init__(self, column: int) -> None:
            """Keep which."""
            super().__init__()
            self.column = column

    def __init__(self, signs: Signs) -> None:
        """Show nothing yet."""
        super().__init__()
        self._signs = signs
        self._shown: tuple[Bench, Outcome] | None = None

    def show(self, bench: Bench, outcome: Outcome | None) -> None:
        """Show the ways of `outcome` at the shape that is looked at."""
        self._shown = None if outcome is None or not outcome.columns else (bench, outcome)
        self.refresh()

    def render(self) -> Content:
        """Return the rows."""
        if self._shown is None:
            return Content("")
        told = columns(*self._shown, self.content_size.width, self._signs)
        lines = []
        for number, texts in enumerate(zip(*(one.lines for one in told), strict=True)):
            tones = ["text" if number else "now" if one.now else "head" for one in told]
            parts = zip(texts, tones, strict=True)
            lines.append(
                Content.assemble(*(Content.styled(f"{text} ", ink(self, f"ways--{tone}")) for text, tone in parts))
            )
        return Content("\n").join(lines)

    def on_click(self, event: events.Click) -> None:
        """Ask for the way under the pointer."""
        if self._shown is None:
            return
        told = columns(*self._shown, self.content_size.width, self._signs)
        index = (event.x - self.styles.padding.left) // (len(told[0].lines[0]) + 1)
        if 0 <= index < len(told):
            self.post_message(self.Chosen(told[index].index))
