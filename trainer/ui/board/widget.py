"""The board and the small diagram as Textual widgets."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.hand.change import Change
from trainer.ui.board.canvas import Picture, Run
from trainer.ui.board.lights import LIGHTS, lit
from trainer.ui.board.marks import Sign
from trainer.ui.board.mini import mini, mini_size
from trainer.ui.board.picture import TOO_SMALL, Look, draw, fits
from trainer.ui.board.view import PictureView
from trainer.ui.board.window import Window, follow


class Board(PictureView):
    """The fretboard: the shape held now and the change into the next one; live notes light its strings."""

    DEFAULT_CSS = """
    Board { width: 1fr; height: 1fr; }
    """

    def __init__(
        self,
        instrument: Instrument | None = None,
        look: Look | None = None,
        *,
        id: str | None = None,  # noqa: A002 - Textual's own name for it
        classes: str | None = None,
    ) -> None:
        """Begin without a change; `instrument` is the default guitar where none is given."""
        super().__init__(look, id=id, classes=classes)
        self._instrument = instrument or Instrument()
        self._change: Change | None = None
        self._window: Window | None = None
        self._lights: dict[int, Sign] = {}

    def clear(self) -> None:
        """Show no change, all lights out."""
        if self._change is not None:
            self._change = None
            self._lights.clear()
            self.redraw()

    def show(self, change: Change, instrument: Instrument | None = None, window: Window | None = None) -> None:
        """Show `change`, all lights out.

        `window` is the least to show; without it the frets shown before stay where they cover the change.
        """
        instrument = instrument or self._instrument
        frets = follow(self._window, change) if window is None else window
        if change is self._change and instrument is self._instrument and frets == self._window:
            self.show_lights({})
            return
        self._change, self._instrument, self._window = change, instrument, frets
        self._lights.clear()
        self.redraw()

    def fits(self, width: int, height: int) -> bool:
        """Tell whether the change fits a content of `width` by `height` cells; True where none is shown."""
        if self._change is None:
            return True
        return fits(self._change, self._instrument, width, height, self.look, self._window)

    def light(self, string: int, sign: Sign | None) -> None:
        """Light `string` as heard, wrong or missing; None puts it out. Only its own rows are rendered again.

        Raises ValueError for any other sign.
        """
        if sign is not None and sign not in LIGHTS:
            raise ValueError(f"{sign} is no light")
        if self._lights.get(string) is sign:
            return
        if sign is None:
            del self._lights[string]
        else:
            self._lights[string] = sign
        self.refresh_rows(string)

    def show_lights(self, lights: Mapping[int, Sign]) -> None:
        """Light these strings and no others. Raises ValueError as `light` does."""
        for string in {*self._lights, *lights}:
            self.light(string, lights.get(string))

    @property
    def lights(self) -> Mapping[int, Sign]:
        """The strings that are lit, and how."""
        return MappingProxyType(self._lights)

    def draw_picture(self, width: int, height: int) -> Picture | None:
        """Return the picture of the change."""
        if self._change is None:
            return None
        return draw(self._change, self._instrument, width, height, self.look, self._window)

    def picture_row(self, row: tuple[Run, ...]) -> tuple[Run, ...]:
        """Return `row` with its lit strings."""
        return lit(row, self._lights, self.look.glyphs)

    def empty_words(self) -> str:
        """Return why no board is shown."""
        return TOO_SMALL if self._change is not None else ""


class Mini(PictureView):
    """A small upright diagram of a shape to come; as large as it needs to be."""

    DEFAULT_CSS = """
    Mini { width: auto; height: auto; }
    """

    def __init__(self, look: Look | None = None, *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002 - Textual's own name for it
        """Begin without a shape."""
        super().__init__(look, id=id, classes=classes)
        self._shape: Shape | None = None

    def show(self, shape: Shape | None) -> None:
        """Show `shape`; None shows nothing."""
        self._shape = shape
        self.redraw()
        self.refresh(layout=True)

    def get_content_width(self, *_sizes: object) -> int:
        """Return the diagram's width in cells."""
        return 0 if self._shape is None else mini_size(self._shape)[0]

    def get_content_height(self, *_sizes: object) -> int:
        """Return the diagram's height in cells."""
        return 0 if self._shape is None else mini_size(self._shape)[1]

    def draw_picture(self, width: int, height: int) -> Picture | None:
        """Return the diagram."""
        return None if self._shape is None else mini(self._shape, self.look)
