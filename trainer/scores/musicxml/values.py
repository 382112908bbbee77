"""Written note values: a length as a row of values that can be tied."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

TYPES = (
    ("breve", Fraction(8)),
    ("whole", Fraction(4)),
    ("half", Fraction(2)),
    ("quarter", Fraction(1)),
    ("eighth", Fraction(1, 2)),
    ("16th", Fraction(1, 4)),
    ("32nd", Fraction(1, 8)),
    ("64th", Fraction(1, 16)),
    ("128th", Fraction(1, 32)),
    ("256th", Fraction(1, 64)),
    ("512th", Fraction(1, 128)),
    ("1024th", Fraction(1, 256)),
)
"""MusicXML's note types in quarters, longest first."""


@dataclass(frozen=True, slots=True)
class Value:
    """One written value."""

    quarters: Fraction
    """How long it lasts."""
    type: str
    """Its name in MusicXML."""
    dotted: bool = False
    """True where a dot makes it half as long again."""
    actual: int = 1
    """So many of it are played in the time of `normal`; 1 outside tuplets."""
    normal: int = 1
    """As in `actual`."""


def values(quarters: Fraction) -> tuple[Value, ...]:
    """Return `quarters` as written values, longest first, dotted or in a tuplet where it takes one.

    Raises ValueError where no value is short enough.
    """
    actual = quarters.denominator
    while actual % 2 == 0:
        actual //= 2
    normal = 1
    while normal * 2 <= actual:
        normal *= 2
    left = quarters * actual / normal
    scale = Fraction(normal, actual)
    found: list[Value] = []
    while left > 0:
        for name, length in TYPES:
            if length <= left:
                dotted = length * 3 / 2 == left
                taken = left if dotted else length
                found.append(Value(taken * scale, name, dotted, actual, normal))
                left -= taken
                break
        else:
            raise ValueError(f"{quarters} quarters are shorter than any note value")
    return tuple(found)
