"""MusicXML read into a `Score`: every bar is read as soon as it has been parsed, then forgotten."""

from __future__ import annotations

from operator import attrgetter

from trainer.errors import wrong
from trainer.scores.musicxml import elements
from trainer.scores.musicxml.drafts import DraftBar, DraftPart, DraftScore, shown
from trainer.scores.musicxml.ledger import Ledger
from trainer.scores.musicxml.measures import read_measure
from trainer.scores.musicxml.xml import Node, read_blocks
from trainer.scores.score import Score

_PARTWISE, _TIMEWISE = "score-partwise", "score-timewise"
MOST_BARS = 20_000
MOST_NOTES = 100_000
"""A score of more is not one that a passage is taken from."""


def read(data: bytes, file: str) -> Score:
    """Return the score in `data`. Raises ChangeoverError, with a line, where it is no MusicXML or not a safe one."""
    reading = _Reading(Ledger(file))
    root = read_blocks(
        data, file, frozenset({_PARTWISE, _TIMEWISE}), frozenset({"part", "measure", "part-list"}), reading.take
    )
    if not reading.parts:
        raise wrong("has no parts", file=file, hint=f"a <{root}> with a <part> was looked for")
    return reading.score()


class _Reading:
    """One file being read."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.parts: dict[str, DraftPart] = {}
        self.named: dict[str, DraftPart] = {}
        self.whole = DraftScore()
        self.title = ""
        self.composer = ""

    def score(self) -> Score:
        self.ledger.bar = ""
        return Score(
            parts=tuple(part.done() for part in self.parts.values()),
            bars=tuple(bar.done() for bar in self.whole.bars),
            tempos=tuple(sorted(self.whole.tempos, key=attrgetter("bar", "at"))),
            title=self.title,
            composer=self.composer,
            understood={kind: count for kind, count in sorted(self.ledger.understood.items()) if count},
            unread=self.ledger.missed(),
        )

    def take(self, around: Node, block: Node) -> None:
        """Take one block of the document."""
        if around.tag == "part" and block.tag == "measure":
            self.measure(around.attributes.get("id", ""), block.attributes, block)
        elif around.tag == "measure" and block.tag == "part":
            self.measure(block.attributes.get("id", ""), around.attributes, block)
        elif block.tag == "score-part":
            self.part_named(block)
        elif around.tag in {_PARTWISE, _TIMEWISE}:
            self.head(block)

    def head(self, block: Node) -> None:
        if block.tag == "work":
            self.title = self.title or shown(block.said("work-title"))
        elif block.tag == "movement-title":
            self.title = shown(block.text) or self.title
        elif block.tag == "identification":
            creators = [node for node in block.all("creator") if node.attributes.get("type", "composer") == "composer"]
            self.composer = shown(creators[0].text) if creators else ""
        elif block.tag not in elements.AROUND:
            self.ledger.miss(block, block.tag)

    def part_named(self, block: Node) -> None:
        part = DraftPart(block.attributes.get("id", ""), shown(block.said("part-name")))
        instrument, midi = block.get("score-instrument"), block.get("midi-instrument")
        if instrument is not None:
            part.sound = shown(instrument.said("instrument-sound"))
        if midi is not None and midi.get("midi-program") is not None:
            part.program = self.ledger.said(midi, "midi-program", 1, 128, 0) or None
        self.named[part.id] = part

    def measure(self, name: str, attributes: dict[str, str], node: Node) -> None:
        part = self.parts.get(name)
        if part is None:
            part = self.parts[name] = self.named.get(name) or DraftPart(name)
        index = part.bars
        part.bars += 1
        number = shown(attributes.get("number", str(index + 1)))[:12]
        self.ledger.bar = number
        if index >= MOST_BARS or self.ledger.understood["notes"] > MOST_NOTES:
            raise self.ledger.refused(
                node, f"is one of more than {MOST_BARS:,} bars or {MOST_NOTES:,} notes", "save a part of it"
            )
        if index == len(self.whole.bars):
            self.whole.bars.append(DraftBar(number, part.meter, attributes.get("implicit") == "yes"))
        read_measure(self.whole, self.ledger, part, index, node)
        self.ledger.bar = ""
