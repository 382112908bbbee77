"""Some bars of one part as a guitar sounds them: ties joined, linked staves counted once, octaves settled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from trainer.errors import plain, wrong
from trainer.fretboard.instrument import FEWEST_STRINGS, MOST_STRINGS, Instrument
from trainer.scores.order import bar_span, played, span_name
from trainer.scores.score import BarreText, Note, Part, Printed, Score, Symbol, Tie

_OCTAVE = 12
_BOWED = ("violin", "viola", "cello", "contrabass", "double bass", "strings.", "geige", "bratsche", "violon")
_BOWED_PROGRAMS = range(41, 45)
_GUITARS = ("guitar", "gitar", "guitare", "chitarra", "guitarra", "violão", "pluck.guitar")
_GUITAR_PROGRAMS = range(25, 33)
FRETS = 24
"""Frets of the instrument a score is taken to be for where it reaches beyond the usual ones."""


@dataclass(frozen=True, slots=True)
class Tone:
    """One note that is struck."""

    onset: Fraction
    """Quarters from the start of the excerpt."""
    duration: Fraction
    """Quarters it is written to sound, ties included."""
    midi: int
    """As it sounds."""
    voice: str
    """The file's name for its voice."""
    bar: int
    """Index of its bar in the score."""
    printed: Printed
    """What the score says of how it is played."""

    @property
    def end(self) -> Fraction:
        """When it stops sounding, as written."""
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Bars of one part, in the order in which they are taken."""

    tones: tuple[Tone, ...]
    """Sorted by onset, then from low to high; at least one, or there are diagrams."""
    bars: tuple[tuple[Fraction, int], ...]
    """(onset, index in the score) of each bar."""
    length: Fraction
    """Quarters."""
    instrument: Instrument
    """What the part is for."""
    meter: tuple[int, int]
    """Of its first bar."""
    quarters: float | None
    """Tempo in quarters a minute where it begins; None where the score gives none."""
    symbols: tuple[tuple[Fraction, Symbol], ...]
    """Chord symbols and diagrams with their onsets."""
    barres: tuple[tuple[Fraction, BarreText], ...]
    """Barres in words with their onsets."""
    voices: tuple[str, ...]
    """Names of the voices, resting ones included, the upper first."""
    name: str
    """`bars 5 to 8`."""
    numbers: tuple[str, ...]
    """The printed number of each bar of the score, by index."""
    said: tuple[str, ...]
    """What was decided on the way, a sentence each."""

    def bar_at(self, onset: Fraction) -> tuple[Fraction, int]:
        """Return (onset, index) of the bar that sounds at `onset`."""
        return max((bar for bar in self.bars if bar[0] <= onset), default=self.bars[0])


def chosen_part(score: Score, wanted: str | None, file: str) -> tuple[Part, str]:
    """Return the part to take and a sentence on the choice, empty where there was none to make.

    `wanted` is a part's number from 1, its name or its id. Without it: the part with the most strings and frets,
    else the one named as a guitar, else the first.
    """
    if wanted is not None:
        word = wanted.strip().casefold()
        for number, part in enumerate(score.parts, start=1):
            if word in {str(number), part.id.casefold(), part.name.casefold()}:
                return part, ""
        names = ", ".join(f"{number} {part.name or part.id}" for number, part in enumerate(score.parts[:12], start=1))
        raise wrong(f"no part is called '{plain(wanted[:40])}'", file=file, key="--part", hint=f"there are {names}")
    fit = [part for part in score.parts if not _bowed(part)] or list(score.parts)
    best = max(fit, key=_guitarness)
    if len(score.parts) == 1:
        return best, ""
    return (
        best,
        f"part {score.parts.index(best) + 1}, {best.name or best.id}, of {len(score.parts)}: choose with --part",
    )


def _guitarness(part: Part) -> tuple[int, int, int]:
    stringed = sum(note.printed.fret is not None for note in part.notes)
    named = _named(part, _GUITARS) or part.program in _GUITAR_PROGRAMS
    return stringed, int(named), len(part.notes) > 0


def _named(part: Part, words: Iterable[str]) -> bool:
    text = f"{part.name} {part.sound}".casefold()
    return any(word in text for word in words)


def _bowed(part: Part) -> bool:
    return _named(part, _BOWED) or part.program in _BOWED_PROGRAMS


def excerpt(
    score: Score,
    part: Part,
    file: str,
    *,
    bars: str | None = None,
    voices: Iterable[str] = (),
    as_played: bool = False,
    octave: int | None = None,
) -> Excerpt:
    """Return the bars of `part` that `bars` names (`5-8`; all where it is None).

    `voices` keeps only these; `as_played` follows repeats and endings; `octave` says how many octaves above the
    written notes the part sounds, where the file is wrong about it. Raises ChangeoverError where nothing is left.
    """
    if _bowed(part):
        raise wrong(
            f"part '{part.name or part.sound}' is for a bowed instrument",
            file=file,
            hint="its fingers are not a guitarist's",
        )
    said: list[str] = []
    first, last = bar_span(score.bars, bars, file)
    order = played(score.bars, first, last) if as_played else list(range(first, last + 1))
    instrument = _instrument(part, file)
    shifts = _shifts(part, instrument, octave, said)
    starts: list[tuple[Fraction, int]] = []
    length = Fraction(0)
    for index in order:
        starts.append((length, index))
        length += score.bars[index].length
    wanted = frozenset(voices)
    if wanted - set(part.voices) - {note.voice for note in part.notes}:
        raise wrong(
            f"no voice {', '.join(sorted(wanted))}",
            file=file,
            key="--voice",
            hint=f"there are {', '.join(part.voices)}",
        )
    tones = _merged(_tied(_laid(part, starts, wanted), shifts, instrument, said), said)
    return Excerpt(
        tones=tones,
        bars=tuple(starts),
        length=length,
        instrument=instrument,
        meter=score.bars[first].meter,
        quarters=next((tempo.quarters for tempo in reversed(score.tempos) if tempo.bar <= first), None)
        or next((tempo.quarters for tempo in score.tempos), None),
        symbols=tuple(
            (at + symbol.at, symbol) for at, index in starts for symbol in part.symbols if symbol.bar == index
        ),
        barres=tuple((at + text.at, text) for at, index in starts for text in part.barres if text.bar == index),
        voices=part.voices,
        name=span_name(score.bars, first, last),
        numbers=tuple(bar.number for bar in score.bars),
        said=tuple(said),
    )


def _instrument(part: Part, file: str) -> Instrument:
    tuning = Instrument().tuning if part.tuning is None else part.tuning
    if not FEWEST_STRINGS <= len(tuning) <= MOST_STRINGS:
        raise wrong(
            f"part '{part.name}' has {len(tuning)} strings", file=file, hint=f"{FEWEST_STRINGS} to {MOST_STRINGS}"
        )
    highest = max((note.printed.fret or 0 for note in part.notes), default=0) + part.capo
    frets = Instrument().frets
    return Instrument(tuning=tuning, capo=part.capo, frets=frets if highest <= frets else max(FRETS, highest))


def _shifts(part: Part, instrument: Instrument, octave: int | None, said: list[str]) -> dict[int, int]:
    """Return by staff how many semitones a written note lies from the sounding one.

    Strings and frets are believed before pitch and transposition; where a staff has none, the staff linked to it;
    where no staff has any, open strings printed as finger 0, and then what the file says.
    """
    staves = sorted({note.staff for note in part.notes}) or [1]
    transpose = part.transpose or 0
    if octave is not None:
        return dict.fromkeys(staves, _OCTAVE * octave)
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
        said.append("sounds an octave lower than the pitches in the file: its open strings say so")
        return dict.fromkeys(staves, -_OCTAVE)
    if any(shift != transpose for shift in shifts.values()):
        said.append("strings and frets are believed where they and the pitches do not agree")
    return shifts


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


def _laid(part: Part, starts: list[tuple[Fraction, int]], voices: frozenset[str]) -> list[tuple[Fraction, Note]]:
    """Return the notes with their onsets, in order."""
    by_bar: dict[int, list[Note]] = {}
    for note in part.notes:
        if not voices or note.voice in voices:
            by_bar.setdefault(note.bar, []).append(note)
    return [(at + note.at, note) for at, index in starts for note in by_bar.get(index, ())]


def _tied(
    laid: list[tuple[Fraction, Note]], shifts: dict[int, int], instrument: Instrument, said: list[str]
) -> list[tuple[Tone, int]]:
    """Return what is struck, each with its staff: ties joined, grace notes and harmonics left out and told of."""
    tones: list[tuple[Tone, int]] = []
    open_ties: dict[tuple[int, int], list[int]] = {}
    left_out: Counter[str] = Counter()
    for onset, note in laid:
        kind = "grace notes" if note.grace else "harmonics" if _harmonic(note) else ""
        if kind or not note.duration:
            left_out[kind or "notes without a duration"] += 1
            continue
        place = placed(note.printed, instrument)
        midi = instrument.pitch(*place) if place else note.pitch + shifts[note.staff]
        if not 0 <= midi <= 127:
            left_out["notes beyond hearing"] += 1
            continue
        ties = open_ties.setdefault((note.staff, midi), [])
        index = _tied_to(tones, ties, onset, note.printed) if note.tie in {Tie.STOP, Tie.MIDDLE} else None
        if index is not None:
            tone = tones[index][0]
            tones[index] = replace(tone, duration=tone.duration + note.duration), note.staff
            continue
        printed = note.printed if place or note.printed.fret is None else replace(note.printed, fret=None)
        if note.tie in {Tie.START, Tie.MIDDLE}:
            ties.append(len(tones))
        tones.append((Tone(onset, note.duration, midi, note.voice, note.bar, printed), note.staff))
    said += (f"{count} {kind} left out" for kind, count in left_out.items())
    return tones


def _tied_to(tones: list[tuple[Tone, int]], ties: list[int], onset: Fraction, printed: Printed) -> int | None:
    """Return the index of the tone that a note at `onset` carries on; two strings may sound one pitch at a time."""
    ending = [index for index in ties if tones[index][0].end == onset]
    return next((index for index in ending if _one(tones[index][0].printed, printed)), None)


def _harmonic(note: Note) -> bool:
    return any(mark.startswith("harmonic") for mark in note.printed.marks)


def _merged(tones: list[tuple[Tone, int]], said: list[str]) -> tuple[Tone, ...]:
    """Return the tones with those that sound together at one pitch counted once, unless their strings differ."""
    kept: list[Tone] = []
    staves: list[int] = []
    at: dict[tuple[Fraction, int], list[int]] = {}
    linked = 0
    for tone, staff in sorted(tones, key=lambda each: (each[0].onset, each[0].midi, each[1])):
        same = at.setdefault((tone.onset, tone.midi), [])
        twin = next((index for index in same if _one(kept[index].printed, tone.printed)), None)
        if twin is None:
            same.append(len(kept))
            kept.append(tone)
            staves.append(staff)
            continue
        linked += staff != staves[twin]
        old = kept[twin]
        kept[twin] = replace(old, duration=max(old.duration, tone.duration), printed=_both(old.printed, tone.printed))
    if linked:
        said.append(f"{linked} notes stand in two staves and are counted once")
    return tuple(kept)


def _one(a: Printed, b: Printed) -> bool:
    return a.string is None or b.string is None or a.string == b.string


def _both(a: Printed, b: Printed) -> Printed:
    return Printed(
        string=b.string if a.string is None else a.string,
        fret=b.fret if a.fret is None else a.fret,
        fingers=a.fingers or b.fingers,
        alternatives=a.alternatives or b.alternatives,
        pluck=a.pluck or b.pluck,
        marks=a.marks | b.marks,
    )
