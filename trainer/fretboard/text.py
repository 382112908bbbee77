"""The text form of shapes and barres. Parse and print are each other's inverse.

One token a string, last string first, spaces between: `x` not held and not played, `0` open, `FRET`,
`FRET/FINGER`, `(FRET/FINGER)` held but silent. `x32010` is read where every fret is a digit and no finger is
given. A barre that reaches further than the strings written with its finger: `FRET/FINGER LOW-HIGH`, as `1/1 6-1`.
"""

from __future__ import annotations

import re

from trainer.errors import wrong
from trainer.fretboard.instrument import FEWEST_STRINGS, MOST_STRINGS
from trainer.fretboard.shape import Barre, Shape, Stop

_TOKEN = re.compile(r"(\d{1,2})(?:/(\d))?", re.ASCII)
_COMPACT = re.compile(r"[xX\d]+", re.ASCII)
_BARRE = re.compile(r"(\d{1,2})/(\d)\s+(\d{1,2})-(\d{1,2})", re.ASCII)
_HINT = "one of x, 0, FRET, FRET/FINGER or (FRET/FINGER) for each string, last string first"


def parse_shape(text: str, barres: str = "") -> Shape:
    """Return the shape that `text` says, with the further barres (commas between) that `barres` says.

    Raises ChangeoverError where a token cannot be read, or the shape contradicts itself.
    """
    words = text.split()
    if len(words) == 1 and _COMPACT.fullmatch(words[0]):
        words = list(words[0])
    if not FEWEST_STRINGS <= len(words) <= MOST_STRINGS:
        count = "1 string" if len(words) == 1 else f"{len(words)} strings"
        raise wrong(f"'{text.strip()}' has {count}, {FEWEST_STRINGS} to {MOST_STRINGS} are possible", hint=_HINT)
    stops = tuple(_parse_stop(word) for word in words)
    return Shape(stops, tuple(_parse_barre(part) for part in barres.split(",") if part.strip()))


def print_shape(shape: Shape) -> str:
    """Return the text form of `shape`, spaces between; `print_barres` says the barres that reach further."""
    return " ".join(_print_stop(stop) for stop in shape.stops)


def print_barres(shape: Shape) -> str:
    """Return the declared barres of `shape` in text form, commas between; empty where there are none."""
    return ", ".join(f"{barre.fret}/{barre.finger} {barre.low_string}-{barre.high_string}" for barre in shape.declared)


def _parse_stop(word: str) -> Stop | None:
    if word in {"x", "X"}:
        return None
    silent = word.startswith("(") and word.endswith(")")
    match = _TOKEN.fullmatch(word[1:-1] if silent else word)
    if match is None:
        raise wrong(f"'{word}' is no string of a shape", hint=_HINT)
    fret, finger = match.groups()
    return Stop(int(fret), None if finger is None else int(finger), silent)


def _print_stop(stop: Stop | None) -> str:
    if stop is None:
        return "x"
    text = f"{stop.fret}" if stop.finger is None else f"{stop.fret}/{stop.finger}"
    return f"({text})" if stop.silent else text


def _parse_barre(text: str) -> Barre:
    match = _BARRE.fullmatch(text.strip())
    if match is None:
        raise wrong(f"'{text.strip()}' is no barre", hint="FRET/FINGER LOW-HIGH, as 1/1 6-1")
    fret, finger, low, high = (int(part) for part in match.groups())
    return Barre(finger, fret, low, high)
