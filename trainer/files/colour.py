"""Colours as themes write them, and how well one reads on another. Pure."""

from __future__ import annotations

import re
from typing import TypeAlias

from trainer.files.kinds import Fault, Kind, UnfitError, closest, shown

Rgb: TypeAlias = tuple[int, int, int]
"""Red, green and blue, 0 to 255 each, in sRGB."""

_HUES = ("black", "red", "green", "yellow", "blue", "magenta", "cyan", "white")
TERMINAL = ("ansi_default", *(f"ansi_{hue}" for hue in _HUES), *(f"ansi_bright_{hue}" for hue in _HUES))
"""The terminal's own sixteen colours by name, and its default: which they are is the terminal's business."""

_HEX = re.compile(r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})")
_NAME = "a colour as #rgb or #rrggbb, or one of the terminal's own as ansi_red"


def _read(value: object) -> str:
    if not isinstance(value, str):
        raise UnfitError(Fault(f"must be {_NAME}, not {shown(value)}"))
    if _HEX.fullmatch(value):
        digits = value[1:].lower()
        return "#" + (digits if len(digits) == 6 else "".join(digit * 2 for digit in digits))
    if value not in TERMINAL:
        raise UnfitError(Fault(f"must be {_NAME}, not {shown(value)}", closest(value, TERMINAL)))
    return value


COLOUR: Kind[str] = Kind(_NAME, _read)
"""A colour; read as `#rrggbb` in small letters, or as the name of one of the terminal's own."""


def is_terminal(colour: str) -> bool:
    """Tell whether `colour` is one of the terminal's own, of which nothing can be computed."""
    return colour in TERMINAL


def rgb(colour: str) -> Rgb:
    """Return the parts of a colour written as `#rrggbb`."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def linear(part: int) -> float:
    """Return the light of one part of an sRGB colour, 0 to 1 (IEC 61966-2-1; the threshold WCAG 2.2 names)."""
    share = part / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def luminance(colour: str) -> float:
    """Return the relative luminance of `#rrggbb`, 0 for black to 1 for white (WCAG 2.2, "relative luminance")."""
    red, green, blue = (linear(part) for part in rgb(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21, the same both ways (WCAG 2.2, "contrast ratio")."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)
