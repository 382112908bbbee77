"""Right notes and wrong ones: what was struck that the step has not, what it has that was not heard."""

from __future__ import annotations

from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.pair import Pair
from trainer.listen.matcher.sounding import Key, Note


def wrong_notes(new: Attempt, pair: Pair, first: float | None) -> list[Note]:
    """Return the notes struck that the step has not, in order of time; `first` is its first onset.

    Left out: notes too short to be struck, octaves of a right note, and what fingers make sound without a stroke while
    they come up or slide.
    """
    octave = new.template.octaves
    return sorted(
        (
            note
            for note in new.alien
            if note.on <= new.reach and not note.void and note.key not in octave and not _unstruck(note, pair, first)
        ),
        key=lambda note: note.on,
    )


def octaves(new: Attempt) -> list[Note]:
    """Return the notes heard an octave or two off, or a twelfth above a note of the step, in order of time."""
    found = new.template.octaves
    return [note for note in new.alien if note.on <= new.reach and not note.void and note.key in found]


def missing_slots(new: Attempt) -> list[int]:
    """Return the slots that were never struck."""
    return new.template.within(new.template.full & ~new.filled)


def lost_slots(new: Attempt) -> list[int]:
    """Return the slots whose note was gone before the last one was struck, of a step that did not land for that."""
    if new.landed is not None or new.template.figure or not new.template.landed(new.filled):
        return []
    at = max(note.on for note in new.held.values())
    return sorted(index for index, note in new.held.items() if note.gone(at))


def named(new: Attempt, index: int) -> Key:
    """Return (string, MIDI note) of a slot; string None where the source does not tell strings apart."""
    slot = new.template.slots[index]
    heard = (*new.tries, *new.lead_in)
    blind = bool(heard) and all(note.string is None for note in heard)
    return (None if blind else slot.string), slot.pitch


def _unstruck(note: Note, pair: Pair, first: float | None) -> bool:
    """Tell whether a finger may have made `note` sound by coming up or sliding, without a stroke."""
    for slide in pair.slides:
        low, high = sorted((slide.start, slide.end))
        if note.string == slide.string and note.legato and low <= note.pitch <= high:
            return True
    if first is not None and note.on >= first:
        return False
    if note.string is None:
        return any(note.pitch == pitch for _, pitch in pair.opened)
    return note.legato and note.key in pair.opened
