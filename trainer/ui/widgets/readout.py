"""The readout: the beat or timer and the last time in figures, best and trend of the change beside them."""

from __future__ import annotations

from textwrap import wrap
from typing import ClassVar

from textual.content import Content
from textual.style import Style
from textual.widget import Widget

from trainer.ui.drilling.parts import Beats, Fact, Figure
from trainer.ui.figures import ROWS, figures
from trainer.ui.fitting import shortened
from trainer.ui.widgets.ink import ink

FACTS = 30
"""Cells for the column of facts."""
LEAST_FACTS = 18
"""Cells it can do with."""
MOST_BEATS = 7
"""More beats than this are not shown in a row but as a fraction."""
_SMALL = 3
"""Cells of a beat that is not the current one, where room is short."""
_TONES = ("caption", "now", "running", "go", "beat", "mind", "last", "best", "fact")


class Readout(Widget):
    """Two figures and a column of facts."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"readout--{tone}" for tone in _TONES}
    DEFAULT_CSS = """
    Readout {
        padding: 0 1;
        & > .readout--caption { color: $dim; }
        & > .readout--now { color: $foreground; }
        & > .readout--running { color: $accent; text-style: bold; }
        & > .readout--go { color: $good; text-style: bold reverse; }
        & > .readout--beat { color: $beat; text-style: bold; }
        & > .readout--mind { color: $warn; }
        & > .readout--last { color: $foreground; text-style: bold; }
        & > .readout--best { color: $good; text-style: bold; }
        & > .readout--fact { color: $foreground; }
    }
    """

    def __init__(self, *, fine: bool = True) -> None:
        """Show nothing yet; `fine` draws with half cells, else with ASCII."""
        super().__init__()
        self.fine = fine
        self._now = Figure("", "")
        self._last = Figure("", "")
        self._facts: tuple[Fact, ...] = ()
        self._tone = "now"
        self._record = False
        self._mind = ""

    def show(
        self,
        now: Figure,
        last: Figure,
        facts: tuple[Fact, ...],
        *,
        tone: str = "now",
        record: bool = False,
        mind: str = "",
    ) -> None:
        """Show these; `tone` is now, running, beat or go; `record` where the last time is the best there is.

        A caution to `mind` stands in the place of the last time and the facts.
        """
        new = (now, last, facts, tone, record, mind)
        if new != (self._now, self._last, self._facts, self._tone, self._record, self._mind):
            self._now, self._last, self._facts, self._tone, self._record, self._mind = new
            self.refresh()

    def render(self) -> Content:
        """Return the rows: a caption over each figure, the facts beside them."""
        width, height = self.size
        scale = max((height - 1) // ROWS, 1)
        facts = min(FACTS, max(LEAST_FACTS, width - 50))
        column = (width - facts) // 2
        beats = self._now.beats
        last = () if self._mind else self._figure(self._last.text, scale, column)
        # A big word may take what the last time and its caption leave.
        taken = 0 if self._mind else max(map(len, (*last, self._last.caption)))
        least = self._least(self._now.text) if beats is None else self._least_row(beats)
        column = max(column, min(least, width - facts - taken - 1))
        now = self._figure(self._now.text, scale, column) if beats is None else self._beats(beats, scale, column)
        caption = self._now.caption if beats is None else self._voices(beats, scale, column) or self._now.caption
        blocks = [self._block(caption, now, self._tone, column)]
        if self._mind:
            lines = wrap(self._mind, width - column - 1, max_lines=height - 1, placeholder=" ...")
            blocks.append(self._block("mind", tuple(lines), "mind", width - column))
        else:
            rest = width - facts - column
            blocks += [self._block(self._last.caption, last, self._last_tone, rest), self._lines(facts)]
        return Content("\n").join(
            Content.assemble(*(block[row] if row < len(block) else Content(" " * column) for block in blocks))
            for row in range(height)
        )

    @property
    def _last_tone(self) -> str:
        return "best" if self._record else "last"

    def _figure(self, text: str, scale: int, width: int) -> tuple[str, ...]:
        """Return `text` as large as `scale` and `width` allow, where no figures fit in one row of letters."""
        sizes = (figures(text, size, fine=self.fine) for size in range(scale, 0, -1))
        return next((rows for rows in sizes if len(rows[0]) < width), ("", text, ""))

    def _least(self, text: str) -> int:
        """Return the cells that `text` takes in the smallest figures, and a blank."""
        return len(figures(text, 1, fine=self.fine)[0]) + 1

    def _least_row(self, beats: Beats) -> int:
        """Return the cells that a row of beats takes at least, and a blank."""
        if beats.count > MOST_BEATS:
            return 0
        return sum(len(rows[0]) + 1 for rows in self._columns(beats, 1, 0))

    def _block(self, caption: str, rows: tuple[str, ...], tone: str, width: int) -> list[Content]:
        if tone == "go":
            rows = tuple(f"{row:^{width - 2}}" for row in rows)
        return [self._cell(caption, "caption", width), *(self._cell(row, tone, width) for row in rows)]

    def _lines(self, width: int) -> list[Content]:
        """Return the facts, their caption first."""
        tones = ("caption", *["fact"] * (len(self._facts) - 1))
        return [self._cell(_joined(fact, width), tone, width) for fact, tone in zip(self._facts, tones, strict=False)]

    def _cell(self, text: str, tone: str, width: int) -> Content:
        """Return `text` in the style of `tone`, cut or filled to `width` with one blank at the end."""
        text = shortened(text, width - 1)
        return Content.assemble(Content.styled(text, self._style(tone)), " " * (width - len(text)))

    def _style(self, tone: str) -> Style:
        return ink(self, f"readout--{tone}")

    def _beats(self, beats: Beats, scale: int, width: int) -> tuple[str, ...]:
        """Return a row of beats: the current one big, the accented ones in brackets."""
        if beats.count > MOST_BEATS:
            return self._figure(f"{beats.current}/{beats.count}", scale, width)
        columns = self._columns(beats, scale, width)
        return tuple(" ".join(parts) for parts in zip(*columns, strict=True))

    def _voices(self, beats: Beats, scale: int, width: int) -> str:
        """Return the strings that are struck, each over its beat; nothing where they have no beats of their own."""
        if not any(beats.voices) or beats.count > MOST_BEATS:
            return ""
        columns = self._columns(beats, scale, width)
        return " ".join(f"{voice:^{len(rows[0])}}" for voice, rows in zip(beats.voices, columns, strict=True))

    def _columns(self, beats: Beats, scale: int, width: int) -> list[list[str]]:
        """Return the rows of each beat."""
        wide = len(figures("0", scale, fine=self.fine)[0])
        slot = wide if beats.count * (wide + 1) <= width else _SMALL
        return [self._beat(beat, beats, scale, slot) for beat in range(1, beats.count + 1)]

    def _beat(self, beat: int, beats: Beats, scale: int, slot: int) -> list[str]:
        """Return one beat in `slot` cells, in more where it is the current one and needs them."""
        if beat == beats.current:
            return [f"{row:^{slot}}" for row in figures(str(beat), scale, fine=self.fine)]
        rows = len(figures("0", scale, fine=self.fine))
        text = f"[{beat}]" if beats.accented(beat) else str(beat)
        return [f"{text if row == rows // 2 else '':^{slot}}" for row in range(rows)]


def _joined(fact: Fact, width: int) -> str:
    """Return as many parts of `fact` as fit `width`, the first in any case."""
    text = fact[0]
    for part in fact[1:]:
        if part and len(text) + 2 + len(part) < width:
            text += f"  {part}"
    return text
