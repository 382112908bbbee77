"""What one attempt at a step keeps: tries and strays, its prelude, its landing, the notes that it has not."""

from __future__ import annotations

import pytest

from tests.listen.building import AM, C, drill, frets, step
from trainer.fretboard.instrument import Instrument
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.notes import lost_slots, missing_slots, named, octaves, wrong_notes
from trainer.listen.matcher.pair import Pair, Slide, pair_of
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.template import templates
from trainer.practice.record import Texture

SETTINGS = Settings()
BLOCKS = templates(drill(AM, C))
AM_KEYS, C_KEYS = (each.by_key for each in BLOCKS)
FIGURES = templates(
    drill(*(step(shape, strokes={1: [5], 2: [3], 3: [5]}, texture=Texture.FIGURE) for shape in (AM, C)))
)
TO_C = pair_of(BLOCKS[0], BLOCKS[1], Instrument())


def note(on: float, string: int | None, pitch: int, *, legato: bool = False, off: float | None = None) -> Note:
    return Note(on, (string, pitch), 80, legato, off=off)


def tried(*struck: Note, figure: bool = False) -> Attempt:
    """Return an attempt at C with these notes."""
    here = Attempt(1, (FIGURES if figure else BLOCKS)[1], SETTINGS)
    for each in struck:
        here.add(each)
    return here


def c(at: float, *without: int) -> list[Note]:
    return [note(at, string, pitch) for string, pitch in frets(C).items() if string not in without]


def test_notes_after_the_landings_strum_are_no_tries() -> None:
    whole, near, far = c(1), note(1.05, 6, 41), note(1.11, 6, 42)
    here = tried(*whole, near, far, note(2, 5, 48))
    assert here.tries == [*whole, near]
    assert here.strays == [far]
    assert (here.landed, here.last, here.reach) == (1, 2, 2)
    # The note struck again afterwards sounded last, but the shape landed with the first.
    assert (here.held[0].on, here.latest[0].on) == (1, 2)


def test_a_strum_goes_on_from_note_to_note() -> None:
    here = tried(*c(1), note(1.05, 6, 41), note(1.1, 6, 42))
    assert [each.pitch for each in here.tries][-2:] == [41, 42]
    assert (here.strays, here.reach) == ([], 1.1)


def test_what_follows_after_the_strum_is_not_reached() -> None:
    here = tried(*c(1), note(1.06, 6, 41), note(1.5, 6, 42))
    assert here.reach == 1
    assert [each.on for each in here.after_last()] == [1.06, 1.5]
    assert [each.on for each in here.alien] == [1.06, 1.5]


def test_runs_part_where_the_hand_paused() -> None:
    here = tried(note(0, 5, 48), note(0.05, 4, 52), note(0.04, 6, 41), note(0.11, 3, 55))
    assert [[each.on for each in run] for run in here.runs] == [[0, 0.05], [0.11]]


def test_memory_stays_flat() -> None:
    here = tried(*(note(number / 100, 6, 41) for number in range(300)))
    assert len(here.tries) == 256
    assert here.tries[0].on == 0.44


def test_the_latest_round_of_a_figure() -> None:
    first = [note(1, 5, 48), note(2, 3, 55), note(3, 5, 48)]
    here = tried(*first, figure=True)
    assert (here.landed, here.stroke) == (3, 2)
    assert here.latest_round == dict(enumerate(first))
    again = note(4, 5, 48)
    here.add(again)
    assert here.latest_round == {0: again}
    # A middle note once more begins nothing.
    here.add(note(5, 3, 55))
    here.add(note(5.5, 3, 55))
    assert {index: each.on for index, each in here.latest_round.items()} == {0: 4, 1: 5}
    assert here.landed == 3


# String 1 is open in both shapes, string 2 at fret 1; string 3 is open in C only.
PRELUDES = {
    "one that both have, struck again with the rest": ([note(1, 1, 64), *c(2)], 1),
    "not struck again: it is the beginning": ([note(1, 1, 64), *c(2, 1)], 0),
    "two runs of them": ([note(1, 1, 64), note(1.5, 2, 60), *c(2)], 2),
    "one that the old shape has not, struck": ([note(1, 3, 55), *c(2)], 0),
    "one that a finger made": ([note(1, 3, 55, legato=True), *c(2)], 1),
    "one without its string may be a finger's": (
        [note(1, None, 55), *(note(2, None, p) for p in frets(C).values())],
        1,
    ),
    "most of the shape, made by fingers, is a try": (
        [*(note(1, string, pitch, legato=True) for string, pitch in ((5, 48), (4, 52), (3, 55))), *c(2)],
        0,
    ),
    "two of five are few": ([note(1, 5, 48, legato=True), note(1, 3, 55, legato=True), *c(2)], 2),
    "the rest follows as in a roll, the note again much later": (
        [note(1, 1, 64), *c(1.15, 1), note(1.25, 1, 64)],
        0,
    ),
    "the rest follows as in a roll, the note again as soon": ([note(1, 1, 64), *c(1.15)], 1),
    "all at once": (c(1), 0),
}
"""What is struck of C after Am, and how many of its first notes are not yet the shape."""


@pytest.mark.parametrize(("struck", "ahead"), PRELUDES.values(), ids=PRELUDES)
def test_first_notes_that_are_not_yet_the_shape(struck: list[Note], ahead: int) -> None:
    here = tried(*struck)
    assert here.prelude(AM_KEYS) == struck[:ahead]
    assert here.first_onset(AM_KEYS) == struck[ahead].on


@pytest.mark.parametrize(("rest", "again", "ahead"), [(1.25, 1.26, 0), (1.25, 1.25, 1), (1.26, 1.3, 1)])
def test_a_roll_reaches_as_far_as_it_is_set(rest: float, again: float, ahead: int) -> None:
    here = Attempt(1, BLOCKS[1], Settings(roll_s=0.25))
    for each in (note(1, 1, 64), *c(rest, 1), note(again, 1, 64)):
        here.add(each)
    assert len(here.prelude(AM_KEYS)) == ahead


def test_a_key_that_stands_twice_must_come_twice_again() -> None:
    # A bass on the first beat and, with the treble, on the last.
    figure = templates(drill(step(C, strokes={1: [5], 2: [3], 3: [5, 1]}, texture=Texture.FIGURE), AM))[0]
    for again, prelude in ((True, [1]), (False, [])):
        here = Attempt(0, figure, SETTINGS)
        for each in (
            note(1, 5, 48),
            note(2, 3, 55),
            *([note(2.5, 5, 48)] if again else []),
            note(3, 5, 48),
            note(3, 1, 64),
        ):
            here.add(each)
        assert here.landed == 3
        assert [each.on for each in here.prelude({(5, 48)})] == prelude


def test_nothing_struck_has_no_onset() -> None:
    assert tried(note(1, 6, 41)).first_onset(AM_KEYS) is None


def test_wrong_notes_are_those_that_were_struck() -> None:
    plain, octave, void, late = note(1.02, 6, 41), note(1.01, 5, 60), note(1.03, 6, 42), note(1.5, 6, 43)
    void.void = True
    here = tried(*c(1), plain, octave, void, late)
    here.lead_in = [early := note(0.5, 6, 44)]
    assert wrong_notes(here, TO_C, 1) == [early, plain]
    assert octaves(here) == [octave]


def test_octaves_beyond_the_strum_and_too_short_ones_are_none() -> None:
    short = note(1.01, 5, 60)
    short.void = True
    assert octaves(tried(*c(1), note(1.06, 5, 60), short)) == []


# Am's open strings under its fingers: 50 on string 4, 55 on 3 (C's own), 59 on 2.
OPENED = {
    "a finger comes up before the stroke": (note(0.9, 4, 50, legato=True), False),
    "its string is struck": (note(0.9, 4, 50), True),
    "it comes up with the stroke or later": (note(1, 4, 50, legato=True), True),
    "a source without strings cannot tell": (note(0.9, None, 50), False),
    "a note that no finger leaves open": (note(0.9, None, 51), True),
    "nor on that string": (note(0.9, 5, 50, legato=True), True),
}
"""A note before C was first struck at 1 s, and whether it counts as wrong."""


@pytest.mark.parametrize(("heard", "wrong"), OPENED.values(), ids=OPENED)
def test_open_strings_of_fingers_that_come_up_are_not_wrong(heard: Note, wrong: bool) -> None:
    here = tried(*c(1))
    here.lead_in = [heard]
    assert bool(wrong_notes(here, TO_C, 1)) is wrong


SLID = {
    "on the way": (note(1.02, 6, 44, legato=True), False),
    "at its start": (note(1.02, 6, 43, legato=True), False),
    "at its end": (note(1.02, 6, 47, legato=True), False),
    "before it": (note(1.02, 6, 42, legato=True), True),
    "beyond it": (note(1.02, 6, 48, legato=True), True),
    "struck": (note(1.02, 6, 44), True),
    "on another string": (note(1.02, 5, 44, legato=True), True),
}
"""A note while a finger slides on string 6 between G2 and B2, and whether it counts as wrong."""


@pytest.mark.parametrize("way", [(43, 47), (47, 43)])
@pytest.mark.parametrize(("heard", "wrong"), SLID.values(), ids=SLID)
def test_what_a_slide_sounds_on_its_way_is_not_wrong(heard: Note, wrong: bool, way: tuple[int, int]) -> None:
    pair = Pair((), (Slide(3, 6, *way, asked=False),), frozenset(), frozenset())
    assert bool(wrong_notes(tried(*c(1), heard), pair, 1)) is wrong


def test_missing_and_lost_notes() -> None:
    assert missing_slots(tried(*c(1, 5, 2))) == [0, 3]
    gone = note(1, 5, 48, off=1.3)
    assert lost_slots(tried(gone, *c(1.5, 5))) == [0]
    assert lost_slots(tried(gone, *c(1.5, 5, 1))) == [], "it has not all been struck yet"
    assert lost_slots(tried(*c(1))) == []
    assert lost_slots(tried(note(1, 5, 48), note(2, 3, 55), figure=True)) == []


def test_a_source_without_strings_names_none() -> None:
    assert named(tried(note(1, None, 48)), 0) == (None, 48)
    assert named(tried(note(1, 5, 48)), 0) == (5, 48)
    assert named(tried(note(1, None, 48), note(1, 4, 52)), 0) == (5, 48)
    assert named(tried(), 0) == (5, 48)
    here = tried()
    here.lead_in = [note(0.5, None, 41)]
    assert named(here, 0) == (None, 48)
