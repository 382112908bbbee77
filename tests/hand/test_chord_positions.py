"""Pitches and fingerings of 2,069 chord positions that others collected (see `tests/data/chord_positions.txt`)."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import parse_shape, print_shape
from trainer.hand.hold import trouble
from trainer.hand.reach import HANDS

DATA = Path(__file__).parents[1] / "data" / "chord_positions.txt"


@dataclass(frozen=True, slots=True)
class Position:
    """One line of the data."""

    chord: str
    frets: tuple[str, ...]
    fingers: tuple[str, ...]
    notes: tuple[int, ...]

    @property
    def text(self) -> str:
        """Its text form, a finger left out where none is given."""
        return " ".join(
            f"{fret}/{finger}" if fret not in {"x", "0"} and finger != "0" else fret
            for fret, finger in zip(self.frets, self.fingers, strict=True)
        )


@cache
def positions() -> tuple[Position, ...]:
    """Return every position of the data."""
    lines = DATA.read_text(encoding="utf-8").partition("\n---\n")[2].splitlines()
    fields = [line.split("|") for line in lines]
    return tuple(
        Position(chord, tuple(frets.split()), tuple(fingers.split()), tuple(map(int, notes.split())))
        for chord, frets, fingers, notes in fields
    )


def reason(position: Position) -> str | None:
    """Return why the fingering cannot be meant, None where it can be held."""
    if any(fret in {"x", "0"} and finger != "0" for fret, finger in zip(position.frets, position.fingers, strict=True)):
        return "a finger on a string that is open or muted"
    try:
        shape = parse_shape(position.text)
    except ChangeoverError as refused:
        return "a finger at two frets" if "one finger holds one fret" in str(refused) else "a string cut off by a barre"
    if not shape.fingered:
        return "a stopped string without a finger"
    said = [problem.what for problem in trouble(shape, Instrument(), HANDS["adult"])]
    if any("nearer the nut" in what for what in said):
        return "fingers crossed"
    return "a stretch beyond an adult's reach" if said else None


def test_every_line_is_read() -> None:
    assert len(positions()) == 2069


def test_all_pitches_agree() -> None:
    instrument = Instrument()
    for position in positions():
        shape = parse_shape(" ".join(position.frets))
        assert print_shape(shape) == " ".join(position.frets)
        notes = [instrument.pitch(string, stop.fret) for string, stop in shape]
        assert notes == list(position.notes), position


def test_nearly_every_fingering_can_be_held() -> None:
    """2,019 of 2,069 (97.6 %); half of the rest contradict themselves, so that no hand could hold them.

    Crossed fingers and stretches are warnings only, the stretches by an adult's starting values.
    """
    reasons = Counter(reason(position) for position in positions())
    assert reasons == {
        None: 2019,
        "a finger on a string that is open or muted": 6,
        "a finger at two frets": 1,
        "a string cut off by a barre": 10,
        "a stopped string without a finger": 8,
        "fingers crossed": 4,
        "a stretch beyond an adult's reach": 21,
    }


def test_a_smaller_hand_holds_fewer_of_them() -> None:
    shapes = [parse_shape(position.text) for position in positions() if reason(position) is None]
    strained = {
        name: sum(bool(trouble(shape, Instrument(), hand)) for shape in shapes) / len(shapes)
        for name, hand in HANDS.items()
    }
    assert strained["adult"] == 0
    assert strained["adult"] < strained["small"] < strained["child"] < 0.1
