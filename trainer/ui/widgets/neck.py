"""A small neck on which a shape is made: a cursor, fingers as digits."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import note_name
from trainer.hand.words import roman
from trainer.practice.draft import Draft
from trainer.ui.board.picture import Look
from trainer.ui.widgets.ink import ink

_FRETS = 5
"""Frets in sight; they follow the cursor."""
_CELL = 4
"""Cells of a fret."""


class Neck(Widget):
    """One shape in the making."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"neck--finger", "neck--cursor", "neck--title"}
    DEFAULT_CSS = """
    Neck {
        width: 1fr;
        height: 1fr;
        padding: 1 1;
        & > .neck--title { color: $accent; text-style: bold; }
        & > .neck--finger { color: $kept; text-style: bold; }
        & > .neck--cursor { color: $accent; text-style: bold reverse; }
    }
    """

    def __init__(self, instrument: Instrument, look: Look, *, id: str | None = None) -> None:  # noqa: A002  # Textual's
        """Show nothing yet."""
        super().__init__(id=id)
        self._instrument = instrument
        self._look = look
        self._draft: Draft | None = None
        self._title = ""
        self._active = False

    def show(self, draft: Draft, title: str, *, active: bool) -> None:
        """Show `draft` under `title`, with its cursor where it is the active one."""
        self._draft, self._title, self._active = draft, title, active
        self.refresh()

    def render(self) -> Content:
        """Return the neck, string 1 on top."""
        draft = self._draft
        if draft is None:
            return Content("")
        first = max(1, draft.fret - _FRETS + 1)
        frets = list(range(first, first + _FRETS))
        mark = ">" if self._active else " "
        numbers = self._row("", "", [Content(f"{roman(fret):^{_CELL}}") for fret in frets])
        rows = [Content.styled(f"{mark} {self._title}", ink(self, "neck--title")), Content(""), numbers]
        rows += [self._string(string, draft, frets) for string in range(1, draft.shape.strings + 1)]
        return Content("\n").join(rows)

    def _string(self, string: int, draft: Draft, frets: list[int]) -> Content:
        stop = draft.shape[string]
        open_pitch = note_name(self._instrument.pitch(string, 0))
        held = "x" if stop is None else " " if stop.stopped else "o"
        cells = [self._cell(string, fret, draft) for fret in frets]
        return self._row(f"{string} {open_pitch:<3}", held, cells)

    def _cell(self, string: int, fret: int, draft: Draft) -> Content:
        stop = draft.shape[string]
        along = self._look.glyphs.along
        finger = str(stop.finger) if stop is not None and stop.fret == fret else ""
        at_cursor = self._active and (string, fret) == (draft.string, draft.fret)
        text = f"[{finger or ' '}]{along}" if at_cursor else f"{finger:{along}^{_CELL}}"
        style = "neck--cursor" if at_cursor else "neck--finger" if finger else ""
        return Content.styled(text, ink(self, style)) if style else Content(text)

    def _row(self, label: str, held: str, cells: list[Content]) -> Content:
        wire = Content(self._look.glyphs.crossing if label else " ")
        if self._look.left_handed:
            return Content.assemble(wire, wire.join(cells[::-1]), wire, f" {held:<2}{label:<5}")
        return Content.assemble(f"{label:<5}{held:<2}", wire, wire.join(cells), wire)
