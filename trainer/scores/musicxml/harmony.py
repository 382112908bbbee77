"""Chord symbols and chord diagrams (`<harmony>`, `<frame>`)."""

from __future__ import annotations

from fractions import Fraction
from types import MappingProxyType

from trainer.errors import ChangeoverError, plain
from trainer.fretboard.instrument import FEWEST_STRINGS, MOST_STRINGS
from trainer.fretboard.shape import HIGHEST_FRET, Barre, Shape, Stop
from trainer.scores.musicxml.ledger import Ledger
from trainer.scores.musicxml.xml import Node
from trainer.scores.score import Symbol

KINDS = MappingProxyType(
    {
        "major": "",
        "minor": "m",
        "augmented": "aug",
        "diminished": "dim",
        "dominant": "7",
        "major-seventh": "maj7",
        "minor-seventh": "m7",
        "diminished-seventh": "dim7",
        "augmented-seventh": "7#5",
        "half-diminished": "m7b5",
        "major-minor": "m(maj7)",
        "major-sixth": "6",
        "minor-sixth": "m6",
        "dominant-ninth": "9",
        "major-ninth": "maj9",
        "minor-ninth": "m9",
        "dominant-11th": "11",
        "major-11th": "maj11",
        "minor-11th": "m11",
        "dominant-13th": "13",
        "major-13th": "maj13",
        "minor-13th": "m13",
        "suspended-second": "sus2",
        "suspended-fourth": "sus4",
        "power": "5",
        "Neapolitan": "N",
        "Italian": "It",
        "French": "Fr",
        "German": "Ger",
    }
)
"""How each kind of MusicXML's `kind-value` is written behind its root."""
_ALTERS = {"-2": "bb", "-1": "b", "0": "", "1": "#", "2": "##"}
_READ = frozenset(
    {
        *("root", "numeral", "function", "kind", "inversion", "bass", "degree"),
        *("frame", "offset", "staff", "footnote", "level"),
    }
)
"""Children of harmony that are read, or say where it is printed."""
_LOWEST_BARRE, _HIGHER_BARRE = 1, 3
"""Fingers of barres that a diagram draws without a finger."""


def read_harmony(node: Node, bar: int, at: Fraction, ledger: Ledger) -> Symbol:
    """Return the chord symbol that `node` says, with the shape of its diagram where it has one that can be held."""
    for kid in node.kids:
        if kid.tag not in _READ:
            ledger.miss(kid, f"harmony/{kid.tag}")
    frame = node.get("frame")
    staff = ledger.said(node, "staff", 1, 100, 0)
    name = _name(node)
    ledger.understood["harmony"] += 1
    return Symbol(bar, at, plain(name)[:24], None if frame is None else read_frame(frame, ledger), staff or None)


def _name(node: Node) -> str:
    root, kind, bass = node.get("root"), node.get("kind"), node.get("bass")
    suffix = "" if kind is None else kind.attributes.get("text", KINDS.get(kind.text.strip(), ""))
    if kind is not None and kind.text.strip() == "none":
        return kind.attributes.get("text", "N.C.")
    if root is None:
        numeral = node.get("numeral")
        head = node.said("function") if numeral is None else numeral.said("numeral-root")
    else:
        head = _tone(root, "root")
    low = "" if bass is None else _tone(bass, "bass")
    return head + suffix + "".join(_degree(degree) for degree in node.all("degree")) + (f"/{low}" if low else "")


def _tone(node: Node, kind: str) -> str:
    step = node.get(f"{kind}-step")
    shown = "" if step is None else step.attributes.get("text", step.text.strip())
    return shown + (_ALTERS.get(node.said(f"{kind}-alter"), "") if shown else "")


def _degree(node: Node) -> str:
    kind = node.get("degree-type")
    value = _ALTERS.get(node.said("degree-alter"), "") + node.said("degree-value")
    if kind is not None and "text" in kind.attributes:
        return f"({kind.attributes['text']}{value})"
    return f"({ {'add': 'add', 'subtract': 'no'}.get(node.said('degree-type'), '') }{value})"


def read_frame(node: Node, ledger: Ledger) -> Shape | None:
    """Return what a chord diagram holds; frets are counted from the capo even where its first fret is another.

    A string without a mark is muted. A finger in brackets, `(3)`, holds its string without its being played.
    """
    strings = ledger.said(node, "frame-strings", FEWEST_STRINGS, MOST_STRINGS, 0)
    stops: dict[int, Stop] = {}
    ends: list[tuple[int, int | None, int]] = []
    for mark in node.all("frame-note"):
        string, fret = ledger.said(mark, "string", 1, MOST_STRINGS, 0), ledger.said(mark, "fret", 0, HIGHEST_FRET, -1)
        if string < 1 or fret < 0 or string > strings:
            ledger.miss(mark, "frame-note without a string and fret of the diagram")
            continue
        finger, silent = _finger(mark, ledger)
        stops[string] = Stop(fret, finger if fret else None, silent and fret > 0)
        ledger.understood["frame-note"] += 1
        if mark.get("barre") is not None:
            ends.append((fret, finger, string))
            ledger.understood["barre"] += 1
    ledger.understood["frame"] += 1
    try:
        return _shape(strings, stops, _barres(ends))
    except ChangeoverError as error:
        ledger.miss(node, f"frame: {error.problems[0].what}")
        return None


def _finger(mark: Node, ledger: Ledger) -> tuple[int | None, bool]:
    node = mark.get("fingering")
    if node is None:
        return None, False
    text = node.text.strip()
    silent = text.startswith("(") and text.endswith(")")
    inside = text[1:-1].strip() if silent else text
    ledger.understood["frame fingering"] += 1
    if inside in {"1", "2", "3", "4"}:
        return int(inside), silent
    if inside not in {"", "0"}:
        ledger.miss(node, f"frame fingering '{text[:20]}'")
    return None, silent


def _barres(ends: list[tuple[int, int | None, int]]) -> list[tuple[int, int | None, int, int]]:
    """Return (fret, finger, low string, high string) of each barre from its ends' (fret, finger, string)."""
    found: list[tuple[int, int | None, int, int]] = []
    for fret in sorted({fret for fret, _, _ in ends if fret}):
        here = [(finger, string) for at, finger, string in ends if at == fret]
        named = sorted({finger for finger, _ in here if finger is not None})
        fingers: list[int | None] = [*named] or [None]
        # Two fingers can lie at one fret; where at most one is named, every end at the fret is its.
        for finger in fingers:
            strings = [string for each, string in here if len(fingers) < 2 or each == finger]
            if len(strings) > 1:
                found.append((fret, finger, max(strings), min(strings)))
    return found


def _shape(strings: int, stops: dict[int, Stop], barres: list[tuple[int, int | None, int, int]]) -> Shape | None:
    if not strings or not stops:
        return None
    declared = []
    for order, (fret, named, low, high) in enumerate(barres):
        under = [string for string in range(high, low + 1) if string in stops and stops[string].fret == fret]
        given = [stops[string].finger for string in under]
        finger = named or next((each for each in given if each), _LOWEST_BARRE if order == 0 else _HIGHER_BARRE)
        for string in under:
            if stops[string].finger is None:
                stops[string] = Stop(fret, finger, stops[string].silent)
        fingered = [string for string, stop in stops.items() if stop.finger == finger]
        if min(fingered, default=low) > high or max(fingered, default=high) < low:
            declared.append(Barre(finger, fret, low, high))
    return Shape(tuple(stops.get(string) for string in range(strings, 0, -1)), tuple(declared))
