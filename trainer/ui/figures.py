"""Figures and letters of three rows or a multiple, from half cells; to be read from across a room. No Textual."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from trainer.ui.board.blocks import halves

ROWS = 3
"""Rows of a figure at scale 1."""

_PIXELS = {
    "0": ".##. #..# #..# #..# #..# .##.",
    "1": ".#. ##. .#. .#. .#. ###",
    "2": "###. ...# ..#. .#.. #... ####",
    "3": "###. ...# .##. ...# ...# ###.",
    "4": "#..# #..# #### ...# ...# ...#",
    "5": "#### #... ###. ...# ...# ###.",
    "6": ".##. #... ###. #..# #..# .##.",
    "7": "#### ...# ..#. ..#. .#.. .#..",
    "8": ".##. #..# .##. #..# #..# .##.",
    "9": ".##. #..# #..# .### ...# .##.",
    ".": ". . . . . #",
    ",": ".. .. .. .. .# #.",
    ":": ". # . . # .",
    "-": "... ... ### ... ... ...",
    "+": "... .#. ### .#. ... ...",
    "/": "...# ..#. ..#. .#.. .#.. #...",
    "#": ".#.#. ##### .#.#. .#.#. ##### .#.#.",
    " ": ".. .. .. .. .. ..",
    "A": ".##. #..# #..# #### #..# #..#",
    "B": "###. #..# ###. #..# #..# ###.",
    "C": ".### #... #... #... #... .###",
    "D": "###. #..# #..# #..# #..# ###.",
    "E": "#### #... ###. #... #... ####",
    "F": "#### #... ###. #... #... #...",
    "G": ".### #... #... #.## #..# .###",
    "H": "#..# #..# #### #..# #..# #..#",
    "I": "### .#. .#. .#. .#. ###",
    "J": "..## ...# ...# ...# #..# .##.",
    "K": "#..# #.#. ##.. ##.. #.#. #..#",
    "L": "#... #... #... #... #... ####",
    "M": "#...# ##.## #.#.# #...# #...# #...#",
    "N": "#..# ##.# ##.# #.## #.## #..#",
    "O": ".###. #...# #...# #...# #...# .###.",
    "P": "###. #..# #..# ###. #... #...",
    "Q": ".##. #..# #..# #..# #.#. .#.#",
    "R": "###. #..# #..# ###. #.#. #..#",
    "S": ".### #... .##. ...# ...# ###.",
    "T": "##### ..#.. ..#.. ..#.. ..#.. ..#..",
    "U": "#..# #..# #..# #..# #..# .##.",
    "V": "#...# #...# #...# .#.#. .#.#. ..#..",
    "X": "#...# .#.#. ..#.. ..#.. .#.#. #...#",
    "W": "#...# #...# #...# #.#.# #.#.# .#.#.",
    "Y": "#.# #.# #.# .#. .#. .#.",
    "Z": "#### ...# ..#. .#.. #... ####",
    "a": ".... .##. ...# .### #..# .###",
    "b": "#... #... ###. #..# #..# ###.",
    "d": "...# ...# .### #..# #..# .###",
    "g": ".... .### #..# .### ...# .##.",
    "i": "# . # # # #",
    "j": "..# ... ..# ..# #.# .#.",
    "m": "..... ####. #.#.# #.#.# #.#.# #.#.#",
    "s": "... .## #.. .#. ..# ##.",
    "u": ".... #..# #..# #..# #..# .###",
}
"""Six rows of pixels each, a full and an empty half cell as `#` and `.`."""

_SEGMENTS = {
    "0": (" _ ", "| |", "|_|"),
    "1": ("   ", "  |", "  |"),
    "2": (" _ ", " _|", "|_ "),
    "3": (" _ ", " _|", " _|"),
    "4": ("   ", "|_|", "  |"),
    "5": (" _ ", "|_ ", " _|"),
    "6": (" _ ", "|_ ", "|_|"),
    "7": (" _ ", "  |", "  |"),
    "8": (" _ ", "|_|", "|_|"),
    "9": (" _ ", "|_|", " _|"),
    ".": (" ", " ", "."),
    "/": ("  /", " / ", "/  "),
    "-": ("   ", "---", "   "),
    " ": ("  ", "  ", "  "),
}
"""The same of ASCII, for numbers; three rows are too few for letters, so a word is framed."""


@lru_cache(maxsize=512)
def figures(text: str, scale: int = 1, *, fine: bool = True) -> tuple[str, ...]:
    """Return `text` as `ROWS` * `scale` rows of equal width; of ASCII, where not `fine`, never more than twice `ROWS`.

    Text with a character that has no figure is returned as it is, in the middle row.
    """
    if not fine:
        return _plain(text, scale)
    if not text:
        return ("",) * ROWS * scale
    if not all(character in _PIXELS for character in text):
        rows = ROWS * scale
        return tuple(text if row == rows // 2 else " " * len(text) for row in range(rows))
    pixels = _joined([_PIXELS[character].split() for character in text], ".")
    scaled = [line.translate({ord("#"): "#" * scale, ord("."): "." * scale}) for line in pixels for _ in range(scale)]
    return tuple(_row(upper, lower) for upper, lower in list(pairwise(scaled))[::2])


def _plain(text: str, scale: int) -> tuple[str, ...]:
    """Return `text` in ASCII: of full cells where there are rows enough, else a number of strokes, a word framed."""
    if not text:
        return ("",) * ROWS
    if scale > 1 and has_figures(text):
        pixels = _joined([_PIXELS[character].split() for character in text], ".")
        return tuple(row.replace(".", " ") for row in pixels)
    if all(character in _SEGMENTS for character in text):
        return _joined([_SEGMENTS[character] for character in text])
    edge = f"+{'-' * (2 * len(text) + 1)}+"
    return edge, f"| {' '.join(text)} |", edge


def has_figures(text: str) -> bool:
    """Tell whether every character of `text` has a figure."""
    return all(character in _PIXELS for character in text)


def _joined(glyphs: Sequence[Sequence[str]], gap: str = " ") -> tuple[str, ...]:
    """Return glyphs of equal height side by side."""
    return tuple(gap.join(rows) for rows in zip(*glyphs, strict=True))


def _row(upper: str, lower: str) -> str:
    return halves((pixel == "#" for pixel in upper), (pixel == "#" for pixel in lower))
