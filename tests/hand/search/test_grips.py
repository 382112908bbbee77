"""Every way a hand can take a few notes is among the grips: against trying every string and finger."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, permutations, product
from typing import TypeAlias

import pytest

from tests.hand.search.pricing import Lies, Player
from tests.hand.search.pricing import strings as strings_of
from tests.hand.search.tallying import strings_of as strings_in
from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import midi
from trainer.fretboard.shape import Shape, Stop
from trainer.hand.frame import between
from trainer.hand.hold import trouble
from trainer.hand.reach import HANDS, Hand
from trainer.hand.search.grips import Wanted, grips
from trainer.hand.search.places import Places, places

GUITAR = Instrument()


def _by_trying(pitches: list[int], hand: Hand) -> set[tuple[tuple[int, int], ...]]:
    """Return (string, finger) of every way to take the pitches that makes a shape this hand can hold."""
    ways = set()
    for strings in product(range(1, 7), repeat=len(pitches)):
        frets = [pitch - GUITAR.pitch(string, 0) for pitch, string in zip(pitches, strings, strict=True)]
        if len(set(strings)) < len(strings) or not all(0 <= fret <= GUITAR.top_fret for fret in frets):
            continue
        for fingers in product(*((1, 2, 3, 4) if fret else (0,) for fret in frets)):
            stops: list[Stop | None] = [None] * 6
            for string, fret, finger in zip(strings, frets, fingers, strict=True):
                stops[6 - string] = Stop(fret, finger or None)
            try:
                shape = Shape(tuple(stops))
            except ChangeoverError:
                continue
            wide = any(barre.finger > 1 and barre.width > 3 for barre in shape.barres)
            if not wide and not trouble(shape, GUITAR, hand):
                ways.add(tuple(zip(strings, fingers, strict=True)))
    return ways


@pytest.mark.parametrize("names", ["A3", "E3 C4", "C3 E4", "F2 C4 F4", "C3 G3 E4", "G3 C4 E4", "A4 C5 E5"])
@pytest.mark.parametrize("hand", ["adult", "child"])
def test_grips_are_all_that_a_hand_can_hold(names: str, hand: str) -> None:
    pitches = [midi(name) for name in names.split()]
    wanted = tuple(Wanted(pitch, None, None, None, False) for pitch in pitches)
    found = grips(wanted, frozenset(), GUITAR, HANDS[hand])
    ours = {
        tuple(zip(map(int, strings), map(int, fingers), strict=True))
        for strings, fingers in zip(found.strings, found.fingers, strict=True)
    }
    tried = _by_trying(pitches, HANDS[hand])
    assert len(tried) > 3
    assert ours == tried


def test_distances_between_places_are_those_of_the_fretboard() -> None:
    table = places(GUITAR)
    shape = Shape((Stop(3, 3), None, Stop(2, 2), None, Stop(1, 1), Stop(1, 1)))
    for one, other in combinations(shape.placings.values(), 2):
        a, b = (table.number[p.fret, p.strings[-1], p.strings[0]] for p in (one, other))
        assert table.apart[a, b] == pytest.approx(between(one, other, GUITAR))


@dataclass(frozen=True, slots=True)
class Asked:
    """Notes to take together, with what may lie near them."""

    notes: str
    """Names, or `NAME@STRING/FRET.FINGER` with whatever of it is set; `!` behind: not open."""
    near: str = ""
    """Notes for which a barre may lie ready; those struck are always near."""
    hand: str = "adult"
    barre: tuple[int, int, int | None, int | None] | None = None
    """Finger, fret, low and high string of a barre that is asked for."""
    instrument: Instrument = GUITAR

    @property
    def wanted(self) -> tuple[Wanted, ...]:
        """The notes as the search has them."""
        return tuple(_wanted(word, self.barre) for word in self.notes.split())

    @property
    def pitches(self) -> frozenset[int]:
        """Pitches that are near."""
        return frozenset(note.midi for note in self.wanted) | frozenset(map(midi, self.near.split()))


def _wanted(word: str, barre: tuple[int, int, int | None, int | None] | None) -> Wanted:
    head, _, finger = word.rstrip("!").partition(".")
    head, _, fret = head.partition("/")
    name, _, string = head.partition("@")
    own, at, by = (int(part) if part else None for part in (string, fret, finger))
    return Wanted(midi(name), own, at, by, word.endswith("!"), barre)


Held: TypeAlias = tuple[tuple[tuple[int, int, int], ...], tuple[tuple[int, Lies], ...], int]
"""String, fret and finger of each note; where each finger lies; the position."""


def _one_by_one(asked: Asked) -> list[Held]:
    """Return every grip there is, by trying every string, finger, run of strings and position."""
    guitar, hand = asked.instrument, HANDS[asked.hand]
    found = []
    for strings in permutations(range(1, guitar.strings + 1), len(asked.wanted)):
        frets = [note.midi - guitar.pitch(string, 0) for note, string in zip(asked.wanted, strings, strict=True)]
        for fingers in product(range(5), repeat=len(strings)):
            notes = tuple(zip(strings, frets, fingers, strict=True))
            if all(_has(note, *at, guitar) for note, at in zip(asked.wanted, notes, strict=True)):
                ways = _ways_to_lie(notes, asked)
                found += [(notes, lies, at) for lies in ways for at in _positions(dict(lies), guitar, hand)]
    return found


def _has(note: Wanted, string: int, fret: int, finger: int, guitar: Instrument) -> bool:
    """Tell whether a note can be had there, as it is asked for."""
    pins = ((note.string, string), (note.fret, fret), (note.finger, finger))
    as_set = all(pin in {None, value} for pin, value in pins)
    return as_set and 0 <= fret <= guitar.top_fret and (finger > 0) == (fret > 0) and not (note.stopped and fret == 0)


def _ways_to_lie(notes: tuple[tuple[int, int, int], ...], asked: Asked) -> list[tuple[tuple[int, Lies], ...]]:
    """Return every way for the fingers of these notes to lie."""
    used = sorted({finger for _, _, finger in notes if finger})
    runs = [_runs(finger, notes, asked) for finger in used]
    return [tuple(zip(used, lies, strict=True)) for lies in product(*runs) if _go_together(used, lies, asked)]


def _runs(finger: int, notes: tuple[tuple[int, int, int], ...], asked: Asked) -> list[Lies]:
    """Return every run of strings that a finger can lie across for its notes: it ends at one of them or a near one."""
    own = {string for string, _, by in notes if by == finger}
    frets = {fret for _, fret, by in notes if by == finger}
    if len(frets) > 1:
        return []
    (fret,), guitar = frets, asked.instrument
    everywhere = range(1, guitar.strings + 1)
    ends = own | {string for string in everywhere if guitar.pitch(string, fret) in asked.pitches}
    return [
        (fret, low, high)
        for high in everywhere
        for low in everywhere
        if high <= min(own)
        and low >= max(own)
        and {high, low} <= ends
        and (finger == 1 or low - high <= 2)
        and not any(high <= string <= low and other < fret for string, other, _ in notes)
        and _as_barre_asked(finger, (fret, low, high), asked)
    ]


def _as_barre_asked(finger: int, lies: Lies, asked: Asked) -> bool:
    if asked.barre is None or asked.barre[0] != finger:
        return True
    _, fret, low, high = asked.barre
    return lies[0] == fret and (low is None or lies[1] >= low) and (high is None or lies[2] <= high)


def _go_together(used: list[int], lies: tuple[Lies, ...], asked: Asked) -> bool:
    """Tell whether no finger is nearer the nut than a lower-numbered one and each two are within reach."""
    player = Player(asked.instrument, HANDS[asked.hand])
    return all(
        one[0] <= other[0] and player.apart(one, other) <= player.hand.limit(finger, upper)
        for (finger, one), (upper, other) in combinations(zip(used, lies, strict=True), 2)
    )


def _positions(lies: dict[int, Lies], guitar: Instrument, hand: Hand) -> list[int]:
    """Return where the hand can be: no finger further than two frets off its own, all hardly more than least."""
    if not lies:
        return [0]
    off = {
        at: [abs(fret - (at + finger - 1)) for finger, (fret, _, _) in lies.items()]
        for at in range(1, guitar.top_fret + 1)
    }
    near = {at: sum(each) for at, each in off.items() if max(each) <= 2}
    least = min(near.values(), default=0)
    own = min(fret - (finger - 1) for finger, (fret, _, _) in lies.items())
    return [at for at, each in near.items() if each <= least + 1] or [max(1, own)]


GRIPS = {
    "one note": Asked("A3"),
    "open or not": Asked("E4"),
    "not open": Asked("E4!"),
    "by a finger": Asked("E4.2"),
    "on a string": Asked("G4@2"),
    "at a fret": Asked("C4/5"),
    "the top of the neck": Asked("B5"),
    "beyond it": Asked("C6"),
    "below the lowest": Asked("D#2"),
    "two on one string or apart": Asked("F4 G4"),
    "a barre's two": Asked("C4@2 F4@1"),
    "a barre laid ahead": Asked("C4@2.1", "F4 G#3"),
    "one laid both ways": Asked("C4@2", "F4 F2 C3"),
    "one over an open string": Asked("C4@2 E4@1", "F4"),
    "one over an open string on its bass side": Asked("B3@2 F4@1", "C4"),
    "one beside what is struck lower": Asked("D4@2 F4@1", "F#4 A3"),
    "a full barre asked for": Asked("F2@6 C3@5 F4@1", "C4", barre=(1, 1, 6, 1)),
    "a barre asked for up to a string": Asked("G#3@3 C4@2", "F4 D#3", barre=(1, 1, None, 2)),
    "one from a string": Asked("G#3@3 C4@2", "F4 D#3", barre=(1, 1, 4, None)),
    "one at another fret": Asked("G#3@3 C4@2", "F4 D#3", barre=(1, 2, None, None)),
    "one by another finger": Asked("G#3@3 C4@2", "F4 D#3", barre=(2, 1, None, 2)),
    "four strings under 3": Asked("E3@4 A3@3.3 C#4@2.3", "D#3 F#4 E4"),
    "five strings under 3": Asked("A3@3.3", "E3 B2 C#4 F#4"),
    "wide": Asked("F3@4 A4@1"),
    "wide for a child": Asked("F3@4 A4@1", hand="child"),
    "wider than it can be": Asked("G#2@6 D5@1", hand="child"),
    "beyond any frame": Asked("A4@1.1 A#4@2.2", instrument=Instrument(scale_mm=330)),
    "three": Asked("C3 E3 C4"),
    "seven strings and a capo": Asked(
        "C#3 A3", "E4", "small", instrument=Instrument.tuned("B1 E2 A2 D3 G3 B3 E4", capo=4)
    ),
}
NONE = {"beyond it", "below the lowest", "wider than it can be"}
"""Where there is no grip at all."""


def _lies(place: int, table: Places) -> Lies:
    return int(table.fret[place]), int(table.low[place]), int(table.high[place])


@pytest.mark.parametrize("asked", GRIPS.values(), ids=GRIPS)
def test_grips_are_those_found_one_by_one(asked: Asked) -> None:
    table = places(asked.instrument)
    ways = grips(asked.wanted, asked.pitches, asked.instrument, HANDS[asked.hand])
    found = [
        (
            tuple(
                tuple(map(int, note))
                for note in zip(ways.strings[row], ways.frets[row], ways.fingers[row], strict=True)
            ),
            tuple((finger, _lies(place, table)) for finger, place in enumerate(ways.place[row], start=1) if place),
            int(ways.position[row]),
        )
        for row in range(len(ways))
    ]
    assert sorted(found) == sorted(_one_by_one(asked))
    assert bool(found) is (asked not in {GRIPS[name] for name in NONE})


@pytest.mark.parametrize("asked", GRIPS.values(), ids=GRIPS)
def test_masks_say_which_strings(asked: Asked) -> None:
    ways = grips(asked.wanted, asked.pitches, asked.instrument, HANDS[asked.hand])
    table = places(asked.instrument)
    for row in range(len(ways)):
        struck = list(zip(ways.strings[row].tolist(), ways.frets[row].tolist(), strict=True))
        under = {string for place in ways.place[row] if place for string in strings_of(_lies(place, table))}
        assert strings_in(ways.struck[row]) == {string for string, _ in struck}
        assert strings_in(ways.opened[row]) == {string for string, fret in struck if not fret}
        assert strings_in(ways.covered[row]) == under
        assert ways.below.shape[1] == ways.level.shape[1] == asked.instrument.top_fret + 1
        for level in range(asked.instrument.top_fret + 1):
            assert strings_in(ways.below[row, level]) == {string for string, fret in struck if fret < level}
            assert strings_in(ways.level[row, level]) == {string for string, fret in struck if fret == level}


def test_a_barre_may_be_laid_ahead_for_a_note_to_come_at_its_fret() -> None:
    table = places(GUITAR)
    wanted = (Wanted(midi("C4"), 2, None, 1, False),)
    alone = grips(wanted, frozenset({midi("C4")}), GUITAR, Hand())
    ahead = grips(wanted, frozenset({midi("C4"), midi("F4")}), GUITAR, Hand())
    assert {int(table.high[place]) for place in alone.place[:, 0]} == {2}
    assert {int(table.high[place]) for place in ahead.place[:, 0]} == {1, 2}


def test_pins_leave_only_what_agrees_with_them() -> None:
    wanted = (Wanted(midi("E4"), None, None, None, True), Wanted(midi("C4"), 3, 5, 2, False))
    found = grips(wanted, frozenset(), GUITAR, Hand())
    assert set(map(int, found.strings[:, 1])) == {3}
    assert set(map(int, found.fingers[:, 1])) == {2}
    assert 0 not in found.fingers[:, 0]
