"""The bar of one part: notes, marks and bar lines, each child by its reader in a table."""

from __future__ import annotations

from fractions import Fraction

from trainer.fretboard.instrument import MOST_STRINGS
from trainer.scores.musicxml import elements
from trainer.scores.musicxml.directions import (
    barre_text,
    tempo_of_metronome,
    tempo_of_sound,
    tuned_pitch,
    tuned_strings,
)
from trainer.scores.musicxml.drafts import DraftPart, DraftScore, shown
from trainer.scores.musicxml.elements import Readers, unread
from trainer.scores.musicxml.harmony import read_harmony
from trainer.scores.musicxml.ledger import MOST_QUARTERS, Ledger
from trainer.scores.musicxml.notes import read_note
from trainer.scores.musicxml.xml import Node
from trainer.scores.score import BarreText, Staff, Tempo


def read_measure(whole: DraftScore, ledger: Ledger, part: DraftPart, index: int, node: Node) -> None:
    """Add what `node` says of bar `index` of `part` to it, and to what all parts share."""
    _Measure(whole, ledger, part, index).read(node)


class _Measure:
    """One part's share of one bar being read."""

    def __init__(self, whole: DraftScore, ledger: Ledger, part: DraftPart, index: int) -> None:
        self.whole = whole
        self.ledger = ledger
        self.part = part
        self.index = index
        self.bar = whole.bars[index]
        self.at = Fraction(0)
        """Where reading has come to, in quarters from the start of the bar."""
        self.chord_at = Fraction(0)
        """Where the last note began, for the notes of its chord."""

    def read(self, node: Node) -> None:
        """Take every child of the bar."""
        if self.index == 0:
            self.whole.running = frozenset()
        self.bar.endings = self.bar.endings or self.whole.running
        self.each(node, _READERS, elements.IN_MEASURE)

    def each(self, node: Node, readers: Readers[_Measure], known: frozenset[str], around: str = "") -> None:
        """Read the children of an element; those that are not understood are noted."""
        for kid in unread(node, self, readers, known):
            self.ledger.miss(kid, f"{around}{kid.tag}")

    def note(self, node: Node) -> None:
        found = {kid.tag: kid for kid in node.kids}
        chord, grace = "chord" in found, "grace" in found
        length = self.length(found["duration"]) if "duration" in found else Fraction(0)
        at = self.chord_at if chord else self.at
        if "cue" in found:
            self.ledger.miss(node, "cue note")
        else:
            note = read_note(node, self.index, at, Fraction(0) if grace else length, self.ledger)
            if note is not None:
                self.part.notes.append(note)
            # Voices of a lower staff repeat those above it, or are the same hand's.
            if "staff" not in found or found["staff"].text.strip() == "1":
                self.part.voices.add(shown(node.said("voice")) or "1")
        if not chord:
            self.chord_at = at
            self.move(Fraction(0) if grace else length)

    def length(self, node: Node) -> Fraction:
        """Return a duration in quarters."""
        text = node.text
        known = self.part.lengths.get(text)
        if known is None:
            known = self.ledger.amount(node) / self.part.divisions
            if known > MOST_QUARTERS:
                raise self.ledger.refused(node, f"lasts {float(known):,.0f} quarters", "no note lasts so long")
            self.part.lengths[text] = known
        return known

    def move(self, length: Fraction) -> None:
        self.at += length
        if self.at > self.bar.length:
            self.bar.length = self.at
            if self.at > MOST_QUARTERS:
                raise self.ledger.refused(Node("measure", {}, 0), "is too long", f"more than {MOST_QUARTERS} quarters")

    def backup(self, node: Node) -> None:
        back = self.length(node.get("duration") or node)
        if back > self.at:
            self.ledger.miss(node, "backup to before the bar")
        self.at = max(self.at - back, Fraction(0))

    def forward(self, node: Node) -> None:
        self.move(self.length(node.get("duration") or node))

    def attributes(self, node: Node) -> None:
        self.each(node, _ATTRIBUTES, elements.IN_ATTRIBUTES, "attributes/")

    def divisions(self, node: Node) -> None:
        value = self.ledger.amount(node)
        if not 0 < value <= 1_000_000:
            raise self.ledger.refused(node, f"is {value}", "more than 0 and at most 1,000,000")
        self.part.divisions = value
        self.part.lengths.clear()

    def time(self, node: Node) -> None:
        counts, values = node.all("beats"), node.all("beat-type")
        if node.get("senza-misura") is not None or not counts or len(counts) != len(values):
            self.ledger.miss(node, "time without beats")
            return
        quarters, finest = Fraction(0), 1
        for count, value in zip(counts, values, strict=True):
            parts = [part.strip() for part in count.text.split("+")]
            unit = self.ledger.whole(value, 1, 64)
            if unit is None or not all(part.isascii() and part.isdigit() and len(part) < 4 for part in parts):
                self.ledger.miss(node, "time that is no meter")
                return
            quarters += Fraction(4 * sum(map(int, parts)), unit)
            finest = max(finest, unit)
        beats = quarters * finest / 4
        if beats.denominator > 1 or not 1 <= beats <= 99:
            self.ledger.miss(node, "time that is no meter")
            return
        self.part.meter = (int(beats), finest)
        if self.at == 0:
            self.bar.meter = self.part.meter
        self.ledger.understood["meter"] += 1

    def clef(self, node: Node) -> None:
        sign = shown(node.said("sign"))
        octave = self.ledger.said(node, "clef-octave-change", -3, 3, 0)
        staff = node.number("number", 1, 999) or 1
        self.part.staves.append(Staff(self.index, staff, sign[:12], octave))

    def staff_details(self, node: Node) -> None:
        self.each(node, _STAFF_DETAILS, elements.IN_STAFF_DETAILS, "staff-details/")

    def staff_tuning(self, node: Node) -> None:
        line, pitch = node.number("line", 1, MOST_STRINGS), tuned_pitch(node, self.ledger)
        if line is None or pitch is None:
            self.ledger.miss(node, "staff-tuning without a line and pitch")
            return
        self.part.lines[line] = pitch
        self.ledger.understood["staff-tuning"] += 1

    def capo(self, node: Node) -> None:
        self.part.capo = self.ledger.whole(node, 0, 24) or 0
        self.ledger.understood["capo"] += 1

    def staff_lines(self, node: Node) -> None:
        self.part.strings = self.ledger.whole(node, 0, 100) or self.part.strings

    def transpose(self, node: Node) -> None:
        if self.part.transpose is not None and (self.index or self.part.notes):
            self.ledger.miss(node, "transpose that changes on the way")
            return
        if node.get("double") is not None:
            self.ledger.miss(node, "transpose/double")
        chromatic = self.ledger.said(node, "chromatic", -48, 48, 0)
        self.part.transpose = chromatic + 12 * self.ledger.said(node, "octave-change", -4, 4, 0)
        self.ledger.understood["transpose"] += 1

    def harmony(self, node: Node) -> None:
        self.part.symbols.append(read_harmony(node, self.index, self.offset(node), self.ledger))

    def offset(self, node: Node) -> Fraction:
        """Return where something stands that may be said to lie off the place it is written at."""
        kid = node.get("offset")
        if kid is None:
            return self.at
        text = kid.text.strip()
        back = text.startswith("-")
        part = Node("offset", {}, kid.line)
        part.text = text.removeprefix("-")
        away = self.ledger.amount(part) / self.part.divisions
        return max(self.at - away if back else self.at + away, Fraction(0))

    def direction(self, node: Node) -> None:
        at = self.offset(node)
        sound = node.get("sound")
        sounding = None if sound is None else tempo_of_sound(sound, self.ledger)
        for kid in node.kids:
            if kid.tag not in elements.IN_DIRECTION:
                self.ledger.miss(kid, f"direction/{kid.tag}")
        for kind in node.all("direction-type"):
            for kid in kind.kids:
                marked = self.direction_type(kid, at)
                sounding = sounding or marked
        if sounding is not None:
            self.whole.tempo(Tempo(self.index, at, sounding), self.ledger)

    def direction_type(self, node: Node, at: Fraction) -> float | None:
        """Take one mark and return its tempo where it is one."""
        if node.tag == "metronome":
            return tempo_of_metronome(node, self.ledger)
        if node.tag == "words":
            self.words(node, at)
        elif node.tag == "scordatura":
            self.part.retuned.update(tuned_strings(node, self.ledger))
        elif node.tag not in elements.DIRECTION_TYPES:
            self.ledger.miss(node, node.tag)
        return None

    def words(self, node: Node, at: Fraction) -> None:
        text = shown(node.text)
        found = barre_text(text)
        if found is not None:
            self.part.barres.append(BarreText(self.index, at, found[0], found[1], text[:24]))
            self.ledger.understood["barre text"] += 1
        elif text:
            self.ledger.miss(node, f"words '{text[:30]}'")

    def sound(self, node: Node) -> None:
        tempo = tempo_of_sound(node, self.ledger)
        if tempo is not None:
            self.whole.tempo(Tempo(self.index, self.at, tempo), self.ledger)

    def barline(self, node: Node) -> None:
        self.each(node, _BARLINE, elements.IN_BARLINE, "barline/")

    def repeat(self, node: Node) -> None:
        if node.attributes.get("direction") == "forward":
            self.bar.opens = True
        else:
            self.bar.closes = node.number("times", 1, 20) or 2
        self.ledger.understood["repeat"] += 1

    def ending(self, node: Node) -> None:
        words = node.attributes.get("number", "").replace(",", " ").split()
        rounds = frozenset(int(word) for word in words if word.isascii() and word.isdigit() and len(word) < 3)
        if node.attributes.get("type") == "start":
            self.whole.running = self.bar.endings = rounds
            self.ledger.understood["ending"] += 1
        else:
            self.bar.endings = self.bar.endings or rounds
            self.whole.running = frozenset()


_READERS: Readers[_Measure] = {
    "note": _Measure.note,
    "backup": _Measure.backup,
    "forward": _Measure.forward,
    "attributes": _Measure.attributes,
    "harmony": _Measure.harmony,
    "direction": _Measure.direction,
    "sound": _Measure.sound,
    "barline": _Measure.barline,
}
"""What reads each child of a bar."""
_ATTRIBUTES: Readers[_Measure] = {
    "divisions": _Measure.divisions,
    "time": _Measure.time,
    "staves": lambda *_: None,
    "clef": _Measure.clef,
    "staff-details": _Measure.staff_details,
    "transpose": _Measure.transpose,
}
"""What reads each child of attributes; how many staves there are shows from the notes."""
_STAFF_DETAILS: Readers[_Measure] = {
    "staff-tuning": _Measure.staff_tuning,
    "capo": _Measure.capo,
    "staff-lines": _Measure.staff_lines,
}
"""What reads each child of staff-details."""
_BARLINE: Readers[_Measure] = {"repeat": _Measure.repeat, "ending": _Measure.ending}
"""What reads each child of a bar line."""
