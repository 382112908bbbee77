"""What a change costs, straight from what each term says: one hand, one grip, one finger at a time.

Nothing here is taken from the search but the sizes of its tables: a hand is where its fingers lie as (fret, low string,
high string), a grip the same with its notes, and every amount is counted by looking. Amounts stand under the name of
their term, or of their table with the entry's indices. Strings and fingers count from 1.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import dist
from typing import TypeAlias

from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import Hand
from trainer.hand.search.passage import Passage

Lies: TypeAlias = tuple[int, int, int]
"""Fret, low and high string of a finger that lies somewhere."""
Key: TypeAlias = tuple[str | int, ...]
"""A term `(name,)`, or an entry of a table `(name, index, ...)`."""
Amounts: TypeAlias = Iterator[tuple[Key, float]]
"""How much of a term, or how often an entry; what comes twice counts twice."""

LATE = 4.0
"""Quarter notes after which a silent finger has come off, and a note that never was is this long over."""


@dataclass(frozen=True, slots=True)
class Grip:
    """A way to take the next notes."""

    notes: tuple[tuple[int, int, int], ...]
    """String, fret and finger of each."""
    fingers: Mapping[int, Lies]
    """Where each finger that is used lies."""
    position: int
    """Where finger 1 would lie; 0 where every note is open."""

    def fret_of(self, string: int) -> int | None:
        """Return the fret at which a string is struck, 0 open; None where it is not struck."""
        return next((fret for own, fret, _ in self.notes if own == string), None)


@dataclass(frozen=True, slots=True)
class Around:
    """What sounds around one moment, by pitch."""

    over: Mapping[int, float]
    """Quarter notes since the last note of a pitch was over; a pitch that is not named was never struck."""
    held: frozenset[int]
    ringing: frozenset[int]
    sounding: frozenset[int]
    """Held, ringing or struck at this moment."""


@dataclass(frozen=True, slots=True)
class Player:
    """Whose hand on which instrument."""

    instrument: Instrument
    hand: Hand

    @property
    def reach(self) -> float:
        """The unit of distance: the comfortable reach of fingers 1 to 4."""
        return self.hand.comfort(1, 4)

    def pitches(self, lies: Lies) -> list[int]:
        """Return the pitch that each covered string would sound."""
        return [self.instrument.pitch(string, lies[0]) for string in strings(lies)]

    def along(self, one: Lies, other: Lies) -> float:
        """Return millimetres along the neck."""
        return abs(self.instrument.fret_mm(one[0]) - self.instrument.fret_mm(other[0]))

    def apart(self, one: Lies, other: Lies) -> float:
        """Return the shortest straight line in millimetres."""
        points = self.instrument.points
        return min(dist(points[s, one[0]], points[t, other[0]]) for s in strings(one) for t in strings(other))


def around(passage: Passage, index: int) -> Around:
    """Return what sounds around slice `index`, from the notes as written."""
    here, notes = passage.slices[index], passage.notes
    over: dict[int, float] = {}
    for piece in passage.slices[:index]:
        for note in (notes[i] for i in piece.struck):
            over[note.midi] = min(max(float(here.onset - note.end), 0.0), LATE)
    pitched = {name: frozenset(notes[i].midi for i in getattr(here, name)) for name in ("struck", "held", "ringing")}
    return Around(over, pitched["held"], pitched["ringing"], frozenset().union(*pitched.values()))


def strings(lies: Lies) -> set[int]:
    """Return the strings a finger covers."""
    return set(range(lies[2], lies[1] + 1))


def barre(lies: Lies) -> bool:
    """Tell whether a finger lies across strings."""
    return lies[1] > lies[2]


def total(amounts: Iterable[tuple[Key, float]]) -> dict[Key, float]:
    """Return the sum by key, what comes to nothing left out."""
    found: defaultdict[Key, float] = defaultdict(float)
    for key, amount in amounts:
        found[key] += amount
    return {key: amount for key, amount in found.items() if amount}


def of_grip(grip: Grip, player: Player) -> Amounts:
    """Yield what a grip costs by itself."""
    for string, fret, finger in grip.notes:
        if fret:
            yield ("low",), fret
            yield ("stopped",), 1
            yield ("high",), max(fret - 12, 0)
            yield ("weak",), finger == 4
            yield ("use", finger - 1, fret, string), 1
    for finger, lies in grip.fingers.items():
        off = lies[0] - (grip.position + finger - 1)
        yield ("off",), abs(off)
        yield ("off by", finger - 1, clipped(off, -2, 2) + 2), 1
        yield ("hold barre",), barre(lies)
        if finger > 1:
            yield ("partial",), len(strings(lies)) - 1
        for other, there in grip.fingers.items():
            if other > finger:
                yield ("stretch",), stretch(finger, lies, other, there, player)
                yield from beside(finger, lies, other, there)
                yield ("chord", *relation(finger, lies, other, there)), 1


def clipped(value: int, least: int, most: int) -> int:
    """Return the value, or the end of the range that it is beyond."""
    return max(least, min(value, most))


def relation(finger: int, lies: Lies, other: int, there: Lies) -> tuple[int, int]:
    """Return the indices of the entry for two fingers: the pair, and frets and strings from the first to the second.

    Strings count between the nearest two, positive towards the bass.
    """
    frets = clipped(there[0] - lies[0], -3, 4)
    if strings(lies) & strings(there):
        across = 0
    elif there[2] > lies[1]:
        across = there[2] - lies[1]
    else:
        across = there[1] - lies[2]
    return (finger - 1) * 4 + other - 1, (frets + 3) * 5 + clipped(across, -2, 2) + 2


def stretch(finger: int, lies: Lies, other: int, there: Lies, player: Player) -> float:
    """Return the reaches by which two fingers lie further apart along the neck than is comfortable."""
    comfortable = player.hand.comfort(min(finger, other), max(finger, other))
    return max(player.along(lies, there) - comfortable, 0.0) / player.reach


def beside(finger: int, lies: Lies, other: int, there: Lies) -> Amounts:
    """Yield whether two fingers that lie at once are in each other's way."""
    lower, upper = (lies, there) if finger < other else (there, lies)
    # The hand slants: of two fingers at one fret the higher-numbered one lies nearer the treble.
    yield ("stack",), lower[0] == upper[0] and upper[2] > lower[1]
    yield ("crowd",), 0 < upper[0] - lower[0] < abs(finger - other)


def rested(finger: int, lies: Lies, grip: Grip, around: Around, player: Player) -> Lies | None:
    """Return where a finger that a grip does not use lies on, a barre perhaps on fewer strings; None: it comes off."""
    left = cleared(lies, grip)
    if left is None or time(lies, around, player) >= LATE:
        return None
    sounding = any(pitch in around.held | around.ringing for pitch in player.pitches(lies))
    off = abs(lies[0] - (grip.position + finger - 1))
    if grip.position and off > (2 if sounding else 1):
        return None
    for other, there in grip.fingers.items():
        furthest = player.hand.limit(min(finger, other), max(finger, other))
        if player.apart(left, there) > furthest or in_the_way(finger, lies, sounding, other, there, grip):
            return None
    return left


def cleared(lies: Lies, grip: Grip) -> Lies | None:
    """Return what is left of a finger once it is off the strings that are struck nearer the nut; None: nothing."""
    struck = {string: grip.fret_of(string) for string in strings(lies)}
    left = sorted(string for string, fret in struck.items() if fret is None or fret >= lies[0])
    whole = bool(left) and len(left) == left[-1] - left[0] + 1
    return (lies[0], left[-1], left[0]) if whole else None


def in_the_way(finger: int, lies: Lies, sounding: bool, other: int, there: Lies, grip: Grip) -> bool:
    """Tell whether one finger cannot rest because of where another plays."""
    shared = strings(lies) & strings(there)
    wrong_order = there[0] > lies[0] if other < finger else there[0] < lies[0]
    same_spot = there[0] == lies[0] and bool(shared)
    silent_barre_over = barre(lies) and not sounding and bool(shared)
    under_a_barre = barre(there) and there[0] > lies[0] and any(grip.fret_of(string) is None for string in shared)
    return wrong_order or same_spot or silent_barre_over or under_a_barre


def time(lies: Lies | None, around: Around, player: Player) -> float:
    """Return the quarter notes since the last note under a finger was over."""
    if lies is None:
        return LATE
    return min(around.over.get(pitch, LATE) for pitch in player.pitches(lies))


def end_of(finger: int, lies: Lies | None, grip: Grip, around: Around, player: Player) -> Lies | None:
    """Return where a finger lies once the grip is taken."""
    there = grip.fingers.get(finger)
    if lies is None:
        return there
    if there is None:
        return rested(finger, lies, grip, around, player)
    # A barre of which fewer strings are wanted stays as it is where nothing has to sound below it.
    wider = stays(lies, there) and strings(there) <= strings(lies) and cleared(lies, grip) == lies
    return lies if wider else there


def stays(lies: Lies, there: Lies) -> bool:
    """Tell whether a finger stays down at least on one string."""
    return lies[0] == there[0] and bool(strings(lies) & strings(there))


def of_finger(finger: int, lies: Lies | None, grip: Grip, around: Around, player: Player) -> Amounts:
    """Yield what it costs one finger to go on."""
    there, end = grip.fingers.get(finger), end_of(finger, lies, grip, around, player)
    if lies is not None:
        yield from let_go(lies, end, grip, around, player)
    if there is not None and lies is None:
        yield ("place",), 1
    elif there is not None and lies is not None:
        yield from moved(lies, there, around, player)
        name = "after" if time(lies, around, player) == 0 else "rest"
        yield (name, *relation(finger, lies, finger, there)), 1
    elif lies is not None:
        yield from idle(finger, lies, end, grip, around, player)
    if end is not None and barre(end):
        before = strings(lies) if lies is not None and lies[0] == end[0] else set()
        if strings(end) - before:
            yield ("barre",), 1
            yield ("widen",), lies is not None and there is not None and stays(lies, there)
            yield ("width",), len(strings(end)) - 2
        yield ("hold barre",), there is None


def let_go(lies: Lies, end: Lies | None, grip: Grip, around: Around, player: Player) -> Amounts:
    """Yield the notes that stop: written ones and ones that should ring."""
    for string in strings(lies):
        down = end is not None and end[0] == lies[0] and string in strings(end)
        if not down or grip.fret_of(string) not in {None, lies[0]}:
            pitch = player.instrument.pitch(string, lies[0])
            yield ("cut",), pitch in around.held
            yield ("ring",), pitch in around.ringing


def moved(lies: Lies, there: Lies, around: Around, player: Player) -> Amounts:
    """Yield how a finger that lay somewhere comes to where the grip wants it."""
    shared, had = strings(lies) & strings(there), time(lies, around, player)
    if stays(lies, there):
        yield ("keep",), 1
    elif shared:
        yield ("guide",), 1
        yield ("slide",), player.along(lies, there) / player.reach
        yield ("squeak",), any(player.instrument.is_wound(string) for string in shared)
    else:
        yield ("hop",), had == 0
        yield ("cross",), 1 / (0.5 + had) if had else 0
        yield ("leap",), player.apart(lies, there) / player.reach


def idle(finger: int, lies: Lies, end: Lies | None, grip: Grip, around: Around, player: Player) -> Amounts:
    """Yield what a finger that a grip does not use costs beside those it uses.

    One that has just played counts from where it played, whether or not it stays; one that rests, as it rests.
    """
    for other, there in grip.fingers.items():
        if end is not None:
            yield ("stretch",), stretch(finger, end, other, there, player)
        if time(lies, around, player) == 0:
            yield ("after", *relation(finger, lies, other, there)), 1
        elif end is not None:
            yield ("rest", *relation(finger, end, other, there)), 1
            yield from beside(finger, end, other, there)


def of_shift(position: int, had: float, grip: Grip, player: Player) -> Amounts:
    """Yield what a shift costs a hand that has so many quarter notes of time."""
    if position and grip.position and position != grip.position:
        by = player.instrument.fret_mm(grip.position) - player.instrument.fret_mm(position)
        yield ("shift",), 1
        yield ("shift far",), abs(by) / player.reach
        yield ("shift bound",), 1 / (1 + 4 * had)
        yield ("shift by", clipped(grip.position - position, -10, 10) + 10), 1


def stopped(opened: frozenset[int], grip: Grip) -> frozenset[int]:
    """Return which open strings that sound are struck anew or come under a finger."""
    under = {string for lies in grip.fingers.values() for string in strings(lies)}
    return opened & (under | {string for string, _, _ in grip.notes})


def of_open(opened: frozenset[int], grip: Grip, around: Around, player: Player) -> Amounts:
    """Yield what becomes of open strings that sound."""
    for string in stopped(opened, grip):
        pitch = player.instrument.pitch(string, 0)
        yield ("cut",), pitch in around.held
        yield ("ring",), pitch in around.ringing


def open_after(opened: frozenset[int], grip: Grip, around: Around, player: Player) -> frozenset[int]:
    """Return the open strings that sound once the grip is taken."""
    on = (opened - stopped(opened, grip)) | {string for string, fret, _ in grip.notes if not fret}
    return frozenset(string for string in on if player.instrument.pitch(string, 0) in around.sounding)
