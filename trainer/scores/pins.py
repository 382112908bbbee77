"""What is printed of an excerpt as pins that the fingering search keeps to, as far as it can be true."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from trainer.fretboard.instrument import Instrument
from trainer.hand.search.passage import STEP, BarrePin, Note
from trainer.scores.excerpt import Excerpt, Tone
from trainer.scores.octaves import placed


def pins(excerpt: Excerpt) -> list[Note]:
    """Return the notes with all that is printed of each, as far as it can be true, in the order of the tones."""
    return [_pinned(tone, excerpt) for tone in excerpt.tones]


def barre_pins(excerpt: Excerpt) -> list[BarrePin]:
    """Return the barres in words, each until its bar ends or another text begins."""
    found = []
    for number, (onset, text) in enumerate(excerpt.barres):
        start, _ = excerpt.bar_at(onset)
        ends = [at for at, _ in excerpt.bars if at > start]
        ends += [at for at, _ in excerpt.barres[number + 1 :] if at > onset]
        found.append(BarrePin(onset, min([*ends, excerpt.length]), text.fret))
    return found


def ringing(notes: list[Note]) -> list[Note]:
    """Return the notes with those of broken chords set to ring on: no step away from what is struck next."""
    struck: dict[Fraction, list[int]] = {}
    for note in notes:
        struck.setdefault(note.onset, []).append(note.midi)
    onsets = sorted(struck)
    following = dict(zip(onsets, [struck[onset] for onset in onsets[1:]], strict=False))
    return [
        replace(note, ring=all(abs(pitch - note.midi) > STEP for pitch in following.get(note.onset, ())))
        for note in notes
    ]


def loosened(pinned: list[Note], onset: Fraction) -> tuple[str, list[tuple[int, Note]]] | None:
    """Return what to let go of what is set at `onset`, and the notes without it by index; None where nothing is."""
    here = [(index, note) for index, note in enumerate(pinned) if note.onset == onset]
    if any(note.finger for _, note in here):
        return "fingers", [(index, replace(note, finger=None)) for index, note in here]
    if any(note.string is not None for _, note in here):
        return "strings", [(index, replace(note, finger=None, string=None, fret=None)) for index, note in here]
    return None


def _pinned(tone: Tone, excerpt: Excerpt) -> Note:
    """Return the note with all that is printed of it, as far as it can be true."""
    instrument, printed = excerpt.instrument, tone.printed
    string, fret = placed(printed, instrument) or (printed.string, None)
    if string is not None and (string > instrument.strings or not _reaches(instrument, string, tone.midi)):
        string = None
    if string is not None:
        fret = tone.midi - instrument.pitch(string, 0)
    finger = printed.fingers[0] if printed.fingers else None
    if fret == 0:
        finger = 0
    elif finger is not None and not _can(instrument, finger, fret, tone.midi):
        finger = None
    number = excerpt.numbers[tone.bar]
    bar = int(number) if number.isascii() and number.isdecimal() else None
    return Note(tone.onset, tone.duration, tone.midi, string, fret, finger, bar=bar)


def _can(instrument: Instrument, finger: int, fret: int | None, midi: int) -> bool:
    """Tell whether a printed finger can be true: 0 on an open string, another on a string that is lower."""
    if finger == 0:
        return fret is None and _opens(instrument, midi)
    return fret is not None or any(
        _reaches(instrument, string, midi - 1) for string in range(1, instrument.strings + 1)
    )


def _reaches(instrument: Instrument, string: int, midi: int) -> bool:
    return 0 <= midi - instrument.pitch(string, 0) <= instrument.top_fret


def _opens(instrument: Instrument, midi: int) -> bool:
    return any(instrument.pitch(string, 0) == midi for string in range(1, instrument.strings + 1))
