"""The note element: pitch, ties, and everything printed about string, fret and fingers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from trainer.errors import plain
from trainer.fretboard.instrument import MOST_STRINGS
from trainer.fretboard.pitch import LETTERS
from trainer.fretboard.shape import HIGHEST_FRET
from trainer.scores.musicxml.elements import IN_NOTATIONS, IN_NOTE, Readers, unread
from trainer.scores.musicxml.ledger import Ledger
from trainer.scores.musicxml.xml import Node
from trainer.scores.score import Note, Printed, Tie

_TIES = {
    frozenset[str](): Tie.NONE,
    frozenset({"start"}): Tie.START,
    frozenset({"stop"}): Tie.STOP,
    frozenset({"start", "stop"}): Tie.MIDDLE,
}


def read_note(node: Node, bar: int, at: Fraction, duration: Fraction, ledger: Ledger) -> Note | None:
    """Return the note that `node` says, None for a rest and for what has no pitch."""
    draft = _Draft(ledger)
    for kid in unread(node, draft, _NOTE, IN_NOTE):
        ledger.miss(kid, kid.tag)
    if draft.pitch is None:
        return None
    tie = _TIES[frozenset(draft.ties & {"start", "stop"})]
    for kind, counts in (("notes", True), ("grace", draft.grace), ("tie", tie is not Tie.NONE)):
        ledger.understood[kind] += counts
    return Note(bar, at, duration, draft.pitch, draft.voice, draft.staff, tie, draft.grace, draft.printed)


@dataclass(slots=True)
class _Draft:
    """A note while it is read. Each method takes one element."""

    ledger: Ledger
    pitch: int | None = None
    voice: str = "1"
    staff: int = 1
    ties: set[str] = field(default_factory=set)
    grace: bool = False
    string: int | None = None
    fret: int | None = None
    fingers: tuple[int, ...] = ()
    alternatives: tuple[int, ...] = ()
    pluck: str | None = None
    marks: set[str] = field(default_factory=set)

    @property
    def printed(self) -> Printed:
        """What is printed of how it is played."""
        marks = frozenset(self.marks)
        return Printed(self.string, self.fret, self.fingers, self.alternatives, self.pluck, marks)

    def take_pitch(self, node: Node) -> None:
        self.pitch = _pitch(node, self.ledger)

    def take_voice(self, node: Node) -> None:
        self.voice = plain(node.text.strip())[:20] or "1"

    def take_staff(self, node: Node) -> None:
        self.staff = self.ledger.whole(node, 1, 100) or 1

    def take_tie(self, node: Node) -> None:
        self.ties.add(node.attributes.get("type", ""))

    def take_grace(self, _: Node) -> None:
        self.grace = True

    def take_notations(self, node: Node) -> None:
        for kid in unread(node, self, _NOTATIONS, IN_NOTATIONS):
            for name in _names(kid):
                self.ledger.miss(kid, name)

    def take_technical(self, node: Node) -> None:
        for kid in unread(node, self, _TECHNICAL):
            self.ledger.miss(kid, f"technical/{kid.tag}")

    def take_span(self, node: Node) -> None:
        kind = node.attributes.get("type", "")
        if kind in {"start", "stop"}:
            name = "slide" if node.tag == "glissando" else node.tag
            self.marks.add(f"{name} {kind}")
            self.ledger.understood[name] += kind == "start"
        elif kind != "continue":
            self.ledger.miss(node, f"{node.tag} without a type")

    def take_arpeggio(self, node: Node) -> None:
        down = node.attributes.get("direction") == "down"
        self.marks.add("arpeggiate down" if down else "arpeggiate up")
        self.ledger.understood["arpeggiate"] += 1

    def take_non_arpeggio(self, _: Node) -> None:
        self.marks.add("non-arpeggiate")
        self.ledger.understood["arpeggiate"] += 1

    def take_string(self, node: Node) -> None:
        self.string = self.ledger.whole(node, 1, MOST_STRINGS)
        self.ledger.understood["string"] += self.string is not None

    def take_fret(self, node: Node) -> None:
        self.fret = self.ledger.whole(node, 0, HIGHEST_FRET)
        self.ledger.understood["fret"] += self.fret is not None

    def take_finger(self, node: Node) -> None:
        finger = self.ledger.whole(node, 0, 4)
        if finger is None:
            return
        if node.attributes.get("alternate") == "yes":
            self.alternatives = (*self.alternatives, finger)
        else:
            self.fingers = (*self.fingers, finger)
        self.ledger.understood["fingering"] += 1

    def take_pluck(self, node: Node) -> None:
        text = node.text.strip().lower()
        if text not in {"p", "i", "m", "a"}:
            self.ledger.miss(node, f"pluck '{text[:20]}'")
            return
        self.pluck = text
        self.ledger.understood["pluck"] += 1

    def take_harmonic(self, node: Node) -> None:
        kinds = [f"harmonic {kind.tag}" for kind in node.kids if kind.tag in {"natural", "artificial"}]
        self.marks.update(kinds or ["harmonic natural"])
        self.ledger.understood["harmonic"] += 1


_NOTE: Readers[_Draft] = {
    "pitch": _Draft.take_pitch,
    "voice": _Draft.take_voice,
    "staff": _Draft.take_staff,
    "tie": _Draft.take_tie,
    "grace": _Draft.take_grace,
    "notations": _Draft.take_notations,
}
"""What reads each child of a note."""
_SPANS: Readers[_Draft] = dict.fromkeys(("slur", "slide", "glissando", "hammer-on", "pull-off"), _Draft.take_span)
"""What reads marks that go from one note to another."""
_NOTATIONS: Readers[_Draft] = {
    "technical": _Draft.take_technical,
    "tied": _Draft.take_tie,
    "arpeggiate": _Draft.take_arpeggio,
    "non-arpeggiate": _Draft.take_non_arpeggio,
    **_SPANS,
}
"""What reads each child of notations; a note may have several of these."""
_TECHNICAL: Readers[_Draft] = {
    "string": _Draft.take_string,
    "fret": _Draft.take_fret,
    "fingering": _Draft.take_finger,
    "pluck": _Draft.take_pluck,
    "harmonic": _Draft.take_harmonic,
    **_SPANS,
}
"""What reads each child of technical."""


def _pitch(node: Node, ledger: Ledger) -> int | None:
    step = LETTERS.get(node.said("step"))
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


def _names(node: Node) -> Iterator[str]:
    """Yield what to call an element of a group such as ornaments: `ornaments/trill-mark`."""
    if not node.kids:
        yield node.tag
    for kid in node.kids:
        yield f"{node.tag}/{kid.tag}"
