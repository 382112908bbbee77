"""Named open shapes of the trade's common stock, with fingers, for six strings in standard tuning.

C, D, E, F and G7 are fingered as in LilyPond's predefined guitar fretboards; C, Am, Em, D7 and G as the teachers'
pivot and guide examples take them; the rest is common practice, no source.
"""

from __future__ import annotations

from difflib import get_close_matches
from types import MappingProxyType

from trainer.errors import wrong
from trainer.fretboard.shape import Shape
from trainer.fretboard.text import parse_shape

STOCK = MappingProxyType(
    {
        "A": "x 0 2/1 2/2 2/3 0",
        "Am": "x 0 2/2 2/3 1/1 0",
        "A7": "x 0 2/2 0 2/3 0",
        "Am7": "x 0 2/2 0 1/1 0",
        "Amaj7": "x 0 2/2 1/1 2/3 0",
        "Asus2": "x 0 2/1 2/2 0 0",
        "Asus4": "x 0 2/1 2/2 3/3 0",
        "B7": "x 2/2 1/1 2/3 0 2/4",
        "Bm": "x 2/1 4/3 4/4 3/2 2/1",
        "C": "x 3/3 2/2 0 1/1 0",
        "C7": "x 3/3 2/2 3/4 1/1 0",
        "Cmaj7": "x 3/3 2/2 0 0 0",
        "D": "x x 0 2/1 3/3 2/2",
        "Dm": "x x 0 2/2 3/3 1/1",
        "D7": "x x 0 2/2 1/1 2/3",
        "Dm7": "x x 0 2/2 1/1 1/1",
        "Dmaj7": "x x 0 2/1 2/2 2/3",
        "Dsus2": "x x 0 2/1 3/3 0",
        "Dsus4": "x x 0 2/1 3/3 3/4",
        "E": "0 2/2 2/3 1/1 0 0",
        "Em": "0 2/1 2/2 0 0 0",
        "E7": "0 2/2 0 1/1 0 0",
        "Em7": "0 2/1 0 0 0 0",
        "Esus4": "0 2/2 2/3 2/4 0 0",
        "F": "1/1 3/3 3/4 2/2 1/1 1/1",
        "Fmaj7": "x x 3/3 2/2 1/1 0",
        "G": "3/2 2/1 0 0 0 3/3",
        "G7": "3/3 2/2 0 0 0 1/1",
    }
)
"""Text form by name."""


def stock_shape(name: str) -> Shape:
    """Return the named open shape. Raises ChangeoverError with the nearest known name where there is none."""
    text = STOCK.get(name)
    if text is None:
        near = get_close_matches(name, STOCK, n=1, cutoff=0.5)
        hint = f"did you mean {near[0]}? " if near else ""
        raise wrong(f"no shape is named '{name}'", hint=f"{hint}known: {' '.join(STOCK)}")
    return parse_shape(text)
