"""Published fingerings as passages: reads the JSON of `tests/data/fingerings` (described in the README there)."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from trainer.fretboard.instrument import Instrument
from trainer.hand.search.passage import Note, Passage

QUARTERS = 4
"""The files count in whole notes, passages in quarter notes."""
SHORTEST = Fraction(1, 16)
"""What a grace note is taken to last."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One score of one file."""

    name: str
    """File and number of the score."""
    edition: str
    """What it is split by in cross-validation."""
    passage: Passage
    """With nothing set."""
    fingers: tuple[int | None, ...]
    """Printed finger of each note, 0 open."""
    strings: tuple[int | None, ...]
    """Printed string of each note."""
    certain: tuple[int | None, ...]
    """String that is printed, or that follows from pitch and digit or from the chord."""

    @property
    def digits(self) -> int:
        """How many fingers 1 to 4 are printed."""
        return sum(1 for finger in self.fingers if finger)


def read(path: Path) -> list[Piece]:
    """Return the scores of one file: every struck note once, harmonics left out."""
    content = json.loads(path.read_text("utf-8"))
    scores: dict[int, list[dict[str, Any]]] = {}
    for note in content["notes"]:
        if not {"u", "ti", "h"} & note.keys():
            scores.setdefault(note["sc"], []).append(note)
    instrument = Instrument(tuning=tuple(content["tuning"]))
    trusted = "op11" not in path.stem and "op35_no21" not in path.stem
    return [
        _piece(f"{path.stem}/{number}", "__".join(path.stem.split("__")[:2]), notes, instrument, trusted)
        for number, notes in sorted(scores.items())
    ]


def _piece(name: str, edition: str, notes: list[dict[str, Any]], instrument: Instrument, trusted: bool) -> Piece:
    """Return one score; where `trusted` is false its printed strings are left out, which are faulty there."""
    by_head = {(_onset(note), note["p"]): note for note in reversed(notes)}
    # Two notes at once that only one string can play are a slip of the print: the longer one stays.
    longest: dict[tuple[Fraction, int], Fraction] = {}
    for head in by_head.values():
        if "si" in head:
            key = (_onset(head), head["si"])
            longest[key] = max(longest.get(key, Fraction(0)), _note(head).duration)
    heads = [
        by_head[at]
        for at in sorted(by_head)
        if _note(head := by_head[at]).duration >= longest.get((_onset(head), head.get("si", 0)), Fraction(0))
    ]
    passage = Passage.of((_note(head) for head in heads), instrument)
    fingers = tuple(None if len(head.get("fa", ())) > 1 else head.get("f") for head in heads)
    strings = tuple(head.get("s") if trusted else None for head in heads)
    certain = tuple(head.get("s", head.get("si", head.get("sj"))) if trusted else head.get("si") for head in heads)
    return Piece(name, edition, passage, fingers, strings, certain)


def _onset(note: dict[str, Any]) -> Fraction:
    return Fraction(note["t"]) * QUARTERS


def _note(head: dict[str, Any]) -> Note:
    onset = _onset(head)
    end = Fraction(head["e"]) * QUARTERS if "e" in head else onset + Fraction(head["d"]) * QUARTERS
    return Note(onset, max(end - onset, SHORTEST), head["p"], bar=head["m"])


def pieces(folder: Path, without: Iterable[str] = ("grande-sonate",)) -> list[Piece]:
    """Return every piece of `folder` with a printed finger, but those whose file name contains a word of `without`."""
    found = [
        piece
        for path in sorted(folder.glob("*.json"))
        if not any(word in path.stem for word in without)
        for piece in read(path)
    ]
    return [piece for piece in found if piece.digits]


def set_fingers(piece: Piece, which: Iterable[int], *, strings: bool = False) -> Passage:
    """Return the passage with the printed fingers of the notes `which` set, and with `strings` their strings."""
    chosen = set(which)
    notes = []
    for index, note in enumerate(piece.passage.notes):
        if index in chosen:
            note = replace(note, finger=piece.fingers[index])
        if strings and piece.strings[index] is not None:
            note = replace(note, string=piece.strings[index])
        notes.append(note)
    return Passage(tuple(notes), piece.passage.instrument)
