"""The signs of the bench, in two sets: every one of them tells what it tells without colour."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Signs:
    """One set of signs."""

    differs: str
    """The ways take this shape differently; this way takes it otherwise than the first one."""
    set: str
    """A finger, or something in a shape, is set."""
    stuck: str
    """No hand takes this shape as it is asked for."""
    here: str
    """The note, or the way, that is looked at."""
    bars: str
    """A bar's end from the shortest part of a cell to the whole cell."""
    heights: str
    """A cell from low to high; empty where there are none such."""
    dot: str
    """Between two things in a row."""


FINE = Signs("≠", "■", "✗", "▸", "▏▎▍▌▋▊▉█", "▁▂▃▄▅▆▇█", " · ")
ASCII = Signs("/", "#", "!", ">", "=", "", ", ")


def bar(share: float, width: int, signs: Signs) -> str:
    """Return a bar over this share of `width` cells; something for any share above 0."""
    parts = len(signs.bars)
    filled = round(min(max(share, 0.0), 1.0) * width * parts)
    if share > 0:
        filled = max(filled, 1)
    whole, rest = divmod(filled, parts)
    return signs.bars[-1] * whole + (signs.bars[rest - 1] if rest else "")


def height(share: float, signs: Signs) -> str:
    """Return a cell as high as this share of it; a blank for a share of 0 or less."""
    if not signs.heights or share <= 0:
        return " " if signs.heights else ""
    return signs.heights[min(int(share * len(signs.heights)), len(signs.heights) - 1)]
