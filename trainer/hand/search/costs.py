"""What a change costs, term by term, for many hands and many grips at once.

A hand (state) is where its four fingers lie, sounding or resting, its position, and which open strings sound. A grip
is a way to take the next notes. The cost of going from one to the other is a sum of parts, each of which depends on
the grip and on one thing of the hand only: one finger's place, its position with the time it has, or its open strings.
So each part is a small matrix, and the whole a sum of rows of small matrices.

Each part is written once, against a `Tally`: one kind of tally adds up cost, the other keeps every amount apart.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import Hand
from trainer.hand.search.grips import FRAME_OFF, STAY, Grips
from trainer.hand.search.places import AIR, CODES, STRING_STEPS, Bools, Floats, Ints, Places, limits, places
from trainer.hand.search.weights import FRETS, STRINGS, Weights

LONG = 4.0
"""Quarter notes beyond which more time makes nothing easier, and a silent finger no longer counts as staying."""


class Tally(Protocol):
    """Takes the amounts of a part."""

    def term(self, name: str, amount: Floats | Bools | Ints) -> None:
        """Take so much of a term."""

    def table(self, name: str, index: Ints, counts: Bools | Ints) -> None:
        """Take entries of a table, each so often."""


@dataclass(slots=True)
class Cost:
    """Adds up cost."""

    weights: Weights
    """What a unit of each term costs."""
    total: Floats = field(default_factory=lambda: np.zeros(()))
    """The sum so far."""

    def term(self, name: str, amount: Floats | Bools | Ints) -> None:
        """Add weight times amount."""
        weight = self.weights.terms[name]
        if weight:
            self.total = self.total + weight * amount

    def table(self, name: str, index: Ints, counts: Bools | Ints) -> None:
        """Add the entries, each as often as it counts."""
        if name in self.weights.filled:
            self.total = self.total + self.weights.tables[name].ravel()[index] * counts


@dataclass(slots=True)
class Detail:
    """Keeps every amount apart."""

    terms: list[tuple[str, Floats]] = field(default_factory=list)
    """Each term that was taken with its amount."""
    tables: list[tuple[str, Ints, Floats]] = field(default_factory=list)
    """Each table with the places in it, flattened, and how often each counts."""

    def term(self, name: str, amount: Floats | Bools | Ints) -> None:
        """Keep the amount."""
        self.terms.append((name, np.asarray(amount, dtype=np.float64)))

    def table(self, name: str, index: Ints, counts: Bools | Ints) -> None:
        """Keep the entries."""
        self.tables.append((name, index, np.asarray(counts, dtype=np.float64)))


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment of a passage as the costs need it; pitch-indexed arrays have room for `NO_PITCH`."""

    grips: Grips
    """Every way to take its notes."""
    since: Floats
    """By pitch: quarter notes since the last note of this pitch was over, 0 while it sounds, at most `LONG`."""
    held: Bools
    """By pitch: written to sound on through this moment."""
    ring: Bools
    """By pitch: should be let ring through this moment."""
    sounds: Bools
    """By pitch: sounds or rings once this moment's notes are struck."""
    extra: Floats
    """Further cost of each grip; 0 but where a school or a margin adds one."""


@dataclass(frozen=True, slots=True)
class Body:
    """Instrument and hand as the costs need them."""

    table: Places
    """Every place a finger can lie at."""
    comfortable: Floats
    """Comfortable reach along the neck in mm, finger 0 to 3 by finger 0 to 3."""
    largest: Floats
    """Largest reach in a straight line in mm, likewise."""
    reach_mm: float
    """The comfortable reach of fingers 1 to 4: the unit of distance."""
    opens: Ints
    """Pitch of each open string, string 1 first."""
    wound: int
    """Mask of the strings that squeak."""
    ones: Ints
    """How many strings a mask has."""

    @classmethod
    def of(cls, instrument: Instrument, hand: Hand) -> Body:
        """Return what the costs need of an instrument and a hand."""
        comfortable, largest = limits(hand)
        strings = range(1, instrument.strings + 1)
        return cls(
            places(instrument),
            comfortable,
            largest,
            hand.comfort(1, 4),
            np.array([instrument.pitch(string, 0) for string in strings]),
            sum(1 << (string - 1) for string in strings if instrument.is_wound(string)),
            np.array([mask.bit_count() for mask in range(1 << instrument.strings)]),
        )


def grip_cost(tally: Tally, moment: Moment, body: Body) -> None:
    """Take what each grip costs by itself: arrays of one entry a grip."""
    grips, table = moment.grips, body.table
    stopped = grips.frets > 0
    tally.term("low", grips.frets.sum(axis=1))
    tally.term("stopped", stopped.sum(axis=1))
    tally.term("high", np.maximum(grips.frets - 12, 0).sum(axis=1))
    tally.term("weak", (grips.fingers == 4).sum(axis=1))
    index = (np.maximum(grips.fingers - 1, 0) * (FRETS + 1) + np.minimum(grips.frets, FRETS)) * (STRINGS + 1)
    for note in range(grips.frets.shape[1]):
        tally.table("use", index[:, note] + grips.strings[:, note], stopped[:, note])
    for finger in range(4):
        place = grips.place[:, finger]
        used = place != AIR
        off = np.where(used, table.fret[place] - finger - grips.position, 0)
        tally.term("off", np.abs(off))
        tally.table("off by", finger * 5 + np.clip(off, -2, 2) + 2, used)
        flat = table.low[place] > table.high[place]
        tally.term("hold barre", flat)
        if finger:
            tally.term("partial", table.low[place] - table.high[place])
        for other in range(finger + 1, 4):
            _pair(
                tally, "chord", finger, other, place, grips.place[:, other], used & (grips.place[:, other] != AIR), body
            )


def _pair(tally: Tally, name: str, finger: int, other: int, place: Ints, place2: Ints, both: Bools, body: Body) -> None:
    """Take what two fingers at two places cost each other where `both` lie."""
    code = body.table.code[place, place2]
    frets, strings = code // STRING_STEPS - 3, code % STRING_STEPS - 2
    sign = 1 if finger < other else -1
    beyond = np.maximum(body.table.along[place, place2] - body.comfortable[finger, other], 0) / body.reach_mm
    tally.term("stretch", beyond * both)
    tally.term("stack", both & (frets == 0) & (sign * strings > 0))
    tally.term("crowd", both & (sign * frets > 0) & (sign * frets < abs(finger - other)))
    tally.table(name, (finger * 4 + other) * CODES + code, both)


def since(place: Ints, moment: Moment, table: Places) -> Floats:
    """Return the time a finger at each place has had since its note was over."""
    return np.asarray(moment.since[table.pitch[place]].min(axis=-1), dtype=np.float64)


def _mask(flags: Bools, place: Ints, table: Places) -> Ints:
    """Return the mask of strings of each place whose pitch is flagged."""
    bits = 1 << np.arange(table.pitch.shape[1])
    return np.asarray((flags[table.pitch[place]] * bits).sum(axis=-1), dtype=np.int64)


def finger_cost(tally: Tally, finger: int, start: Ints, moment: Moment, body: Body) -> Ints:
    """Take what it costs finger 0 to 3 to go on from each place of `start` with each grip: (starts, grips).

    Returns the place it comes to lie at: where the grip wants it, or where it lay if it can stay there.
    """
    grips, table = moment.grips, body.table
    old, new = start[:, None], grips.place[None, :, finger]
    used = np.broadcast_to(new != AIR, (len(start), len(grips)))
    lain = old != AIR
    cover, fret = table.cover[old], table.fret[old]
    lower = grips.below[:, table.fret[start]].T & cover
    overlap = (cover & table.cover[new]) != 0
    kept = used & overlap & (fret == table.fret[new])
    stays = kept & ((table.cover[new] & ~cover) == 0) & (lower == 0)
    end = np.where(stays, old, new)
    held, ring = _mask(moment.held, start, table)[:, None], _mask(moment.ring, start, table)[:, None]
    left = _hinged(old, lower, table)
    idle = _rests(finger, start, left, moment, body, (held | ring) != 0)
    end = np.where(used, end, np.where(idle, left, AIR))
    lost = cover & ~(table.cover[end] * (table.fret[end] == fret))
    lost |= cover & grips.struck & ~grips.level[:, table.fret[start]].T
    tally.term("cut", body.ones[held & lost])
    tally.term("ring", body.ones[ring & lost])
    time = since(start, moment, table)[:, None]
    moved, across = used & lain & ~kept, used & lain & ~overlap
    along = moved & overlap
    tally.term("place", used & ~lain)
    tally.term("keep", kept)
    tally.term("guide", along)
    tally.term("slide", along * table.along[old, new] / body.reach_mm)
    tally.term("squeak", along & ((cover & table.cover[new] & body.wound) != 0))
    tally.term("hop", across & (time == 0))
    tally.term("cross", across * np.where(time > 0, 1 / (0.5 + time), 0.0))
    tally.term("leap", across * table.apart[old, new] / body.reach_mm)
    flat = table.low[end] > table.high[end]
    laid = flat & ((table.cover[end] & ~np.where(table.fret[end] == fret, cover, 0)) != 0)
    tally.term("barre", laid)
    tally.term("widen", laid & kept)
    tally.term("width", laid * np.maximum(table.low[end] - table.high[end] - 1, 0))
    tally.term("hold barre", flat & ~used)
    _beside(tally, finger, start, used, end, time, moment, body)
    return np.asarray(end, dtype=np.int64)


def _rests(finger: int, start: Ints, left: Ints, moment: Moment, body: Body, sounding: Bools) -> Bools:
    """Tell where a finger that a grip does not use can stay where it lies; `left` is what it still covers then.

    It stays within the frame (a sounding one may be stretched out of it) and out of the other fingers' way, a silent
    barre off the strings they take, none under a barre across a string that is not struck anew, and no longer than
    `LONG` after its note was over.
    """
    grips, table = moment.grips, body.table
    old = start[:, None]
    fret = table.fret[old]
    off = np.abs(fret - finger - grips.position)
    flat = (table.low[old] > table.high[old]) & ~sounding
    recent = since(start, moment, table)[:, None] < LONG
    stays = (old != AIR) & recent & ((grips.position == STAY) | (off <= np.where(sounding, FRAME_OFF, 1)))
    for other in range(4):
        if other == finger:
            continue
        place = grips.place[None, :, other]
        there = place != AIR
        ahead = table.fret[place] - fret
        crossed = ahead > 0 if other < finger else ahead < 0
        shared = table.cover[old] & table.cover[place]
        collide = (ahead == 0) & (shared != 0)
        over = flat & (shared != 0)
        across = table.low[place] > table.high[place]
        over |= across & (ahead > 0) & ((shared & ~grips.struck) != 0)
        stays &= ~(there & (crossed | collide | over | (table.apart[left, place] > body.largest[finger, other])))
    return np.asarray(stays)


def _hinged(old: Ints, lower: Ints, table: Places) -> Ints:
    """Return where a resting finger lies once it has cleared the strings of `lower`, which are struck nearer the nut.

    A barre gives up strings at its ends; a finger that would have to clear a string in its middle comes off.
    """
    runs = len(table.cleared)
    run, fret = (old - 1) % runs, table.fret[old]
    left = table.cleared[run, lower]
    return np.asarray(np.where((old == AIR) | (left < 0), AIR, 1 + (fret - 1) * runs + left), dtype=np.int64)


def _beside(
    tally: Tally, finger: int, start: Ints, used: Bools, end: Ints, time: Floats, moment: Moment, body: Body
) -> None:
    """Take how the fingers of the grip lie beside this one: where it rests, or from where it just played."""
    grips, code = moment.grips, body.table.code
    old, just = start[:, None], (time == 0) & (start[:, None] != AIR)
    own = (finger * 4 + finger) * CODES + code[old, grips.place[None, :, finger]]
    tally.table("after", own, used & just)
    tally.table("rest", own, used & ~just & (old != AIR))
    idle = ~used & (old != AIR)
    rests = idle & (end != AIR)
    for other in range(4):
        if other == finger:
            continue
        place = grips.place[None, :, other]
        there = place != AIR
        # A finger that has just played is there for its relation to the next, whether or not it can stay.
        index = (finger * 4 + other) * CODES + code[old, place]
        tally.table("after", index, idle & just & there)
        _pair(tally, "rest", finger, other, end, np.broadcast_to(place, end.shape), rests & ~just & there, body)
        beyond = np.maximum(body.table.along[old, place] - body.comfortable[finger, other], 0) / body.reach_mm
        tally.term("stretch", beyond * (rests & just & there))


def shift_cost(tally: Tally, position: Ints, time: Floats, moment: Moment, body: Body) -> Ints:
    """Take what a shift costs from each position with so much time: (starts, grips); return where it comes to."""
    grips, table = moment.grips, body.table
    old, new = position[:, None], grips.position[None, :]
    shifted = (old != STAY) & (new != STAY) & (old != new)
    tally.term("shift", shifted)
    tally.term("shift far", shifted * np.abs(table.fret_mm[new] - table.fret_mm[old]) / body.reach_mm)
    tally.term("shift bound", shifted / (1 + 4 * time[:, None]))
    tally.table("shift by", np.clip(new - old, -10, 10) + 10, shifted)
    return np.asarray(np.where(new == STAY, old, new), dtype=np.int64)


def open_cost(tally: Tally, opened: Ints, moment: Moment, body: Body) -> Ints:
    """Take what becomes of open strings that sound: (masks, grips); return those that sound afterwards."""
    grips = moment.grips
    old = opened[:, None]
    bits = 1 << np.arange(len(body.opens))
    held = int((moment.held[body.opens] * bits).sum())
    ring = int((moment.ring[body.opens] * bits).sum())
    taken = grips.struck | grips.covered
    tally.term("cut", body.ones[old & held & taken])
    tally.term("ring", body.ones[old & ring & taken])
    on = int((moment.sounds[body.opens] * bits).sum())
    return np.asarray(((old & ~taken) | grips.opened) & on, dtype=np.int64)
