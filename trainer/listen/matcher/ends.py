"""How the notes of the shape that is left ended: let go, faded, or ended by the right hand planting."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from trainer.fretboard.plucked import BASS, MELODY
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.pair import Pair
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Note, each_once


def first_end(old: Attempt, new: Attempt, pair: Pair, settings: Settings) -> float | None:
    """Return when the first fretted note of `old` that is not kept ended; None where none did.

    A note that faded long before the rest of the shape was left does not count: no finger moved.
    """
    ends = sorted((end, note.on) for note in _leaving(old, pair.leaving) if (end := _end(note, new)) is not None)
    while len(ends) > 1 and _faded_early(ends, settings):
        ends.pop(0)
    return ends[0][0] if ends else None


def latest_end(old: Attempt, new: Attempt, pair: Pair, voice: str | None = None) -> float | None:
    """Return when the last fretted note of `old` that is not kept ended; of one voice only where `voice` is given."""
    slots = old.template.slots
    indices = [index for index in pair.leaving if voice is None or slots[index].voice == voice]
    return max((end for note in _leaving(old, indices) if (end := _end(note, new)) is not None), default=None)


def gaps(old: Attempt, new: Attempt, pair: Pair, first: float) -> tuple[float | None, float | None, float | None]:
    """Return the gap in seconds of the whole shape, of the melody and of the bass; `first`: first onset of `new`."""
    whole = latest_end(old, new, pair)
    apart = []
    for voice in (MELODY, BASS):
        end = latest_end(old, new, pair, voice)
        onsets = [note.on for index, note in new.held.items() if new.template.slots[index].voice == voice]
        apart.append(min(onsets) - end if onsets and end is not None else None)
    return None if whole is None else first - whole, apart[0], apart[1]


def cut_off(old: Attempt, new: Attempt, pair: Pair, first: float, settings: Settings) -> bool:
    """Tell whether every fretted note that was to last until the change was let go too long before it.

    Never where the right hand may have ended the note, or where it may have faded.
    """
    slots = old.template.slots
    due = [index for index in pair.leaving if slots[index].until == old.template.beats + 1]
    notes = {index: old.latest[index] for index in due if index in old.latest}
    ends = {index: end for index, note in notes.items() if (end := note.end) is not None}
    if not notes or len(ends) < len(notes) or any(first - end <= settings.cut_s for end in ends.values()):
        return False
    last = max(ends, key=ends.__getitem__)
    sounded = each_once(old.latest.values())
    return not (
        planted(notes[last], slots[last].string, sounded, new, first, settings) or faded(notes[last], sounded, settings)
    )


def cut_short(attempt: Attempt, after: Attempt, first: float, settings: Settings) -> list[int]:
    """Return the slots of `attempt` that did not last as long as written; `after` was first struck at `first`."""
    template, latest = attempt.template, attempt.latest
    sounded = each_once(latest.values())
    short = []
    for index, note in latest.items():
        needed = _needed_until(attempt, index, first)
        end = note.end
        if end is None or needed is None or needed - end <= settings.cut_s:
            continue
        string = template.slots[index].string
        if not (planted(note, string, sounded, after, first, settings) or faded(note, sounded, settings)):
            short.append(index)
    return sorted(short)


def planted(
    note: Note, string: int, sounded: Collection[Note], after: Attempt, first: float, settings: Settings
) -> bool:
    """Tell whether the right hand may have ended `note`, which belongs to `string`, on its way to the next stroke.

    Either its own string is struck next and it ended shortly before that or before the first of the stroke (a hand that
    rolls may plant all its fingers at once), or everything that sounded ended at once, shortly before the stroke.
    """
    end = note.end
    if end is None:
        return False
    slots = after.template.slots
    strokes = [struck.on for struck in after.tries if struck.string == string]
    strokes += [struck.on for index, struck in after.held.items() if slots[index].string == string]
    if any(end <= on and min(on, first) - end <= settings.plant_s for on in strokes):
        return True
    # A note whose note-off was lost may have ended with the others.
    ends = [each.off for each in sounded if each.off is not None] or [end]
    return max(ends) - min(ends) <= settings.strum_s and max(ends) <= first <= min(ends) + settings.plant_s


def faded(note: Note, sounded: Iterable[Note], settings: Settings) -> bool:
    """Tell whether `note` may have faded: it had sounded for long, and ended alone."""
    end = note.end
    if end is None or end - note.on < settings.decay_s:
        return False
    return not any(
        other is not note and (ended := other.end) is not None and abs(ended - end) <= settings.alone_s
        for other in sounded
    )


def _leaving(old: Attempt, indices: Iterable[int]) -> list[Note]:
    """Return the notes of the slots given, of each key the last: a note that is plucked again was not left."""
    notes = (old.latest[index] for index in indices if index in old.latest)
    last = {note.key: note for note in sorted(notes, key=lambda note: note.on)}
    return list(last.values())


def _end(note: Note, new: Attempt) -> float | None:
    """Return when a note of the step left ended, None where that cannot be known.

    Its note-off tells, or a note on its string while `new` is struck. A later one tells only that a note-off was lost.
    """
    if note.off is None and note.next is not None and note.next.on > new.reach:
        return None
    return note.end


def _faded_early(ends: list[tuple[float, float]], settings: Settings) -> bool:
    (end, onset), (following, _) = ends[0], ends[1]
    return end - onset >= settings.decay_s and following - end > settings.leave_s


def _needed_until(attempt: Attempt, index: int, first: float) -> float | None:
    """Return until when the note of a slot was to sound, by what was played; None where that cannot be known."""
    template = attempt.template
    until = template.slots[index].until
    if until is None:
        return None
    if until >= template.beats + 1:
        return first
    onsets = [note.on for other, note in attempt.held.items() if template.slots[other].beat == until]
    return min(onsets) if onsets else None
