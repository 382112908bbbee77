"""The board as plain cells: a change, a shape or a bare neck, drawn into the room there is. No Textual."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trainer.fretboard.instrument import Instrument
from trainer.hand.change import Change
from trainer.ui.board.canvas import Canvas, Ink, Picture
from trainer.ui.board.hand import Pen, draw_change, draw_shape
from trainer.ui.board.layout import Layout, Neck, lay_out
from trainer.ui.board.marks import UNICODE, Glyphs, Role
from trainer.ui.board.neck import draw_edges, draw_neck, draw_position, draw_shape_edges
from trainer.ui.board.window import FEWEST, Window, needed

LAID = "lying"
"""Stands in a corner where the neck was to be upright and there is room for a lying one only."""
TOO_SMALL = "too small for the board"
"""Stands where not even the smallest marks fit."""


class Mode(StrEnum):
    """How much the board gives away."""

    CHANGE = "change"
    """The shape held now and every movement into the next one."""
    SHAPE = "shape"
    """The shape held now."""
    HIDDEN = "hidden"
    """The bare neck: the player plays from memory."""


@dataclass(frozen=True, slots=True)
class Look:
    """How a player wants the board drawn."""

    glyphs: Glyphs = UNICODE
    """Unicode or ASCII."""
    left_handed: bool = False
    """True: everything mirrored."""
    upright: bool = False
    """True: the nut on top, where there is room for it; False: the nut at the side, string 1 on top, as in a score and
    as a player who looks down at the neck sees it."""
    mode: Mode = Mode.CHANGE
    """How much is shown."""


def draw(
    change: Change,
    instrument: Instrument,
    width: int,
    height: int,
    look: Look | None = None,
    window: Window | None = None,
) -> Picture | None:
    """Return the picture of `change` for a room of `width` by `height` cells; None where the room is too small.

    `window` is the least to show; None: what the change needs. The picture may be smaller than the room.
    """
    look = look or Look()
    layout = _layout(change, instrument, width, height, look, window)
    if layout is None:
        return None
    canvas = Canvas(layout.width, layout.height)
    pen = Pen(canvas, layout, look.glyphs)
    draw_neck(canvas, layout, look.glyphs, string_labels(instrument), instrument.capo)
    if look.upright and not layout.upright:
        canvas.put(layout.width - len(LAID) if instrument.capo else 0, 0, LAID, Ink(Role.DIM), word=True)
    if look.mode is Mode.CHANGE:
        draw_edges(canvas, layout, look.glyphs, change)
        draw_position(canvas, layout, look.glyphs, *change.positions)
        draw_change(pen, change)
    elif look.mode is Mode.SHAPE:
        draw_shape_edges(canvas, layout, look.glyphs, change.before)
        draw_position(canvas, layout, look.glyphs, change.positions[0], change.positions[0])
        draw_shape(pen, change.before)
    picture = canvas.picture()
    return picture.mirrored() if look.left_handed else picture


def fits(
    change: Change,
    instrument: Instrument,
    width: int,
    height: int,
    look: Look | None = None,
    window: Window | None = None,
) -> bool:
    """Tell whether `draw` finds room."""
    return _layout(change, instrument, width, height, look or Look(), window) is not None


def string_labels(instrument: Instrument) -> tuple[str, ...]:
    """Return number and note name of each string, string 1 first, all equally long: `6 E`."""
    names = [name.rstrip("-0123456789") for name in reversed(instrument.tuning_names)]
    width, digits = max(map(len, names)), len(str(instrument.strings))
    return tuple(f"{string:>{digits}} {name:<{width}}" for string, name in enumerate(names, start=1))


def _layout(
    change: Change, instrument: Instrument, width: int, height: int, look: Look, window: Window | None
) -> Layout | None:
    neck = Neck(instrument.strings, len(string_labels(instrument)[0]), instrument.top_fret)
    own = needed(change)
    wanted = (own,) if window is None or own.covers(window) else (window.joined(own), own)
    layouts = (
        lay_out(width, height, neck, _on_the_neck(shown, neck), upright)
        for upright in ((True, False) if look.upright else (False,))
        for shown in wanted
    )
    return next((layout for layout in layouts if layout is not None), None)


def _on_the_neck(window: Window, neck: Neck) -> Window:
    last = min(window.last, neck.top_fret)
    return Window(max(min(window.first, last - FEWEST + 1), 1), last)
