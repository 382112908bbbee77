"""Words and marks above the staff: barres, tempo, retuned strings."""

from __future__ import annotations

import re
from fractions import Fraction

from trainer.errors import plain
from trainer.fretboard.instrument import MOST_STRINGS
from trainer.fretboard.pitch import LETTERS
from trainer.fretboard.shape import HIGHEST_FRET
from trainer.scores.musicxml.ledger import Ledger
from trainer.scores.musicxml.values import TYPES
from trainer.scores.musicxml.xml import Node

_UNITS = {"long": Fraction(16), **dict(TYPES)}
"""Note values that a metronome mark counts in, in quarters."""
_SHARES = {
    "½": Fraction(1, 2),
    "⅓": Fraction(1, 3),
    "⅔": Fraction(2, 3),
    "¼": Fraction(1, 4),
    "¾": Fraction(3, 4),
    "⅚": Fraction(5, 6),
    "¢": Fraction(1, 2),
    "m": Fraction(1, 2),
}
_ROMAN = {"I": 1, "V": 5, "X": 10}
_BARRE = re.compile(
    r"(?P<share>[½⅓⅔¼¾⅚m]|[1-9]/[2-9])?\s*(?P<letter>[CB¢]|[Bb]arr?[eé]?)?[.:]?\s*(?P<share2>[½⅓⅔¼¾⅚]|[1-9]/[2-9])?\s*"
    r"(?P<roman>[IVX]{1,6})(?![A-Za-z])[.\s\-–—_]*",
    re.ASCII,
)
_JUMPS = ("dacapo", "dalsegno", "segno", "coda", "tocoda", "fine", "forward-repeat")
SLOWEST, FASTEST = 5.0, 1000.0
"""Quarters a minute a tempo mark can mean."""


def barre_text(text: str) -> tuple[int, Fraction | None] | None:
    """Return the fret and the share of the strings of a barre in words; None where `text` says none.

    A Roman numeral with C or B before it, or a fraction: `C III`, `BV`, `½C II`, `1/2 V`. A bare numeral is a position.
    """
    match = _BARRE.fullmatch(text.strip())
    if match is None or not (match["letter"] or match["share"] or match["share2"]):
        return None
    fret = roman(match["roman"])
    if not 1 <= fret <= HIGHEST_FRET:
        return None
    share = match["share"] or match["share2"] or ("¢" if match["letter"] == "¢" else None)
    if share is None:
        return fret, None
    fraction = _SHARES[share] if share in _SHARES else Fraction(share)
    return (fret, fraction) if fraction <= 1 else None


def roman(numeral: str) -> int:
    """Return the number that a Roman numeral of I, V and X says."""
    values = [_ROMAN[letter] for letter in numeral]
    return sum(-value if any(later > value for later in values[i + 1 :]) else value for i, value in enumerate(values))


def tempo_of_sound(node: Node, ledger: Ledger) -> float | None:
    """Return the tempo of a sound element in quarters a minute, and note the jumps that are not followed."""
    for name in _JUMPS:
        if name in node.attributes:
            ledger.miss(node, f"sound {name} (a jump, not followed)")
    text = node.attributes.get("tempo")
    return None if text is None else _tempo(node, text, Fraction(1), ledger)


def tempo_of_metronome(node: Node, ledger: Ledger) -> float | None:
    """Return the tempo of a metronome mark in quarters a minute; None where it says none (`♩ = ♪`)."""
    unit = _UNITS.get(node.said("beat-unit"))
    text = node.said("per-minute")
    number = re.search(r"\d{1,4}(\.\d{1,4})?", text)
    if unit is None or number is None:
        ledger.miss(node, "metronome without a number")
        return None
    dots = len(node.all("beat-unit-dot"))
    return _tempo(node, number[0], unit * (2 - Fraction(1, 2 ** min(dots, 4))), ledger)


def _tempo(node: Node, text: str, unit: Fraction, ledger: Ledger) -> float | None:
    try:
        quarters = float(text) * float(unit)
    except ValueError:
        quarters = float("nan")
    if not SLOWEST <= quarters <= FASTEST:
        ledger.miss(node, f"{node.tag} tempo '{plain(text[:20])}'")
        return None
    return quarters


def tuned_strings(node: Node, ledger: Ledger) -> dict[int, int]:
    """Return the strings that a scordatura mark retunes, each with its open pitch."""
    found = {}
    for accord in node.all("accord"):
        string = accord.number("string", 1, MOST_STRINGS)
        pitch = tuned_pitch(accord, ledger)
        if pitch is None or string is None:
            ledger.miss(accord, "accord without a string and pitch")
            continue
        found[string] = pitch
        ledger.understood["scordatura"] += 1
    return found


def tuned_pitch(node: Node, ledger: Ledger) -> int | None:
    """Return the MIDI note number in a staff-tuning or accord element."""
    step = LETTERS.get(node.said("tuning-step"))
    octave = ledger.said(node, "tuning-octave", 0, 9, -1)
    if step is None or octave < 0:
        return None
    number = 12 * (octave + 1) + step + ledger.said(node, "tuning-alter", -2, 2, 0)
    return number if 0 <= number <= 127 else None
