"""Whole numbers as they are typed."""

from __future__ import annotations


def whole(text: str, least: int, most: int) -> int | None:
    """Return the number that `text` is, in digits of ASCII and from `least` to `most`; else None."""
    fits = text.isascii() and text.isdigit() and len(text) <= len(str(most))
    return number if fits and least <= (number := int(text)) <= most else None
