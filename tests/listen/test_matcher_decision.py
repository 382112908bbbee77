"""When a reading is taken: at once, after the strum, at the end of the playing, or when too much is undecided."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from tests.listen.building import AM, D7, FIGURED, C, G, Playing, drill, frets, step, steps_of
from trainer.listen.matcher import Matcher, hear
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.decision import decision, landed_at
from trainer.listen.matcher.reader import Reader
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.template import Template, templates
from trainer.practice.record import Texture

SETTINGS = Settings()
BLOCKS = templates(drill(AM, C, D7))
LINE = templates(drill("x x x x x 0", "x x x x x 0", "x x x x x 3"))
"""E, E again, G: a drill of single notes on string 1."""
Struck = Iterable[tuple[float, int, int]]


def note(on: float, string: int, pitch: int, off: float | None = None) -> Note:
    return Note(on, (string, pitch), 80, legato=False, off=off)


def whole(shape: str, at: float, without: tuple[int, ...] = ()) -> list[tuple[float, int, int]]:
    return [(at, string, pitch) for string, pitch in frets(shape).items() if string not in without]


def at_step(number: int, struck: Struck, shapes: tuple[Template, ...] = BLOCKS) -> Attempt:
    """Return an attempt at one step with these notes."""
    here = Attempt(number, shapes[number], SETTINGS)
    for each in struck:
        here.add(note(*each))
    return here


def taken(here: Attempt | None, struck: Struck, *, closed: bool, shapes: tuple[Template, ...] = BLOCKS) -> int | None:
    """Return the step that is taken for these notes after `here`; None where nothing is decided yet."""
    reader = Reader(shapes, SETTINGS, 0)
    if here is not None:
        reader.decided(here)
    for each in struck:
        reader.add(note(*each))
    path = decision(reader, shapes, here, closed=closed)
    return None if path is None else path.step


AM_LANDED = at_step(0, whole(AM, 0))
C_LACKING = at_step(1, whole(C, 0, without=(3,)))

CASES = {
    "the next shape as soon as it has landed": (AM_LANDED, whole(C, 2), 1, 1),
    "not before its last note": (AM_LANDED, whole(C, 2, without=(3,)), None, None),
    "the first shape of all": (None, whole(AM, 2), 0, 0),
    "nothing heard": (AM_LANDED, [], None, 0),
    # Strings 4, 2 and 1 are those of C too: 3 x 90 - 5 against 3 x 100 for C, which has not landed.
    "what both shapes have": (AM_LANDED, [(2, 4, 52), (2, 2, 60), (2, 1, 64)], None, None),
    # Open string 3 alone may be C's: 100 against -100, but C has not landed.
    "one note of the next": (AM_LANDED, [(2, 3, 55)], None, None),
    # 2 x 90 - 5 against -100 + 100: not decided before the strum is over, since Am had landed.
    "the old shape again": (AM_LANDED, [(2, 5, 45), (2, 3, 57)], None, 0),
    "the note that C lacked lands it at once": (C_LACKING, [(1, 3, 55)], 1, 1),
    "another note of it does not": (C_LACKING, [(1, 5, 48)], None, None),
    "a jump, landed, by 100 at least": (AM_LANDED, whole(D7, 2), 2, 2),
}
"""Where the player was, what is struck then, and which step is taken while the strum goes on and once it is over."""


@pytest.mark.parametrize(("here", "struck", "going_on", "over"), CASES.values(), ids=CASES)
def test_a_reading_is_taken(here: Attempt | None, struck: Struck, going_on: int | None, over: int | None) -> None:
    assert taken(here, struck, closed=False) == going_on
    assert taken(here, struck, closed=True) == over


def test_the_same_note_again_goes_on_only_to_the_next_step_and_only_once_the_strum_is_over() -> None:
    here = at_step(0, [(0, 1, 64)], LINE)
    # E again: the two steps sound the same, so nothing speaks for the one that is left.
    assert taken(here, [(1, 1, 64)], closed=False, shapes=LINE) == 1
    reader = Reader(LINE, SETTINGS, 0)
    reader.decided(here)
    reader.add(note(1, 1, 64))
    assert (reader.leader.step, reader.leader.score) == (1, 100)


def test_a_shape_within_another_waits_for_the_end_of_the_strum() -> None:
    shapes = templates(drill(D7, "x x x 2/3 1/1 0", AM))
    here = at_step(0, whole(D7, 0), shapes)
    upper = [(2.0, 3, 57), (2.0, 2, 60), (2.0, 1, 64)]
    # Its three notes are Am's too: the bass of Am may still come.
    assert taken(here, upper, closed=False, shapes=shapes) is None
    assert taken(here, upper, closed=True, shapes=shapes) == 1
    assert taken(here, [*upper, (2.01, 5, 45), (2.01, 4, 52)], closed=True, shapes=shapes) == 2


@pytest.mark.parametrize(("count", "decided"), [(40, False), (41, True)])
def test_more_than_forty_undecided_notes_are_decided_on(count: int, decided: bool) -> None:
    # Noise on string 6, none of it in any shape: the player is where he was.
    noise = [(2 + number / 100, 6, 41) for number in range(count)]
    assert taken(AM_LANDED, noise, closed=False) == (0 if decided else None)
    # Before anything was heard there is nowhere else to be.
    assert taken(None, noise, closed=False) == (-1 if decided else None)


def test_strumming_what_both_shapes_have_is_the_old_one_once_it_is_too_much() -> None:
    shared = [(2 + number / 10, 4, 52) for number in range(41)]
    assert taken(AM_LANDED, shared[:40], closed=False) is None
    assert taken(AM_LANDED, shared, closed=False) == 0


def _landing(here: Attempt | None, struck: Iterable[Note], shapes: tuple[Template, ...] = BLOCKS) -> float | None:
    reader = Reader(shapes, SETTINGS, 0)
    if here is not None:
        reader.decided(here)
    for each in struck:
        reader.add(each)
    return landed_at(reader, reader.leader, shapes[reader.leader.step], here)


def test_when_a_reading_landed() -> None:
    c = [note(2 + number / 100, string, pitch) for number, (string, pitch) in enumerate(frets(C).items())]
    assert _landing(AM_LANDED, c) == 2.04
    assert _landing(AM_LANDED, c[:4]) is None
    assert _landing(AM_LANDED, []) == 0, "it landed before"
    assert _landing(C_LACKING, [note(3, 3, 55)]) == 3
    assert _landing(C_LACKING, [note(3, 5, 48)]) is None


def test_a_note_that_had_ended_before_the_last_came_does_not_land() -> None:
    bass = note(2, 5, 48, off=2.3)
    rest = [note(2.5, string, pitch) for string, pitch in frets(C).items() if string != 5]
    assert _landing(AM_LANDED, [bass, *rest]) is None
    assert _landing(AM_LANDED, [bass, *rest, note(2.6, 5, 48)]) == 2.6
    assert _landing(AM_LANDED, [note(2, 5, 48, off=2.5), *rest]) == 2.5


def test_of_a_figure_the_first_time_of_its_last_stroke_lands_it() -> None:
    shapes = templates(drill(*(step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C))))
    here = at_step(0, [(n, string, frets(AM)[string]) for n, string in enumerate((5, 3, 2, 1))], shapes)
    assert here.landed == 3
    figure = [note(4.0 + n, string, frets(C)[string]) for n, string in enumerate((5, 3, 2, 1))]
    assert _landing(here, figure, shapes) == 7
    assert _landing(here, [*figure[:2], figure[3]], shapes) == 7
    assert _landing(here, figure[:3], shapes) is None


def test_at_the_end_a_landed_jump_is_taken_though_little_speaks_for_it() -> None:
    # Am, then one note: it is all of the third shape. -60 for the jump against -100 for Am.
    third = "x x x x x 3/3"
    playing = Playing().shape(0, AM, 0.98).note(1, 1, 67)
    assert steps_of(hear(drill(AM, C, third), playing.events)) == [(0, 2, True)]
    # One note of D7, which has four, lands nothing.
    assert steps_of(hear(drill(AM, C, D7), Playing().shape(0, AM, 0.98).note(1, 1, 66).events)) == []


def test_at_the_end_a_shape_not_finished_is_taken_where_a_note_speaks_for_it() -> None:
    # String 5 and 3 of C: 200 against -200.
    playing = Playing().shape(0, AM, 0.98).shape(1, C, without=(4, 2, 1))
    (change,) = hear(drill(AM, C), playing.events)
    assert (change.before, change.after, change.landed) == (0, 1, False)
    assert change.missing == ((4, 52), (2, 60), (1, 64))


@pytest.mark.parametrize(("string", "pitch"), [(1, 66), (5, 48)])
def test_a_stray_note_of_another_shape_before_the_first_is_no_change(string: int, pitch: int) -> None:
    playing = Playing().note(0, string, pitch, 0.3).shape(1, AM, 1.98).shape(2, C, 2.98).shape(3, D7)
    changes = hear(drill(AM, C, D7, G), playing.events)
    assert steps_of(changes) == [(0, 1, True), (1, 2, True)]
    assert [change.index for change in changes] == [0, 1]


def test_what_is_being_played_begins_with_its_own_first_note() -> None:
    # After Am a stray note, which neither shape has, then two notes of C: they alone are C's.
    matcher = Matcher(drill(AM, C))
    for event in Playing().shape(0, AM, 0.98).note(1, 6, 41, 1.2).note(1.5, 5, 48).note(1.51, 3, 55).events:
        matcher.feed(event)
    reading = matcher.reading
    assert (reading.step, reading.heard, reading.wrong, reading.landed) == (1, ((5, 48), (3, 55)), (), False)
    assert reading.missing == ((4, 52), (2, 60), (1, 64))
