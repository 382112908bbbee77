"""Numbers as they are typed."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable

from trainer.errors import plain


def whole(text: str, least: int, most: int) -> int | None:
    """Return the number that `text` is, in digits of ASCII and from `least` to `most`; else None."""
    fits = text.isascii() and text.isdigit() and len(text) <= len(str(most))
    return number if fits and least <= (number := int(text)) <= most else None


def between(least: int, most: int, misses: str = "no number") -> Callable[[str], int]:
    """Return the type of an argument that is a number from `least` to `most`; `misses` says what another one is."""

    def read(text: str) -> int:
        number = whole(text, least, most)
        if number is None:
            raise argparse.ArgumentTypeError(f"'{plain(text)}' is {misses} from {least} to {most}")
        return number

    return read


def within(least: float, most: float, what: str) -> Callable[[str], float]:
    """Return the type of an argument that is a number, whole or not, from `least` to `most`; `what` is its name."""

    def read(text: str) -> float:
        try:
            number = float(text)
        except ValueError:
            number = math.nan
        if not least <= number <= most:
            raise argparse.ArgumentTypeError(f"'{plain(text)}' is not {what} from {least:g} to {most:g}")
        return number

    return read
