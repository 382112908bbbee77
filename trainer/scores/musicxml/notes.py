"""The note element: pitch, ties, and everything printed about string, fret and fingers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from trainer.errors import plain
from trainer.fretboard.instrument import MOST_STRINGS
from trainer.fretboard.shape import HIGHEST_FRET
from trainer.scores.musicxml.elements import IN_NOTATIONS, IN_NOTE
from trainer.scores.musicxml.ledger import Ledger
from trainer.scores.musicxml.xml import Node
from trainer.scores.score import NOTHING_PRINTED, Note, Printed, Tie

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_TIES = {
    frozenset[str](): Tie.NONE,
    frozenset({"start"}): Tie.START,
    frozenset({"stop"}): Tie.STOP,
    frozenset({"start", "stop"}): Tie.MIDDLE,
}
_SPANS = frozenset({"slur", "slide", "glissando", "hammer-on", "pull-off"})
"""Marks that go from one note to another."""
_ARPEGGIO = {"up": "arpeggiate up", "down": "arpeggiate down", "": "arpeggiate up"}


def read_note(node: Node, bar: int, at: Fraction, duration: Fraction, ledger: Ledger) -> Note | None:
    """Return the note that `node` says, None for a rest and for what has no pitch."""
    head = _Head()
    for kid in node.kids:
        read = _HEAD.get(kid.tag)
        if read is not None:
            read(head, kid, ledger)
        elif kid.tag not in IN_NOTE:
            ledger.miss(kid, kid.tag)
    if head.pitch is None:
        return None
    tie = _TIES[frozenset(head.ties & {"start", "stop"})]
    for kind, counts in (("notes", True), ("grace", head.grace), ("tie", tie is not Tie.NONE)):
        ledger.understood[kind] += counts
    return Note(bar, at, duration, head.pitch, head.voice, head.staff, tie, head.grace, head.printed)


@dataclass(slots=True)
class _Head:
    """A note while it is read."""

    pitch: int | None = None
    voice: str = "1"
    staff: int = 1
    ties: set[str] = field(default_factory=set)
    grace: bool = False
    printed: Printed = NOTHING_PRINTED

    def take_pitch(self, node: Node, ledger: Ledger) -> None:
        self.pitch = _pitch(node, ledger)

    def take_voice(self, node: Node, _: Ledger) -> None:
        self.voice = plain(node.text.strip())[:20] or "1"

    def take_staff(self, node: Node, ledger: Ledger) -> None:
        self.staff = ledger.whole(node, 1, 100) or 1

    def take_tie(self, node: Node, _: Ledger) -> None:
        self.ties.add(node.attributes.get("type", ""))

    def take_grace(self, _: Node, __: Ledger) -> None:
        self.grace = True

    def take_notations(self, node: Node, ledger: Ledger) -> None:
        self.printed = _notations(node, self.printed, self.ties, ledger)


_HEAD = {
    "pitch": _Head.take_pitch,
    "voice": _Head.take_voice,
    "staff": _Head.take_staff,
    "tie": _Head.take_tie,
    "grace": _Head.take_grace,
    "notations": _Head.take_notations,
}
"""What reads each child of a note."""


def _pitch(node: Node, ledger: Ledger) -> int | None:
    step = _STEPS.get(node.said("step"))
    octave = ledger.said(node, "octave", 0, 9, -1)
    if step is None or octave < 0:
        raise ledger.refused(node, "names no note", "a step from A to G and an octave from 0 to 9")
    alter = node.get("alter")
    number = 12 * (octave + 1) + step + (0 if alter is None else _alter(alter, ledger))
    if 0 <= number <= 127:
        return number
    ledger.miss(node, "pitch outside MIDI's range")
    return None


def _alter(node: Node, ledger: Ledger) -> int:
    text = node.text.strip()
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not -3 <= value <= 3:
        ledger.miss(node, f"alter '{text[:20]}'")
        return 0
    if not value.is_integer():
        ledger.miss(node, f"alter '{text[:20]}' (a quarter tone, taken as the semitone towards the natural)")
    return int(value)


def _notations(node: Node, printed: Printed, ties: set[str], ledger: Ledger) -> Printed:
    """Return `printed` with what one notations element adds; a note may have several."""
    marks = set(printed.marks)
    for kid in node.kids:
        tag = kid.tag
        if tag == "technical":
            printed = _technical(kid, printed, marks, ledger)
        elif tag == "tied":
            ties.add(kid.attributes.get("type", ""))
        elif tag in _SPANS:
            _span(kid, marks, ledger)
        elif tag == "arpeggiate":
            marks.add(_ARPEGGIO.get(kid.attributes.get("direction", ""), "arpeggiate up"))
            ledger.understood["arpeggiate"] += 1
        elif tag == "non-arpeggiate":
            marks.add("non-arpeggiate")
            ledger.understood["arpeggiate"] += 1
        elif tag not in IN_NOTATIONS:
            for name in _names(kid):
                ledger.miss(kid, name)
    return _with_marks(printed, frozenset(marks))


def _with_marks(printed: Printed, marks: frozenset[str]) -> Printed:
    if marks == printed.marks:
        return printed
    return Printed(printed.string, printed.fret, printed.fingers, printed.alternatives, printed.pluck, marks)


def _names(node: Node) -> Iterator[str]:
    """Yield what to call an element of a group such as ornaments: `ornaments/trill-mark`."""
    if not node.kids:
        yield node.tag
    for kid in node.kids:
        yield f"{node.tag}/{kid.tag}"


def _span(node: Node, marks: set[str], ledger: Ledger) -> None:
    kind = node.attributes.get("type", "")
    if kind in {"start", "stop"}:
        name = "slide" if node.tag == "glissando" else node.tag
        marks.add(f"{name} {kind}")
        ledger.understood[name] += kind == "start"
    elif kind != "continue":
        ledger.miss(node, f"{node.tag} without a type")


def _technical(node: Node, printed: Printed, marks: set[str], ledger: Ledger) -> Printed:
    string, fret, pluck = printed.string, printed.fret, printed.pluck
    fingers, others = list(printed.fingers), list(printed.alternatives)
    for kid in node.kids:
        tag = kid.tag
        if tag == "string":
            string = ledger.whole(kid, 1, MOST_STRINGS)
            ledger.understood["string"] += string is not None
        elif tag == "fret":
            fret = ledger.whole(kid, 0, HIGHEST_FRET)
            ledger.understood["fret"] += fret is not None
        elif tag == "fingering":
            finger = ledger.whole(kid, 0, 4)
            if finger is not None:
                (others if kid.attributes.get("alternate") == "yes" else fingers).append(finger)
                ledger.understood["fingering"] += 1
        elif tag == "pluck":
            pluck = _pluck(kid, ledger) or pluck
        elif tag in _SPANS:
            _span(kid, marks, ledger)
        elif tag == "harmonic":
            kinds = [f"harmonic {kind.tag}" for kind in kid.kids if kind.tag in {"natural", "artificial"}]
            marks.update(kinds or ["harmonic natural"])
            ledger.understood["harmonic"] += 1
        else:
            ledger.miss(kid, f"technical/{tag}")
    return Printed(string, fret, tuple(fingers), tuple(others), pluck, printed.marks)


def _pluck(node: Node, ledger: Ledger) -> str | None:
    text = node.text.strip().lower()
    if text in {"p", "i", "m", "a"}:
        ledger.understood["pluck"] += 1
        return text
    ledger.miss(node, f"pluck '{text[:20]}'")
    return None
