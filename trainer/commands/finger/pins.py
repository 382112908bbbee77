"""Notes that the player sets on the command line: `3:2` finger 2, `3:s4` string 4, `3:s4f2` its fret too."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from trainer.errors import ChangeoverError, plain, wrong
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.passage import Passage

if TYPE_CHECKING:
    from trainer.scores.hands import Hands

_PIN = re.compile(r"(\d{1,5}):(?:(\d)|s(\d{1,2})(?:f(\d{1,2}))?)", re.ASCII)


def pinned(passage: Passage, pins: list[str]) -> Passage:
    """Return the passage with notes set; they are counted from 1 and keep their numbers. Raises ChangeoverError."""
    notes = dict(enumerate(passage.notes))
    seen: set[tuple[int, str]] = set()
    for number, given in map(_read, pins):
        note = notes.get(number - 1)
        if note is None:
            raise wrong(f"no note {number}", key="--pin", hint=f"notes are counted from 1 to {len(notes)}")
        if twice := seen.intersection((number, what) for what in given):
            raise wrong(f"note {number} is set twice", key="--pin", hint=f"give one {next(iter(twice))[1]} for it")
        seen.update((number, what) for what in given)
        notes[number - 1] = replace(note, **given)
    try:
        # Only for what it refuses: it sorts by string, which might take its number from a unison.
        passage.pinned(notes)
    except ChangeoverError as error:
        raise ChangeoverError(*(replace(problem, key="--pin") for problem in error.problems)) from error
    return replace(passage, notes=tuple(notes.values()))


def with_pins(placed: Hands, way: Fingering, pins: list[str]) -> Hands:
    """Return the notes as placed, those whose fingers the player has set told from the program's.

    `way` fingers the passage that `pinned` made.
    """
    notes = [number - 1 for number, given in map(_read, pins) if "finger" in given]
    theirs = {(way.passage.notes[at].onset, way.passage.notes[at].midi, way.notes[at].string) for at in notes}
    taken = (
        replace(each, ours=False, chosen=True)
        if each.ours and (each.tone.onset, each.tone.midi, each.string) in theirs
        else each
        for each in placed.taken
    )
    return replace(placed, taken=tuple(taken))


def _read(pin: str) -> tuple[int, dict[str, Any]]:
    """Return the number of a note and what is set of it, by the name of the note's field."""
    match = _PIN.fullmatch(pin)
    if match is None:
        hint = "3:2 sets finger 2, 3:s4 string 4, 3:s4f2 its fret too"
        raise wrong(f"'{plain(pin[:40])}' sets nothing", key="--pin", hint=hint)
    number, finger, string, fret = (None if part is None else int(part) for part in match.groups())
    return number or 0, {"finger": finger} if finger is not None else {"string": string, "fret": fret}
