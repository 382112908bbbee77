"""Some bars of one part as a guitar sounds them: ties joined, linked staves counted once, octaves settled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate

from trainer.errors import wrong
from trainer.fretboard.instrument import FEWEST_STRINGS, MOST_STRINGS, Instrument
from trainer.scores.octaves import placed, shifts_of
from trainer.scores.order import bar_span, played, span_name
from trainer.scores.parts import is_bowed
from trainer.scores.score import BarreText, Note, Part, Printed, Score, Symbol, Tie

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
    if is_bowed(part):
        raise wrong(
            f"part '{part.name or part.sound}' is for a bowed instrument",
            file=file,
            hint="its fingers are not a guitarist's",
        )
    first, last = bar_span(score.bars, bars, file)
    order = played(score.bars, first, last) if as_played else list(range(first, last + 1))
    onsets = list(accumulate((score.bars[index].length for index in order), initial=Fraction(0)))
    starts = tuple(zip(onsets, order, strict=False))
    instrument = _instrument(part, file)
    shifts, settled = shifts_of(part, instrument, octave)
    struck, left_out = _tied(_laid(part, starts, _checked(part, voices, file)), shifts, instrument)
    tones, counted_once = _merged(struck)
    return Excerpt(
        tones=tones,
        bars=starts,
        length=onsets[-1],
        instrument=instrument,
        meter=score.bars[first].meter,
        quarters=_quarters(score, first),
        symbols=tuple((at + each.at, each) for at, index in starts for each in part.symbols if each.bar == index),
        barres=tuple((at + each.at, each) for at, index in starts for each in part.barres if each.bar == index),
        voices=part.voices,
        name=span_name(score.bars, first, last),
        numbers=tuple(bar.number for bar in score.bars),
        said=tuple(words for words in (settled, *left_out, counted_once) if words),
    )


def _quarters(score: Score, first: int) -> float | None:
    """Return the tempo at bar `first`, before the first mark that of the first."""
    before = [tempo.quarters for tempo in score.tempos if tempo.bar <= first]
    return before[-1] if before else next((tempo.quarters for tempo in score.tempos), None)


def _checked(part: Part, voices: Iterable[str], file: str) -> frozenset[str]:
    """Return the voices that are wanted; raise ChangeoverError where the part has not all of them."""
    wanted = frozenset(voices)
    if wanted - set(part.voices) - {note.voice for note in part.notes}:
        hint = f"there are {', '.join(part.voices)}"
        raise wrong(f"no voice {', '.join(sorted(wanted))}", file=file, key="--voice", hint=hint)
    return wanted


def _instrument(part: Part, file: str) -> Instrument:
    tuning = Instrument().tuning if part.tuning is None else part.tuning
    if not FEWEST_STRINGS <= len(tuning) <= MOST_STRINGS:
        raise wrong(
            f"part '{part.name}' has {len(tuning)} strings", file=file, hint=f"{FEWEST_STRINGS} to {MOST_STRINGS}"
        )
    highest = max((note.printed.fret or 0 for note in part.notes), default=0) + part.capo
    frets = Instrument().frets
    return Instrument(tuning=tuning, capo=part.capo, frets=frets if highest <= frets else max(FRETS, highest))


def _laid(part: Part, starts: Sequence[tuple[Fraction, int]], voices: frozenset[str]) -> list[tuple[Fraction, Note]]:
    """Return the notes with their onsets, in order."""
    by_bar: dict[int, list[Note]] = {}
    for note in part.notes:
        if not voices or note.voice in voices:
            by_bar.setdefault(note.bar, []).append(note)
    return [(at + note.at, note) for at, index in starts for note in by_bar.get(index, ())]


def _tied(
    laid: list[tuple[Fraction, Note]], shifts: dict[int, int], instrument: Instrument
) -> tuple[list[tuple[Tone, int]], list[str]]:
    """Return what is struck, each with its staff: ties joined; and what grace notes and harmonics are left out."""
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
    return tones, [f"{count} {kind} left out" for kind, count in left_out.items()]


def _tied_to(tones: list[tuple[Tone, int]], ties: list[int], onset: Fraction, printed: Printed) -> int | None:
    """Return the index of the tone that a note at `onset` carries on; two strings may sound one pitch at a time."""
    ending = [index for index in ties if tones[index][0].end == onset]
    return next((index for index in ending if _one(tones[index][0].printed, printed)), None)


def _harmonic(note: Note) -> bool:
    return any(mark.startswith("harmonic") for mark in note.printed.marks)


def _merged(tones: list[tuple[Tone, int]]) -> tuple[tuple[Tone, ...], str]:
    """Return the tones with those that sound together at one pitch counted once, unless their strings differ.

    Beside them a sentence on those that stand in two staves, empty where none does.
    """
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
    return tuple(kept), f"{linked} notes stand in two staves and are counted once" if linked else ""


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
