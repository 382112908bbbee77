"""Finger numbers and string signs of blocks, at any scale: five pixels high, a pixel `scale` half cells high."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

ANY_FINGER = "•"
"""Stands for the number where a shape does not say which finger."""
OPEN, MUTED = "O", "X"
"""What stands at the nut: an open string, one that is not played."""
_ROWS = 5
_PIXELS = {
    "1": (".#.", "##.", ".#.", ".#.", "###"),
    "2": ("###", "..#", "###", "#..", "###"),
    "3": ("###", "..#", "###", "..#", "###"),
    "4": ("#.#", "#.#", "###", "..#", "..#"),
    ANY_FINGER: ("...", ".#.", "###", ".#.", "..."),
    OPEN: ("###", "#.#", "#.#", "#.#", "###"),
    MUTED: ("#.#", "#.#", ".#.", "#.#", "#.#"),
}
_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
LOWER = _HALVES[False, True]
"""The lower half of a cell."""


def halves(upper: Iterable[bool], lower: Iterable[bool]) -> str:
    """Return a row of cells of two pixels each, one above the other."""
    return "".join(_HALVES[pair] for pair in zip(upper, lower, strict=True))


def size(scale: int) -> tuple[int, int]:
    """Return columns and rows of a block."""
    return 3 * scale, -(-_ROWS * scale // 2)


@lru_cache(maxsize=256)
def block(sign: str, scale: int, *, fine: bool = True, cut_out: bool = False) -> tuple[str, ...]:
    """Return the rows of `sign`; cut out, the ground is solid and the sign blank.

    A pixel is as wide as it looks high. Without `fine` it is made of `#`, a cell taking what its upper half has.
    """
    _, rows = size(scale)
    lines = [line for line in _PIXELS[sign] for _ in range(scale)] + ["..."] * (2 * rows - _ROWS * scale)
    pixels = [[(pixel == "#") is not cut_out for pixel in line for _ in range(scale)] for line in lines]
    pairs = zip(pixels[::2], pixels[1::2], strict=True)
    if fine:
        return tuple(halves(upper, lower) for upper, lower in pairs)
    return tuple("".join("#" if pixel else " " for pixel in upper) for upper, _ in pairs)
