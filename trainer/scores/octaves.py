"""How a part sounds: how far its sounding pitches lie from the written ones, which files say in several ways."""

from __future__ import annotations

from collections import Counter

from trainer.fretboard.instrument import Instrument
from trainer.scores.score import Part, Printed

_OCTAVE = 12


def shifts_of(part: Part, instrument: Instrument, octave: int | None) -> tuple[dict[int, int], str]:
    """Return by staff how many semitones a sounding note lies above the written one, and a sentence on it or nothing.

    Strings and frets are believed before pitch and transposition; where a staff has none, the staff linked to it;
    where no staff has any, open strings printed as finger 0, and then what the file says.
    """
    staves = sorted({note.staff for note in part.notes}) or [1]
    transpose = part.transpose or 0
    if octave is not None:
        return dict.fromkeys(staves, _OCTAVE * octave), ""
    away: dict[int, Counter[int]] = {staff: Counter() for staff in staves}
    for note in part.notes:
        place = placed(note.printed, instrument)
        if place is not None:
            away[note.staff][instrument.pitch(*place) - note.pitch] += 1
    shifts = {staff: counts.most_common(1)[0][0] for staff, counts in away.items() if counts}
    for staff in staves:
        if staff not in shifts:
            shifts[staff] = _linked_shift(part, staff, shifts, transpose) if shifts else transpose
    if not any(away.values()) and not transpose and _open_strings_say_lower(part, instrument):
        said = "sounds an octave lower than the pitches in the file: its open strings say so"
        return dict.fromkeys(staves, -_OCTAVE), said
    believed = any(shift != transpose for shift in shifts.values())
    return shifts, "strings and frets are believed where they and the pitches do not agree" if believed else ""


def placed(printed: Printed, instrument: Instrument) -> tuple[int, int] | None:
    """Return (string, fret) where both are printed and the instrument has them."""
    string, fret = printed.string, printed.fret
    if string is None or fret is None or string > instrument.strings or fret > instrument.top_fret:
        return None
    return string, fret


def _linked_shift(part: Part, staff: int, known: dict[int, int], transpose: int) -> int:
    """Return the shift that makes most notes of `staff` sound with those of a staff whose strings are known."""
    there = {(note.bar, note.at, note.pitch + known[note.staff]) for note in part.notes if note.staff in known}
    mine = [note for note in part.notes if note.staff == staff]
    shifts = (transpose, 0, -_OCTAVE, _OCTAVE)
    return max(shifts, key=lambda shift: sum((note.bar, note.at, note.pitch + shift) in there for note in mine))


def _open_strings_say_lower(part: Part, instrument: Instrument) -> bool:
    """Tell whether the notes printed as open are open strings an octave lower, and not as they stand."""
    if any(staff.clef_octave for staff in part.staves):
        return False
    opened = [note.pitch for note in part.notes if note.printed.fingers[:1] == (0,)]
    strings = {instrument.pitch(string, 0) for string in range(1, instrument.strings + 1)}
    as_written = sum(pitch in strings for pitch in opened)
    return sum(pitch - _OCTAVE in strings for pitch in opened) > as_written
