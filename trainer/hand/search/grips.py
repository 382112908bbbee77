"""Every way a hand can take the notes struck at one moment.

Complete within these rules: each note on a string of its own where its pitch lies on the neck; a finger at one fret,
on one string or across neighbouring ones with nothing lower in between; no finger nearer the nut than a lower-numbered
one; every two fingertips within the hand's largest reach; the hand's position such that the fingers lie off their own
frets by as little as they can, or by one fret more. A first finger may also be laid over neighbouring strings whose
notes at its fret come soon or have just been struck: a barre laid early or kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import Hand
from trainer.hand.search.passage import Note
from trainer.hand.search.places import AIR, Floats, Ints, Places, limits, places

STAY = 0
"""The position of a grip of open strings: the hand stays where it is."""
FRAME_OFF = 2
"""A finger lies at most this many frets off its own fret of the frame."""


@dataclass(frozen=True, slots=True)
class Grips:
    """The grips of one moment; arrays with one row a grip."""

    fingers: Ints
    """Finger of each note, 0 open, in the order the notes were given."""
    strings: Ints
    """String of each note."""
    place: Ints
    """Place of each finger 1 to 4, `AIR` where the grip does not use it."""
    position: Ints
    """Fret where finger 1 would lie; `STAY` where every string is open."""
    struck: Ints
    """Mask of the strings struck."""
    opened: Ints
    """Mask of the strings struck open."""
    covered: Ints
    """Mask of the strings under a finger of the grip."""
    below: Ints
    """(grips, frets + 1): mask of the strings struck nearer the nut than a fret, open ones included."""
    level: Ints
    """(grips, frets + 1): mask of the strings struck at a fret."""
    frets: Ints
    """Fret of each note."""

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.position)

    def only(self, row: int) -> Grips:
        """Return the one grip at `row`."""
        return Grips(*(getattr(self, name)[row : row + 1] for name in self.__slots__))


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of one note of a moment: the part of a note that the grips depend on."""

    midi: int
    """MIDI note number as it sounds."""
    string: int | None
    """The string it must be played on; None: any."""
    fret: int | None
    """The fret it must be played at; None: any."""
    finger: int | None
    """The finger that must stop it, 0 for open; None: any."""
    stopped: bool
    """True where it must not be the open string."""
    barre: tuple[int, int, int | None, int | None] | None = None
    """Finger, fret, low and high string of a barre that is asked for at this moment."""

    @classmethod
    def of(cls, note: Note, barre: tuple[int, int, int | None, int | None] | None = None) -> Wanted:
        """Return what `note` asks for."""
        return cls(note.midi, note.string, note.fret, note.finger, note.stopped, barre)


def spots(wanted: Wanted, instrument: Instrument) -> list[tuple[int, int]]:
    """Return each (string, fret) at which the note can be had as it is asked for."""
    found = []
    for string in range(1, instrument.strings + 1):
        fret = wanted.midi - instrument.pitch(string, 0)
        asked = wanted.string in {None, string} and wanted.fret in {None, fret}
        as_fingered = wanted.finger is None or (wanted.finger > 0) == (fret > 0)
        if asked and as_fingered and 0 <= fret <= instrument.top_fret and not (wanted.stopped and fret == 0):
            found.append((string, fret))
    return found


def grips(wanted: tuple[Wanted, ...], near: frozenset[int], instrument: Instrument, hand: Hand) -> Grips:
    """Return every grip for the notes of one moment; `near` are pitches that a barre may lie ready for.

    The set is empty where the notes cannot be taken together.
    """
    table = places(instrument)
    rows = [
        (fingers, strings, row, position)
        for strings, frets, fingers in _taken(wanted, instrument, table.fret_mm, max(hand.largest))
        for row in _rows(strings, frets, fingers, near, instrument, table, hand)
        for position in _positions(row, table)
        if _as_asked(row, wanted, table)
    ]
    return _packed(rows, len(wanted), wanted, instrument, table)


def _taken(
    wanted: tuple[Wanted, ...], instrument: Instrument, fret_mm: Floats, widest: float
) -> Iterator[tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]]:
    """Yield strings, frets and fingers of every way to take the notes no further apart than `widest` mm."""
    for spot in product(*(spots(note, instrument) for note in wanted)):
        strings, frets = tuple(s for s, _ in spot), tuple(f for _, f in spot)
        stopped = [fret for fret in frets if fret]
        if len(set(strings)) < len(strings) or (stopped and fret_mm[max(stopped)] - fret_mm[min(stopped)] > widest):
            continue
        choices = [
            (0,) if fret == 0 else (note.finger,) if note.finger else (1, 2, 3, 4)
            for note, fret in zip(wanted, frets, strict=True)
        ]
        for fingers in product(*choices):
            if _fits(strings, frets, fingers):
                yield strings, frets, fingers


def _fits(strings: tuple[int, ...], frets: tuple[int, ...], fingers: tuple[int, ...]) -> bool:
    """Tell whether no finger is at two frets or out of order, and nothing lies lower under one that spans strings."""
    placed: dict[int, int] = {}
    for finger, fret in zip(fingers, frets, strict=True):
        if finger and placed.setdefault(finger, fret) != fret:
            return False
    order = [placed[finger] for finger in sorted(placed)]
    if order != sorted(order):
        return False
    for finger, fret in placed.items():
        own = [string for string, by in zip(strings, fingers, strict=True) if by == finger]
        low, high = max(own), min(own)
        if finger > 1 and low - high > _PARTIAL:
            return False
        if any(high < string < low and other < fret for string, other in zip(strings, frets, strict=True)):
            return False
    return True


_PARTIAL = 2
"""Strings a second, third or fourth finger can lie across beside its own."""


def _rows(
    strings: tuple[int, ...],
    frets: tuple[int, ...],
    fingers: tuple[int, ...],
    near: frozenset[int],
    instrument: Instrument,
    table: Places,
    hand: Hand,
) -> Iterator[tuple[int, ...]]:
    """Yield the place of each finger: as far as the notes need, and with barres laid further where notes are near."""
    options: list[list[int]] = []
    for finger in (1, 2, 3, 4):
        own = [(s, f) for s, f, by in zip(strings, frets, fingers, strict=True) if by == finger]
        if not own:
            options.append([AIR])
            continue
        fret, low, high = own[0][1], max(s for s, _ in own), min(s for s, _ in own)
        sounding = dict(zip(strings, frets, strict=True))
        options.append(
            [
                table.number[fret, low_, high_]
                for low_, high_ in _laid(finger, fret, low, high, sounding, near, instrument)
            ]
        )
    _, largest = limits(hand)
    for row in product(*options):
        used = [finger for finger in range(4) if row[finger]]
        if all(
            table.apart[row[one], row[other]] <= largest[one, other]
            for at, one in enumerate(used)
            for other in used[at + 1 :]
        ):
            yield row


def _laid(
    finger: int,
    fret: int,
    low: int,
    high: int,
    sounding: dict[int, int],
    near: frozenset[int],
    instrument: Instrument,
) -> list[tuple[int, int]]:
    """Return (low, high) of every way to lay a finger that must cover `low` to `high`."""
    widest = instrument.strings if finger == 1 else _PARTIAL
    ready = {s for s in range(1, instrument.strings + 1) if instrument.pitch(s, fret) in near}
    lows = [low, *(s for s in sorted(ready) if s > low)]
    highs = [high, *(s for s in sorted(ready) if s < high)]
    return [
        (a, b)
        for a in lows
        for b in highs
        if a - b <= max(widest, low - high) and all(sounding.get(string, fret) >= fret for string in range(b, a + 1))
    ]


def _positions(row: tuple[int, ...], table: Places) -> list[int]:
    """Return the positions a grip can be held in: fingers off their own frets as little as can be, or one more."""
    own = [int(table.fret[place]) - finger for finger, place in enumerate(row) if place]
    if not own:
        return [STAY]
    off = {
        at: sum(abs(mine - at) for mine in own)
        for at in range(max(1, min(own) - FRAME_OFF), min(max(own) + FRAME_OFF, len(table.fret_mm) - 1) + 1)
        if all(abs(mine - at) <= FRAME_OFF for mine in own)
    }
    if not off:
        return [max(1, min(own))]
    least = min(off.values())
    return [at for at, total in off.items() if total <= least + 1]


def _as_asked(row: tuple[int, ...], wanted: tuple[Wanted, ...], table: Places) -> bool:
    """Tell whether a barre that is asked for lies as asked."""
    barre = next((note.barre for note in wanted if note.barre is not None), None)
    if barre is None:
        return True
    finger, fret, low, high = barre
    place = row[finger - 1]
    if place == AIR:
        return True
    return bool(
        table.fret[place] == fret
        and (low is None or table.low[place] >= low)
        and (high is None or table.high[place] <= high)
    )


def _packed(
    rows: list[tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...], int]],
    count: int,
    wanted: tuple[Wanted, ...],
    instrument: Instrument,
    table: Places,
) -> Grips:
    size = len(rows)
    fingers = np.array([row[0] for row in rows], dtype=np.int64).reshape(size, count)
    strings = np.array([row[1] for row in rows], dtype=np.int64).reshape(size, count)
    place = np.array([row[2] for row in rows], dtype=np.int64).reshape(size, 4)
    position = np.array([row[3] for row in rows], dtype=np.int64)
    bits = 1 << (strings - 1)
    opens = np.array([0, *(instrument.pitch(s, 0) for s in range(1, instrument.strings + 1))])
    pitches = np.array([note.midi for note in wanted], dtype=np.int64)
    frets = pitches - opens[strings]
    levels = np.arange(instrument.top_fret + 1)
    below = ((frets[:, :, None] < levels) * bits[:, :, None]).sum(axis=1)
    level = ((frets[:, :, None] == levels) * bits[:, :, None]).sum(axis=1)
    return Grips(
        fingers,
        strings,
        place,
        position,
        bits.sum(axis=1),
        (bits * (frets == 0)).sum(axis=1),
        np.bitwise_or.reduce(table.cover[place], axis=1),
        below.astype(np.int64),
        level.astype(np.int64),
        frets,
    )
