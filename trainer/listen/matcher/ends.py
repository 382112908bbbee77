"""How the notes of the shape that is left ended: let go, faded, or ended by the right hand planting."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from trainer.fretboard.plucked import BASS, MELODY
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.pair import Pair
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Note


def first_end(old: Attempt, pair: Pair, settings: Settings) -> float | None:
    """Return when the first fretted note of `old` that is not kept ended; None where none did.

    A note that faded long before the rest of the shape was left does not count: no finger moved.
    """
    ends = sorted((end, note.on) for note in _leaving(old, pair.leaving) if (end := note.end) is not None)
    while len(ends) > 1 and _faded_early(ends, settings):
        ends.pop(0)
    return ends[0][0] if ends else None


def latest_end(old: Attempt, pair: Pair, voice: str | None = None) -> float | None:
    """Return when the last fretted note of `old` that is not kept ended; of one voice only where `voice` is given."""
    slots = old.template.slots
    indices = [index for index in pair.leaving if voice is None or slots[index].voice == voice]
    return max((end for note in _leaving(old, indices) if (end := note.end) is not None), default=None)


def gaps(old: Attempt, new: Attempt, pair: Pair, first: float) -> tuple[float | None, float | None, float | None]:
    """Return the gap in seconds of the whole shape, of the melody and of the bass; `first`: first onset of `new`."""
    whole = latest_end(old, pair)
    apart = []
    for voice in (MELODY, BASS):
        end = latest_end(old, pair, voice)
        onsets = [note.on for index, note in new.held.items() if new.template.slots[index].voice == voice]
        apart.append(min(onsets) - end if onsets and end is not None else None)
    return None if whole is None else first - whole, apart[0], apart[1]


def cut_off(old: Attempt, new: Attempt, pair: Pair, first: float, settings: Settings) -> bool:
    """Tell whether every fretted note that was to last until the change was let go too long before it.

    Never where the right hand may have ended the note, or where it may have faded.
    """
    slots = old.template.slots
    due = [index for index in pair.leaving if slots[index].until == old.template.beats + 1]
    notes = _leaving(old, due)
    if not notes or any((end := note.end) is None or first - end <= settings.cut_s for note in notes):
        return False
    last = max(notes, key=lambda note: note.end or 0.0)
    sounded = _once(old.latest.values())
    return not (planted(last, sounded, new, first, settings) or faded(last, sounded, settings))


def cut_short(attempt: Attempt, after: Attempt, first: float, settings: Settings) -> list[int]:
    """Return the slots of `attempt` that did not last as long as written; `after` was first struck at `first`."""
    template, latest = attempt.template, attempt.latest
    sounded = _once(latest.values())
    short = []
    for index, note in latest.items():
        needed = _needed_until(attempt, index, first)
        end = note.end
        if end is None or needed is None or needed - end <= settings.cut_s:
            continue
        if planted(note, sounded, after, first, settings) or faded(note, sounded, settings):
            continue
        if not _struck_again(template.slots[index].string, end, attempt, settings):
            short.append(index)
    return sorted(short)


def planted(note: Note, sounded: Collection[Note], after: Attempt, first: float, settings: Settings) -> bool:
    """Tell whether the right hand may have ended `note` on its way to the next stroke.

    Either its own string is struck next shortly after, or everything that sounded ended shortly before the stroke.
    """
    end = note.end
    if end is None:
        return False
    if note.string is not None and any(
        0 <= struck.on - end <= settings.plant_s for struck in after.tries if struck.string == note.string
    ):
        return True
    return all((other := each.end) is not None and 0 <= first - other <= settings.plant_s for each in sounded)


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
    return _once(old.latest[index] for index in indices if index in old.latest)


def _once(notes: Iterable[Note]) -> list[Note]:
    """Return each note once: without strings, one note may fill several slots."""
    return list(dict.fromkeys(notes))


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


def _struck_again(string: int, end: float, attempt: Attempt, settings: Settings) -> bool:
    """Tell whether `string` was struck again within the same shape shortly after `end`."""
    return any(
        note.string == string and 0 <= note.on - end <= settings.plant_s for note in (*attempt.tries, *attempt.strays)
    )
