"""Light single strings on a picture that is already drawn: heard, wrong, missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from trainer.ui.board.canvas import Run
from trainer.ui.board.marks import MARKS, Glyphs, Role, Sign

LIGHTS = (Sign.HEARD, Sign.WRONG, Sign.MISSING)
"""What a string can be lit as."""


def lit(row: tuple[Run, ...], lights: Mapping[int, Sign], glyphs: Glyphs) -> tuple[Run, ...]:
    """Return `row` with the cells of each lit string in that light's role, and its mark beyond the last fret."""
    if not lights:
        return row
    return tuple(_lit(run, lights[run.ink.string], glyphs) if run.ink.string in lights else run for run in row)


def _lit(run: Run, sign: Sign, glyphs: Glyphs) -> Run:
    text = run.text if run.ink.role is Role.STRING else glyphs.mark(sign)
    return replace(run, text=text, ink=replace(run.ink, role=MARKS[sign].role))
