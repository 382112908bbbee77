"""What a change costs, against amounts worked out by hand: the distances are those of a 650 mm guitar."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from tests.hand.search import pricing
from tests.hand.search.building import notes
from tests.hand.search.pricing import Key, Lies
from tests.hand.search.tallying import amounts_at, fingers_at, mask_of
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import midi
from trainer.hand.reach import HANDS
from trainer.hand.search.costs import Body, Detail, Moment, finger_cost, grip_cost, open_cost, shift_cost, since
from trainer.hand.search.grips import Wanted, grips
from trainer.hand.search.places import NO_PITCH


@dataclass(frozen=True, slots=True)
class Case:
    """One whole change of an adult's hand on the usual guitar."""

    before: dict[int, Lies]
    """Where its fingers lie: fret, low and high string."""
    struck: str
    """What is struck, by which fingers."""
    after: dict[int, Lies]
    """Where its fingers lie then."""
    amounts: dict[str, float]
    """All that it costs, the terms only."""
    position: tuple[int, int] = (1, 1)
    """Where the hand is, and where this grip has it; 0 where all is open."""
    over: float = 0.0
    """Quarter notes since the notes under the fingers were over."""
    held: str = ""
    """Notes written to sound on."""
    ringing: str = ""
    """Notes that should ring on."""
    open: frozenset[int] = frozenset()
    """Open strings that sound."""
    lays: dict[int, Lies] = field(default_factory=dict)
    """Where the grip itself has a finger that comes to lie otherwise."""
    entries: tuple[Key, ...] | None = None
    """The entries of tables that count, each once; None: not asked."""


CASES = {
    "a barre hinges: it gives string 1 to the open E and goes on holding string 2": Case(
        {1: (1, 2, 1)}, "E4@1.0", {1: (1, 2, 2)}, {}, (1, 0), held="C4", entries=()
    ),
    "it cannot clear a string in its middle: it comes off, and the G sharp it held is cut": Case(
        {1: (1, 3, 1)}, "B3@2.0", {}, {"cut": 1}, (1, 0), held="G#3"
    ),
    # Fret 3 lies 103.42 mm from the nut, fret 5 163.05: 0.596 of a reach of 100 mm. Position I to III is 66.94 mm.
    "a guide squeaks along a wound string, and takes the hand with it in no time": Case(
        {3: (3, 5, 5)},
        "D3@5.3",
        {3: (5, 5, 5)},
        {"low": 5, "stopped": 1, "guide": 1, "slide": 0.5963, "squeak": 1}
        | {"shift": 1, "shift far": 0.6694, "shift bound": 1},
        (1, 3),
        entries=(("use", 2, 5, 5), ("off by", 2, 2), ("after", 10, 27), ("shift by", 12)),
    ),
    # Strings at fret 1 lie 8.768 mm apart: (43 + 15 * 36.48 / 650) / 5.
    "a finger hops where there is no time": Case(
        {1: (1, 2, 2)},
        "F4@1.1",
        {1: (1, 1, 1)},
        {"low": 1, "stopped": 1, "hop": 1, "leap": 0.0877},
        entries=(("use", 0, 1, 1), ("off by", 0, 2), ("after", 0, 16)),
    ),
    "with a quarter note of time it crosses: 1 / (0.5 + 1)": Case(
        {1: (1, 2, 2)},
        "F4@1.1",
        {1: (1, 1, 1)},
        {"low": 1, "stopped": 1, "cross": 0.6667, "leap": 0.0877},
        over=1,
        entries=(("use", 0, 1, 1), ("off by", 0, 2), ("rest", 0, 16)),
    ),
    "a note is cut where its own string is struck at another fret, though its finger stays": Case(
        {1: (1, 1, 1)},
        "G4@1.3",
        {1: (1, 1, 1), 3: (3, 1, 1)},
        {"low": 3, "stopped": 1, "place": 1, "cut": 1},
        held="F4",
    ),
    "what should ring, and a finger that stays for it costs nothing": Case(
        {3: (3, 5, 5)}, "C4@2.1", {1: (1, 2, 2), 3: (3, 5, 5)}, {"low": 1, "stopped": 1, "place": 1}, ringing="C3"
    ),
    "what should ring stops where its finger is wanted": Case(
        {3: (3, 5, 5)},
        "F3@4.3",
        {3: (3, 4, 4)},
        # Strings at fret 3 lie 9.077 mm apart: (43 + 15 * 103.42 / 650) / 5.
        {"low": 3, "stopped": 1, "hop": 1, "leap": 0.0908, "ring": 1},
        ringing="C3",
    ),
    # Frets 1 and 5 lie 126.57 mm apart, comfortable for 1 and 4 are 100; position I to II is 34.43 mm.
    "a resting finger is stretched": Case(
        {1: (1, 1, 1)},
        "A4@1.4",
        {1: (1, 1, 1), 4: (5, 1, 1)},
        {"low": 5, "stopped": 1, "weak": 1, "place": 1, "stretch": 0.2657}
        | {"shift": 1, "shift far": 0.3443, "shift bound": 1},
        (1, 2),
    ),
    "a silent finger two frets off its own comes off": Case(
        {1: (1, 1, 1)},
        "A4@1.3",
        {3: (5, 1, 1)},
        {"low": 5, "stopped": 1, "place": 1, "shift": 1, "shift far": 0.6694, "shift bound": 1 / 3},
        (1, 3),
        over=0.5,
    ),
    "3 on the bass side of 2 at one fret is stacked against the hand's slant, and a fret off its own": Case(
        {},
        "B2@5.3+E3@4.2",
        {2: (2, 4, 4), 3: (2, 5, 5)},
        {"low": 4, "stopped": 2, "place": 2, "off": 1, "stack": 1},
    ),
    "2 on the bass side of 3 lies with the slant": Case(
        {},
        "B2@5.2+E3@4.3",
        {2: (2, 5, 5), 3: (2, 4, 4)},
        {"low": 4, "stopped": 2, "place": 2, "off": 1},
    ),
    "a finger that rests can be stacked against": Case(
        {2: (2, 4, 4)},
        "B2@5.3",
        {2: (2, 4, 4), 3: (2, 5, 5)},
        {"low": 2, "stopped": 1, "place": 1, "off": 1, "stack": 1},
        over=1,
        entries=(("use", 2, 2, 5), ("off by", 2, 1), ("rest", 6, 18)),
    ),
    "just after it has played it counts as what came before instead": Case(
        {2: (2, 4, 4)},
        "B2@5.3",
        {2: (2, 4, 4), 3: (2, 5, 5)},
        {"low": 2, "stopped": 1, "place": 1, "off": 1},
        entries=(("use", 2, 2, 5), ("off by", 2, 1), ("after", 6, 18)),
    ),
    "1 and 4 over three frets are crowded": Case(
        {},
        "F3@4.4+C4@2.1",
        {1: (1, 2, 2), 4: (3, 4, 4)},
        {"low": 4, "stopped": 2, "weak": 1, "place": 2, "off": 1, "crowd": 1},
        entries=(("use", 3, 3, 4), ("use", 0, 1, 2), ("off by", 0, 2), ("off by", 3, 1), ("chord", 3, 29)),
    ),
    "a full barre is four strings wider than two, and held as soon as it is laid": Case(
        {},
        "F2@6.1+C4@2.1+F4@1.1",
        {1: (1, 6, 1)},
        {"low": 3, "stopped": 3, "place": 1, "barre": 1, "width": 4, "hold barre": 1},
    ),
    "1 lies down over string 1 while it holds string 2": Case(
        {1: (1, 2, 2)},
        "F4@1.1",
        {1: (1, 2, 1)},
        {"low": 1, "stopped": 1, "keep": 1, "barre": 1, "widen": 1, "hold barre": 1},
        held="C4",
    ),
    "a barre of which one string is struck stays as it lies": Case(
        {1: (1, 2, 1)},
        "F4@1.1",
        {1: (1, 2, 1)},
        {"low": 1, "stopped": 1, "keep": 1},
        held="C4",
        lays={1: (1, 1, 1)},
    ),
    "3 lies across a string beside its own": Case(
        {},
        "B3@3.3+D#4@2.3",
        {3: (4, 3, 2)},
        {"low": 8, "stopped": 2, "place": 1, "barre": 1, "partial": 1, "hold barre": 1},
        (0, 2),
    ),
    "a barre a fret above a finger presses its string down: the finger comes off": Case(
        {1: (1, 3, 3)},
        "E3@4.2+C#4@2.2",
        {2: (2, 4, 2)},
        {"low": 4, "stopped": 2, "place": 1, "barre": 1, "width": 1, "partial": 2, "hold barre": 1, "cut": 1},
        held="G#3",
    ),
    "the further up the neck the further off; beyond fret 12 more so": Case(
        {}, "F5@1.4", {4: (13, 1, 1)}, {"low": 13, "stopped": 1, "high": 1, "weak": 1, "place": 1}, (0, 10)
    ),
    # Position I to V is 126.57 mm.
    "a shift has a quarter note of time: 1 / (1 + 4)": Case(
        {1: (1, 1, 1)},
        "A4@1.1",
        {1: (5, 1, 1)},
        {"low": 5, "stopped": 1, "guide": 1, "slide": 1.2657, "shift": 1, "shift far": 1.2657, "shift bound": 0.2},
        (1, 5),
        over=1,
    ),
    "an open string that sounds is stopped": Case(
        {}, "F4@1.1", {1: (1, 1, 1)}, {"low": 1, "stopped": 1, "place": 1, "cut": 1}, held="E4", open=frozenset({1})
    ),
    "a barre at rest comes off the strings that another finger takes": Case(
        {1: (1, 6, 1)}, "G4@1.3", {3: (3, 1, 1)}, {"low": 3, "stopped": 1, "place": 1}, over=1
    ),
    "one that still holds a note stays, and takes force": Case(
        {1: (1, 6, 1)},
        "G4@1.3",
        {1: (1, 6, 1), 3: (3, 1, 1)},
        {"low": 3, "stopped": 1, "place": 1, "hold barre": 1},
        held="F2",
    ),
    "four quarter notes after its note a finger has come off": Case(
        {2: (2, 4, 4)}, "C4@2.1", {1: (1, 2, 2)}, {"low": 1, "stopped": 1, "place": 1}, over=4
    ),
}
"""Changes and what each amounts to, the reason in words."""


def _change(case: Case) -> tuple[dict[Key, float], dict[int, Lies]]:
    """Return all that a change costs, and where the fingers lie then."""
    instrument, hand = Instrument(), HANDS["adult"]
    body, struck = Body.of(instrument, hand), notes(case.struck)
    under = [instrument.pitch(s, lies[0]) for lies in case.before.values() for s in pricing.strings(lies)]
    held, ringing = ([midi(name) for name in names.split()] for names in (case.held, case.ringing))
    ways = grips(tuple(map(Wanted.of, struck)), frozenset({*under, *(note.midi for note in struck)}), instrument, hand)
    lays = {note.finger: case.after[note.finger] for note in struck if note.finger} | case.lays
    chosen = next(
        row
        for row in range(len(ways))
        if fingers_at(ways.place[row], body.table) == lays and ways.position[row] == case.position[1]
    )
    over = np.full(NO_PITCH + 1, pricing.LATE)
    over[under] = case.over
    flags = np.zeros((3, NO_PITCH + 1), dtype=np.bool_)
    for row, pitches in zip(flags, (held, ringing, [*held, *ringing]), strict=True):
        row[pitches] = True
    moment = Moment(ways.only(chosen), over, flags[0], flags[1], flags[2], np.zeros(1))
    detail, after = Detail(), np.zeros(4, dtype=np.int64)
    grip_cost(detail, moment, body)
    places = [0 if lies is None else body.table.number[lies] for lies in map(case.before.get, (1, 2, 3, 4))]
    for finger, place in enumerate(places):
        after[finger] = finger_cost(detail, finger, np.array([place]), moment, body)[0, 0]
    time = min(since(np.array([place]), moment, body.table)[0] for place in places)
    shift_cost(detail, np.array([case.position[0]]), np.array([time]), moment, body)
    open_cost(detail, np.array([mask_of(case.open)]), moment, body)
    return amounts_at(detail, 0, 0, (1, 1)), fingers_at(after, body.table)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_a_change_amounts_to_what_can_be_counted_by_hand(case: Case) -> None:
    amounts, after = _change(case)
    assert after == case.after
    assert {key[0]: amount for key, amount in amounts.items() if len(key) == 1} == pytest.approx(case.amounts, abs=5e-5)
    if case.entries is not None:
        assert {key: amount for key, amount in amounts.items() if len(key) > 1} == dict.fromkeys(case.entries, 1)
