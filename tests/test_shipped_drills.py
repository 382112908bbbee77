"""The drills that ship: each is playable, says what it is for, and trains what it claims to.

The claims are checked against the change analysis; what makes a drill gentle or fit for beginners is common
practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from trainer.files.drill_text import print_drill
from trainer.files.drills import load, parse
from trainer.fretboard.instrument import STANDARD
from trainer.fretboard.plucked import BASS, INNER, MELODY
from trainer.hand.change import Action, BarreAction, Change
from trainer.hand.frame import contracted
from trainer.hand.reach import Hand
from trainer.practice.drill import SKILLS, Drill, Order, Step
from trainer.practice.passage import passage
from trainer.practice.record import Texture

FOLDER = Path(__file__).parents[1] / "drills"
NAMES = sorted(path.stem for path in FOLDER.glob("*.toml"))
ADULT = Hand()


@cache
def shipped(name: str) -> Drill:
    drill, problems = load(FOLDER / f"{name}.toml")
    assert problems == (), f"{name} has neither an error nor a warning for an adult hand"
    assert drill is not None
    return drill


@cache
def changes(name: str) -> tuple[Change, ...]:
    return tuple(passing.change for passing in passage(shipped(name), ADULT))


def training(skill: str) -> list[str]:
    return [name for name in NAMES if skill in shipped(name).trains]


# What each claim means


def some_finger(action: Action) -> Callable[[Drill, tuple[Change, ...]], bool]:
    return lambda _, found: any(change.doing(action) for change in found)


def barres(drill: Drill, *, full: bool) -> bool:
    shapes = [step.shape for step in drill.steps]
    return any(shape.is_full(barre) is full for shape in shapes for barre in shape.barres)


def shifts(found: tuple[Change, ...], fewest: int) -> list[Change]:
    return [change for change in found if change.shift is not None and abs(change.shift.frets) >= fewest]


def voice_beats(step: Step) -> dict[str, set[object]]:
    plucked = step.plucked
    beats: dict[str, set[object]] = {BASS: set(), INNER: set(), MELODY: set()}
    for stroke in plucked.strokes:
        for string in stroke.strings:
            beats[plucked.voice(string)].add(stroke.beat)
    return beats


def three_voices_apart(step: Step) -> bool:
    bass, inner, melody = voice_beats(step).values()
    return bool(bass and inner and melody) and not (bass & inner or inner & melody or bass & melody)


def same_passage_fingered_twice(drill: Drill) -> bool:
    if len(drill.segments) != 2:
        return False
    first, second = (drill.steps[segment.first - 1 : segment.last] for segment in drill.segments)
    frets = [[[stop and stop.fret for stop in step.shape.stops] for step in steps] for steps in (first, second)]
    return frets[0] == frets[1] and [s.shape for s in first] != [s.shape for s in second]


def one_moves_while_two_hold(change: Change) -> bool:
    moving = [move for move in change.moves if move.action not in {Action.KEPT, Action.FREE}]
    return len(change.doing(Action.KEPT)) >= 2 and len(moving) == 1


def gentle(drill: Drill, found: tuple[Change, ...]) -> bool:
    """No barre, no stretch, at most two frets of shift, slow."""
    barred = any(step.shape.barres for step in drill.steps)
    reaching = any(move.reach for change in found for move in change.moves)
    return not barred and not reaching and not shifts(found, 3) and drill.tempo <= 50


def for_beginners(drill: Drill, found: tuple[Change, ...]) -> bool:
    """No barre, no stretch, frets 1 to 3, three fingers, no shift of more than a fret."""
    fingers = {finger for step in drill.steps for finger in step.shape.placings}
    low = all(fret <= 3 for step in drill.steps for fret in step.shape.frets)
    barred = any(step.shape.barres for step in drill.steps)
    reaching = any(move.reach for change in found for move in change.moves)
    return low and fingers <= {1, 2, 3} and not barred and not reaching and not shifts(found, 2)


CLAIMS: dict[str, Callable[[Drill, tuple[Change, ...]], bool]] = {
    "kept fingers": some_finger(Action.KEPT),
    "guide": some_finger(Action.GUIDE),
    "cross": some_finger(Action.CROSS),
    "full barre": lambda drill, _: barres(drill, full=True),
    "half barre": lambda drill, _: barres(drill, full=False),
    "hinge": lambda _, found: any(BarreAction.HINGED in barre.actions for change in found for barre in change.barres),
    "shift": lambda _, found: bool(shifts(found, 2)),
    "open string": lambda _, found: any(change.buys_time for change in shifts(found, 2)),
    "extension": lambda _, found: any(move.reach for change in found for move in change.moves),
    "contraction": lambda drill, _: any(contracted(step.shape) for step in drill.steps),
    "tuning": lambda drill, _: drill.instrument.tuning_names != STANDARD,
    "voices": lambda drill, _: all(three_voices_apart(step) for step in drill.steps),
    "fingering": lambda drill, _: same_passage_fingered_twice(drill),
    "independence": lambda _, found: sum(map(one_moves_while_two_hold, found)) * 2 >= len(found),
    "warm-up": gentle,
    "first year": for_beginners,
}


def test_every_skill_has_a_meaning_and_a_drill() -> None:
    assert CLAIMS.keys() == SKILLS.keys()
    assert [skill for skill in SKILLS if not training(skill)] == []


@pytest.mark.parametrize(("name", "skill"), [(name, skill) for name in NAMES for skill in shipped(name).trains])
def test_a_drill_trains_what_it_claims(name: str, skill: str) -> None:
    assert CLAIMS[skill](shipped(name), changes(name))


def test_a_false_claim_would_be_found() -> None:
    true_of_first_change = {
        skill for skill in SKILLS if CLAIMS[skill](shipped("first-change"), changes("first-change"))
    }
    assert {"kept fingers", "cross", "first year"} <= true_of_first_change
    assert not true_of_first_change & {"guide", "hinge", "shift", "full barre", "half barre", "extension", "tuning"}


# What holds for each


def test_there_are_at_least_sixteen() -> None:
    assert len(NAMES) >= 16


@pytest.mark.parametrize("name", NAMES)
def test_each_is_ready_to_play(name: str) -> None:
    drill = shipped(name)
    assert re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", name)
    assert len(name) <= 20
    assert len(drill.pairs) >= 4
    assert all(step.shape.fingered for step in drill.steps)
    assert all(step.label for step in drill.steps)
    assert drill.trains
    assert drill.credits


@pytest.mark.parametrize("name", NAMES)
def test_each_says_in_one_sentence_what_it_is_for(name: str) -> None:
    assert re.fullmatch(r"[A-Z][^.!?]+\.", shipped(name).about)


@pytest.mark.parametrize("name", NAMES)
def test_each_that_barres_or_stretches_carries_a_caution(name: str) -> None:
    barred = any(step.shape.barres for step in shipped(name).steps)
    stretched = any(move.reach for change in changes(name) for move in change.moves)
    assert bool(shipped(name).caution) >= (barred or stretched)


@pytest.mark.parametrize("name", NAMES)
def test_each_is_the_same_when_it_is_written_and_read_again(name: str) -> None:
    assert parse(print_drill(shipped(name)), name) == (shipped(name), ())


@pytest.mark.parametrize("name", NAMES)
def test_a_marked_melody_is_the_highest_note_or_sings_on_purpose(name: str) -> None:
    for step in shipped(name).steps:
        if step.melody is None or step.sounding_slide:
            continue
        pitches = {
            s: shipped(name).instrument.pitch(s, stop.fret) for s, stop in step.shape if s in step.plucked.strings
        }
        assert pitches[step.melody] == max(pitches.values())


def test_titles_differ() -> None:
    assert len({shipped(name).title for name in NAMES}) == len(NAMES)


# What the set covers


def test_the_first_minute_is_one_easy_change_there_and_back() -> None:
    drill = shipped("first-change")
    assert len({step.shape for step in drill.steps}) == 2
    assert drill.order is Order.RING
    assert all(change.doing(Action.KEPT) for change in changes("first-change"))
    assert "first year" in drill.trains


@pytest.mark.parametrize("string", [1, 2, 3, 4, 5, 6])
def test_a_finger_guides_on_each_string(string: int) -> None:
    guiding = [
        change
        for change in changes(f"guide-{string}")
        if any(move.start is not None and move.start[0] == string for move in change.doing(Action.GUIDE))
    ]
    assert len(guiding) >= 2


@pytest.mark.parametrize("name", ["full-barre", "half-barre"])
def test_a_barre_is_laid_slid_and_raised(name: str) -> None:
    actions = {action for change in changes(name) for barre in change.barres for action in barre.actions}
    assert actions >= {BarreAction.LAID, BarreAction.SLID, BarreAction.RAISED}


def test_a_finger_hinges_from_its_tip_to_a_barre_and_back() -> None:
    hinged = [barre for change in changes("hinge") for barre in change.barres if BarreAction.HINGED in barre.actions]
    widths = [(barre.start.width, barre.end.width) for barre in hinged if barre.start and barre.end]
    assert widths == [(1, 2), (2, 1)]


def test_one_shape_goes_down_the_neck_by_guides_alone() -> None:
    found = changes("down-the-neck")
    assert all(len(change.doing(Action.GUIDE)) == 3 for change in found)
    assert all(change.shift is not None and change.shift.frets < 0 for change in found)


def test_two_fingerings_are_easy_now_and_hard_later_and_the_reverse() -> None:
    """Easy means more fingers that stay, and less way for all of them together."""
    found = changes("two-ways")
    stay = [len(change.doing(Action.KEPT)) for change in found]
    way = [sum(abs(move.mm or 0) for move in change.moves) for change in found]
    assert [segment.name for segment in shipped("two-ways").segments] == [
        "easy now, hard later",
        "hard now, easy later",
    ]
    assert (stay[0], stay[1]) == (1, 0)
    assert (stay[3], stay[4]) == (0, 2)
    assert way[0] < way[1]
    assert way[3] > way[4]


def test_the_stretch_reaches_out_and_closes_again_while_a_finger_holds() -> None:
    found = changes("stretch")
    assert [[str(move.reach) for move in change.moves if move.reach] for change in found].count(["forward"]) == 2
    assert sum(bool(change.doing(Action.KEPT)) for change in found) == 6


def test_a_string_is_tuned_down() -> None:
    assert shipped("dropped-d").instrument.tuning_names == ("D2", *STANDARD[1:])


def test_the_six_beat_study_gives_each_voice_its_beats() -> None:
    drill = shipped("six-eight")
    assert drill.meter == (6, 8)
    assert {step.texture for step in drill.steps} == {Texture.FIGURE}
    assert all(
        voice_beats(step) == {BASS: {1}, INNER: {2, 3, 5, 6}, MELODY: {4}} and step.beats == 6 for step in drill.steps
    )
    early = [move for change in changes("six-eight") for move in change.moves if move.free_from and move.free_from < 7]
    assert early, "some finger may leave before the bar is over"


def test_an_open_string_buys_time_for_a_long_way() -> None:
    assert [change.shift.frets for change in changes("open-string") if change.shift and 1 in change.buys_time] == [
        4,
        1,
        -5,
    ]


@pytest.mark.parametrize(("skill", "fewest"), [("warm-up", 3), ("first year", 3), ("independence", 3), ("guide", 6)])
def test_there_is_a_set(skill: str, fewest: int) -> None:
    assert len(training(skill)) >= fewest
