"""Words and order of what there is to mend, and the summary of a run."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any

import pytest

from trainer.practice.flaws import WORDS, Fault, Flaw, by_priority
from trainer.practice.measures import NUMBERS, Answer, Direction, HeardChange, Measures, Summary, measures_of, summarise
from trainer.practice.record import Texture

CHANGE = HeardChange(index=0, before=0, after=1, expected=True, texture=Texture.BLOCK, struck_s=1.0)


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (Fault(Flaw.OPENED, string=4, finger=2, note=52, heard=50), "string 4 opened: finger 2 came up"),
        (Fault(Flaw.MOVED, string=4, finger=2, note=52, heard=51), "string 4 sounded D#3: finger 2 left its fret"),
        (Fault(Flaw.WRONG, string=3, note=55, heard=54), "string 3 sounded F#3, not G3"),
        (Fault(Flaw.WRONG, string=6, heard=40), "string 6 sounded E2 and belongs to no note here"),
        (Fault(Flaw.WRONG, heard=40), "E2 belongs to no note here"),
        (Fault(Flaw.OCTAVE, string=2, note=60, heard=72), "string 2 heard an octave off: C5 for C4"),
        (Fault(Flaw.OCTAVE, note=60, heard=72), "C5 heard for C4, an octave off"),
        (Fault(Flaw.MISSING, string=3, note=55), "string 3 missing"),
        (Fault(Flaw.MISSING, note=55), "G3 missing"),
        (Fault(Flaw.LOST, string=5, note=48), "string 5 gone before the others sounded"),
        (Fault(Flaw.CUT_OFF), "cut off before the change"),
        (Fault(Flaw.CUT_SHORT, string=1, note=64), "string 1 let go too early"),
        (Fault(Flaw.LATE, ms=120), "late by 120 ms"),
        (Fault(Flaw.ROLLED), "rolled, asked for block"),
        (Fault(Flaw.TOGETHER), "struck together, asked for a roll"),
        (Fault(Flaw.DROWNED), "melody drowned"),
        (Fault(Flaw.SLIDE, string=1, finger=3, note=67), "slide of finger 3 broke"),
    ],
)
def test_words(fault: Fault, words: str) -> None:
    assert fault.words == words


def test_every_flaw_has_words() -> None:
    assert set(WORDS) == set(Flaw)


def test_the_first_to_mend_comes_first() -> None:
    given = [Fault(flaw) for flaw in reversed(Flaw)]
    assert [fault.flaw for fault in by_priority(given)] == list(Flaw)


def test_of_two_alike_the_bass_comes_first() -> None:
    given = [Fault(Flaw.MISSING, string=2), Fault(Flaw.MISSING, string=5)]
    assert [fault.string for fault in by_priority(given)] == [5, 2]


def test_one_without_a_string_comes_last_and_equals_as_given() -> None:
    given = [Fault(Flaw.WRONG, string=string, heard=heard) for string, heard in ((None, 61), (1, 62), (6, 63), (1, 64))]
    assert [fault.heard for fault in by_priority(given)] == [63, 62, 64, 61]


def test_one_thing_to_mend() -> None:
    change = replace(CHANGE, faults=by_priority([Fault(Flaw.ROLLED), Fault(Flaw.MISSING, string=3)]))
    assert change.mend == "string 3 missing"
    assert CHANGE.mend is None


def test_summary_counts_what_is_known() -> None:
    changes = [
        replace(CHANGE, landed_s=2.0, change_ms=300.0, gap_ms=50.0, clean=True),
        replace(CHANGE, landed_s=4.0, change_ms=500.0, gap_ms=None, clean=None),
        replace(CHANGE, landed_s=6.0, change_ms=None, gap_ms=-10.0, clean=False),
        replace(CHANGE),
    ]
    assert summarise(changes) == Summary(changes=4, landed=3, clean=1, median_change_ms=400.0, median_gap_ms=20.0)


def test_summary_of_nothing() -> None:
    assert summarise([]) == Summary(0, 0, 0, None, None)


def test_all_is_kept_of_a_change_but_what_stands_with_the_attempt() -> None:
    change = replace(
        CHANGE,
        expected=False,
        change_ms=400.0,
        strike_ms=900.0,
        delay_ms=20.0,
        lateness_ms=-12.0,
        gap_ms=-3.0,
        gap_melody_ms=4.0,
        gap_bass_ms=-7.0,
        spread_ms=31.0,
        direction=Direction.TREBLE_FIRST,
        kept_down={1: Answer.YES, 2: Answer.NO, 3: Answer.NOT_HEARD},
        guides={4: Answer.YES},
        wrong=(54,),
        octaves=((2, 72),),
        missing=((6, 40),),
        balance=-2.5,
    )
    kept = measures_of(change, "guitar", "two periods")
    names = {one.name for one in fields(Measures)} - {"device", "calibration"}
    assert {name: getattr(kept, name) for name in names} == {name: getattr(change, name) for name in names}
    assert all(getattr(kept, name) is not None for name in NUMBERS)
    assert (kept.device, kept.calibration, kept.kept) == ("guitar", "two periods", (1, 2))
    # What stands with the attempt, and what follows from the drill.
    assert {one.name for one in fields(HeardChange)} - names == {
        *("index", "before", "after", "texture", "struck_s", "landed_s", "clean", "done", "faults")
    }


@pytest.mark.parametrize("name", NUMBERS)
@pytest.mark.parametrize("number", [math.nan, math.inf])
def test_a_measure_is_a_finite_number(name: str, number: float) -> None:
    given: dict[str, Any] = {name: number}
    with pytest.raises(ValueError, match="finite"):
        Measures("guitar", "", **given)
