"""The reader by itself: how likely each reading is, in hundredths of a right note, and what the last strum forbids.

Every score is added up by hand: a right note 100, one struck again 90, a wrong one -100, an octave 30, a pause -5, a
stroke passed over -30; to the next step 0, leaving a step unfinished -40, a jump -160, beginning elsewhere -50, within
one stroke of the hand -200.
"""

from __future__ import annotations

import pytest

from tests.listen.building import AM, D7, FIGURED, C, drill, step
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.reader import NOWHERE, Reader
from trainer.listen.matcher.settings import Filters, Settings
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.template import Template, templates
from trainer.practice.record import Texture

SETTINGS = Settings(strum_s=0.05)
BLOCKS = templates(drill(AM, C, D7))
TWICE = {1: [5], 2: [3], 3: [5], 4: [1]}
FIGURES = templates(
    drill(
        *(step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C)),
        step(AM, strokes=TWICE, texture=Texture.FIGURE),
    )
)
WHOLE_AM = ((5, 45), (4, 52), (3, 57), (2, 60), (1, 64))


def note(on: float, string: int | None, pitch: int) -> Note:
    return Note(on, (string, pitch), 80, legato=False)


def landed(shapes: tuple[Template, ...], at: float = 1.0, apart: float = 0.0) -> tuple[Attempt, list[Note]]:
    """Return an attempt that has landed at the first shape, and its notes."""
    here = Attempt(0, shapes[0], SETTINGS)
    struck = [note(at + number * apart, slot.string, slot.pitch) for number, slot in enumerate(shapes[0].slots)]
    for each in struck:
        here.add(each)
    assert here.landed is not None
    return here, struck


def scores(reader: Reader) -> dict[int, int]:
    """Return how likely each reading is, by the step that it ends in."""
    leader = reader.leader
    return {
        step: leader.score - (0 if step == leader.step else reader.lead(leader, lambda other, step=step: other == step))  # type: ignore[misc]  # bound at once
        for step in reader.alive()
    }


Played = tuple[tuple[float, int | None, int], ...]

FRESH: dict[str, tuple[tuple[Template, ...], Played, dict[int, int]]] = {
    "a note of the step expected": (BLOCKS, ((0, 5, 45),), {NOWHERE: -100, 0: 100}),
    "a note of another step": (BLOCKS, ((0, 5, 48),), {NOWHERE: -100, 1: 50}),
    "a note that several have": (BLOCKS, ((0, 2, 60),), {NOWHERE: -100, 0: 100, 1: 50, 2: 50}),
    "a note that none has": (BLOCKS, ((0, 6, 41),), {NOWHERE: -100}),
    "without strings": (BLOCKS, ((0, None, 45),), {NOWHERE: -100, 0: 100}),
    # 50 + 100 = 150 for C; from Am it would be 100 - 40 - 200 + 100.
    "a second note within the stroke": (BLOCKS, ((0, 1, 64), (0.005, 5, 48)), {NOWHERE: -200, 0: 0, 1: 150}),
    # C from Am unfinished: 100 - 40 + 100 = 160; and the pause within Am: 100 + 100 - 5.
    "a shared note after a pause": (BLOCKS, ((0, 5, 45), (1, 1, 64)), {NOWHERE: -200, 0: 195, 1: 160}),
    # To the one after the next: 100 - 40 - 160 + 100.
    "a note of the next but one after a pause": (BLOCKS, ((0, 5, 45), (1, 1, 66)), {NOWHERE: -200, 0: 0, 2: 0}),
    "struck again": (BLOCKS, ((0, 5, 45), (1, 5, 45)), {NOWHERE: -200, 0: 185}),
    "an octave off": (BLOCKS, ((0, 5, 45), (1, 5, 57)), {NOWHERE: -200, 0: 130}),
    "a twelfth above": (BLOCKS, ((0, 5, 45), (1, 5, 64)), {NOWHERE: -200, 0: 130}),
    "50 ms is no pause": (BLOCKS, ((0, 5, 45), (0.05, 4, 52)), {NOWHERE: -200, 0: 200, 1: -40}),
    "51 ms is one": (BLOCKS, ((0, 5, 45), (0.051, 4, 52)), {NOWHERE: -200, 0: 195, 1: 160}),
    # From nothing, -100 + 100, not from C begun: 50 - 40 - 160 + 100.
    "the step expected after a stray note of another": (
        BLOCKS,
        ((0, 5, 48), (1, 5, 45)),
        {NOWHERE: -200, 0: 0, 1: -50},
    ),
    "a figure has its pauses": (FIGURES, ((0, 5, 48), (1, 3, 55)), {NOWHERE: -200, 1: 150}),
    "a figure begun at its second stroke": (FIGURES, ((0, 3, 55),), {NOWHERE: -100, 1: 20}),
    "a stroke of a figure passed over": (FIGURES, ((0, 5, 48), (1, 2, 60)), {NOWHERE: -200, 0: -60, 1: 120}),
    "a figure's first note again": (FIGURES, ((0, 5, 48), (1, 5, 48)), {NOWHERE: -200, 1: 140}),
    "a figure goes on from its last stroke": (FIGURES, ((0, 5, 48), (1, 5, 48), (2, 3, 55)), {NOWHERE: -300, 1: 240}),
}
"""Of each: the steps, what is struck in turn, and how likely each step then is."""


@pytest.mark.parametrize(("shapes", "played", "expected"), FRESH.values(), ids=FRESH)
def test_readings_from_nothing(shapes: tuple[Template, ...], played: Played, expected: dict[int, int]) -> None:
    reader = Reader(shapes, SETTINGS, 0)
    for on, string, pitch in played:
        reader.add(note(on, string, pitch))
    found = scores(reader)
    assert {step: found.get(step) for step in expected} == expected


FROM_AM: dict[str, tuple[tuple[float, int, int], dict[int, int]]] = {
    "the next shape a second later": ((2.0, 5, 48), {0: -100, 1: 100}),
    "within the strum of what was decided": ((0.05, 5, 48), {0: -100, 1: -100}),
    "just after it": ((0.051, 5, 48), {0: -100, 1: 100}),
    "a jump": ((2.0, 1, 66), {0: -100, 2: -60}),
    "the same note again, which the next has too": ((2.0, 1, 64), {0: 85, 1: 100}),
    "the same at once": ((0.02, 1, 64), {0: 85, 1: -100}),
    "an octave": ((2.0, 5, 57), {0: 30}),
    "what none has": ((2.0, 6, 41), {0: -100}),
}
"""After Am was decided on at 0 s: one note, and how likely each step then is."""


@pytest.mark.parametrize(("struck", "expected"), FROM_AM.values(), ids=FROM_AM)
def test_readings_from_a_shape_that_was_decided_on(struck: tuple[float, int, int], expected: dict[int, int]) -> None:
    here, _ = landed(BLOCKS, 0.0)
    reader = Reader(BLOCKS, SETTINGS, 0)
    reader.decided(here)
    reader.add(note(*struck))
    assert scores(reader) == expected


def test_a_shape_not_finished_is_left_less_readily() -> None:
    here = Attempt(0, BLOCKS[0], SETTINGS)
    here.add(note(1.0, 5, 45))
    reader = Reader(BLOCKS, SETTINGS, 0)
    reader.decided(here)
    reader.add(note(2.0, 5, 48))
    assert scores(reader) == {0: -100, 1: 60}


@pytest.mark.parametrize(("after_s", "anew"), [(0.029, False), (0.03, True), (0.16, True), (0.161, False)])
def test_a_string_struck_twice_was_struck_by_two_strokes(after_s: float, anew: bool) -> None:
    """Am's bass, the rest of it, and 10 ms later the bass of C: 30 ms to four strums after the first bass."""
    settings = Settings(strum_s=0.04, filters=Filters(retrigger_s=0.03))
    here, reader = Attempt(0, BLOCKS[0], settings), Reader(BLOCKS, settings, 0)
    for string, pitch in WHOLE_AM:
        each = note(0.0 if string == 5 else after_s - 0.01, string, pitch)
        reader.add(each)
        here.add(each)
    reader.decided(here)
    reader.add(note(after_s, 5, 48))
    assert scores(reader) == {0: -100, 1: 100 if anew else -100}


def test_without_strings_no_string_was_struck_twice() -> None:
    here, reader = Attempt(0, BLOCKS[0], SETTINGS), Reader(BLOCKS, SETTINGS, 0)
    for _, pitch in WHOLE_AM:
        each = note(0.0, None, pitch)
        reader.add(each)
        here.add(each)
    reader.decided(here)
    reader.add(note(0.05, None, 48))
    # C2 to Am's C3 is an octave.
    assert scores(reader) == {0: 30, 1: -100}


def test_a_reading_six_notes_behind_is_still_read_and_one_further_behind_given_up() -> None:
    reader = Reader(BLOCKS, SETTINGS, 0)
    alive = []
    for number, (string, pitch) in enumerate(WHOLE_AM[:4]):
        reader.add(note(number / 100, string, pitch))
        alive.append(NOWHERE in reader.alive())
    # After three notes Am stands at 300 and nothing at -300, after four at 400 and -400.
    assert alive == [True, True, True, False]


def test_notes_may_come_out_of_order() -> None:
    there, back = Reader(BLOCKS, SETTINGS, 0), Reader(BLOCKS, SETTINGS, 0)
    played = [note(0.2 * number, string, pitch) for number, (string, pitch) in enumerate([*WHOLE_AM, (5, 48)])]
    for each in played:
        there.add(each)
    for each in reversed(played):
        back.add(each)
    assert back.pending == there.pending == played
    assert scores(back) == scores(there)
    assert back.leader == there.leader


def test_a_path_tells_what_it_has_read() -> None:
    here, _ = landed(BLOCKS)
    reader = Reader(BLOCKS, SETTINGS, 0)
    reader.decided(here)
    reader.add(note(2.0, 2, 60))
    reader.add(note(2.01, 5, 48))
    leader, base = reader.leader, reader.base
    # Of C string 5 is slot 0 and string 2 slot 3.
    assert (leader.step, leader.filled, leader.last, leader.start) == (1, 0b1001, 2.01, 0)
    assert leader.back == base
    assert (base.step, base.filled, base.last, base.start, base.back) == (0, 0b11111, 1.0, None, None)
    staying = reader.staying
    assert staying is not None
    assert (staying.step, staying.start, staying.last) == (0, None, 2.0)


def test_a_figure_tells_its_stroke() -> None:
    reader = Reader(FIGURES[2:], SETTINGS, 0)
    strokes = []
    for number, (string, pitch) in enumerate(((5, 45), (3, 57), (5, 45), (1, 64), (5, 45))):
        reader.add(note(float(number), string, pitch))
        strokes.append((reader.leader.stroke, reader.leader.filled))
    # The bass stands twice in the figure: the second time it is the third stroke, then that again.
    assert strokes == [(0, 0b1), (1, 0b11), (2, 0b111), (3, 0b1111), (3, 0b1111)]


def test_among_equals_the_reading_that_goes_least_far_leads() -> None:
    shapes = templates(drill(AM, C, D7, C))
    here, _ = landed(shapes)
    reader = Reader(shapes, SETTINGS, 0)
    reader.decided(here)
    assert reader.leader.step == 0
    reader.add(note(2.0, 4, 50))
    reader.add(note(2.01, 5, 48))
    assert reader.leader.step == 1


@pytest.mark.parametrize(("first", "leads"), [(0, 1), (1, 1), (2, 3)])
def test_before_anything_was_heard_it_is_the_least_far_from_the_step_expected(first: int, leads: int) -> None:
    reader = Reader(templates(drill(AM, C, D7, C)), SETTINGS, first)
    reader.add(note(1.0, 5, 48))
    assert reader.leader.step == leads


def test_steps_without_a_note_are_passed_over() -> None:
    shapes = templates(drill(AM, "x x x x x x", C))
    reader = Reader(shapes, SETTINGS, 1)
    assert [reader.next(step) for step in (NOWHERE, 0, 1, 2)] == [2, 2, 2, 0]
    reader.restart(0)
    assert reader.next(NOWHERE) == 0


def test_forgetting_leaves_the_player_where_he_was() -> None:
    here, _ = landed(BLOCKS)
    reader = Reader(BLOCKS, SETTINGS, 0)
    reader.decided(here)
    base = reader.base
    reader.add(note(2.0, 5, 48))
    reader.forget()
    assert (reader.base, reader.pending, reader.alive()) == (base, [], (0,))
    reader.restart(1)
    assert (reader.base.step, reader.staying, reader.next(NOWHERE)) == (NOWHERE, None, 1)
