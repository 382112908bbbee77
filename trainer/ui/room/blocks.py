"""Finger numbers and string signs of blocks, at any scale: five pixels high, a pixel `scale` half cells high."""

from __future__ import annotations

from functools import lru_cache

from trainer.ui.board.figures import PIXELS

OPEN, MUTED = "O", "X"
"""What stands at the nut: an open string, one that is not played."""
_ROWS = 5
_PIXELS = {
    **PIXELS,
    OPEN: ("###", "#.#", "#.#", "#.#", "###"),
    MUTED: ("#.#", "#.#", ".#.", "#.#", "#.#"),
}
_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def size(scale: int) -> tuple[int, int]:
    """Return columns and rows of a block."""
    return 3 * scale, -(-_ROWS * scale // 2)


@lru_cache(maxsize=256)
def block(sign: str, scale: int, *, fine: bool = True, cut_out: bool = False) -> tuple[str, ...]:
    """Return the rows of `sign`; cut out, the ground is solid and the sign blank.

    A pixel is as wide as it looks high. Without `fine` it is made of `#`, a cell taking what its upper half has.
    """
    _, rows = size(scale)
    halves = [line for line in _PIXELS[sign] for _ in range(scale)] + ["..."] * (2 * rows - _ROWS * scale)
    pixels = [[(pixel == "#") is not cut_out for pixel in line for _ in range(scale)] for line in halves]
    pairs = zip(pixels[::2], pixels[1::2], strict=True)
    if fine:
        return tuple("".join(_HALVES[pair] for pair in zip(upper, lower, strict=True)) for upper, lower in pairs)
    return tuple("".join("#" if pixel else " " for pixel in upper) for upper, _ in pairs)
