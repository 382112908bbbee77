"""How notes ended, exactly at each bound: every time and bound here is one that a float holds exactly."""

from __future__ import annotations

import pytest

from tests.listen.building import AM, C, drill, frets, step
from trainer.fretboard.instrument import Instrument
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.ends import cut_off, cut_short, faded, first_end, gaps, latest_end, planted
from trainer.listen.matcher.pair import pair_of
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.template import Template, templates
from trainer.practice.drill import Step
from trainer.practice.record import Texture

SETTINGS = Settings(strum_s=0.0625, cut_s=0.125, plant_s=0.25, decay_s=2.0, alone_s=0.5, leave_s=1.0)
FIRST = 4.0
"""When the next shape is struck."""


def note(off: float | None, on: float = 0.0, string: int = 6, pitch: int = 42) -> Note:
    return Note(on, (string, pitch), 80, legato=False, off=off)


def attempt(template: Template, *notes: Note) -> Attempt:
    made = Attempt(0, template, SETTINGS)
    for each in notes:
        made.add(each)
    return made


def shapes(before: str | Step, after: str | Step) -> tuple[Template, Template]:
    one, other = templates(drill(before, after))
    return one, other


def struck(template: Template, at: float) -> Attempt:
    """Return an attempt that strikes everything at once."""
    return attempt(template, *(note(None, at, slot.string, slot.pitch) for slot in template.slots))


FADED = {
    "two seconds old": ([2.0], True),
    "younger": ([1.99], False),
    "its end never told": ([None], False),
    "another ended half a second later": ([2.5, 3.0], False),
    "another half a second before": ([2.5, 2.0], False),
    "another later still": ([2.5, 3.01], True),
    "another never": ([2.5, None], True),
}


@pytest.mark.parametrize(("ends", "may"), FADED.values(), ids=FADED)
def test_a_note_may_have_faded(ends: list[float | None], may: bool) -> None:
    sounded = [note(end, string=6 - number) for number, end in enumerate(ends)]
    assert faded(sounded[0], sounded, SETTINGS) is may


# The next shape strikes strings 4 and 3; the note asked about lies on string 6 or 4.
PLANTED = {
    "its own string is struck a quarter second later": (4, 3.75, [1.0], True),
    "longer after": (4, 3.74, [1.0], False),
    "at its end": (4, 4.0, [1.0], True),
    "before its end": (4, 4.01, [1.0], False),
    "its string is not struck, another rings on": (6, 3.75, [4.5], False),
    "all ended at once": (6, 3.875, [3.8125], True),
    "not quite at once": (6, 3.875, [3.8124], False),
    "at once, at the stroke": (6, 4.0, [4.0], True),
    "at once, after it": (6, 4.01, [4.0], False),
    "at once, a quarter second before": (6, 3.75, [3.75], True),
    "earlier": (6, 3.74, [3.75], False),
    "its end never told": (4, None, [], False),
    "others' never told": (6, 3.75, [None], True),
}


@pytest.mark.parametrize(("string", "end", "others", "may"), PLANTED.values(), ids=PLANTED)
def test_the_right_hand_may_have_ended_a_note(
    string: int, end: float | None, others: list[float | None], may: bool
) -> None:
    _, after = shapes("2/1 x x x x x", "x x 0 2/2 x x")
    mine = note(end, string=string)
    sounded = [mine, *(note(other, string=5) for other in others)]
    assert planted(mine, string, sounded, struck(after, FIRST), FIRST, SETTINGS) is may


def test_a_hand_that_rolls_plants_before_the_first_of_the_stroke() -> None:
    _, after = shapes("2/1 x x x x x", "x x 0 2/2 x x")
    rolled = attempt(after, note(None, 4.0, 4, 50), note(None, 5.0, 3, 57))
    for end, may in ((3.75, True), (3.5, False), (4.5, True)):
        mine = note(end, string=3, pitch=55)
        assert planted(mine, 3, [mine, note(4.75, string=6)], rolled, FIRST, SETTINGS) is may


def test_a_wrong_note_on_its_string_was_struck_too() -> None:
    _, after = shapes("2/1 x x x x x", "x x 0 2/2 x x")
    wrong = struck(after, FIRST)
    wrong.add(note(None, FIRST, 5, 46))
    mine = note(3.875, string=5)
    assert planted(mine, 5, [mine, note(None), note(4.5, string=4)], wrong, FIRST, SETTINGS)


@pytest.mark.parametrize(("end", "cut"), [(3.875, False), (3.8749, True)])
def test_an_eighth_of_a_second_of_silence_is_none(end: float, cut: bool) -> None:
    before, after = shapes("2/1 0 x x x x", "x x 0 2/2 x x")
    # The open string rings on, so the right hand did not plant; string 6 has no stroke in what follows.
    old = attempt(before, note(end), note(4.5, 0.0, 5, 45))
    old.latest[0].on = 3.0
    new = struck(after, FIRST)
    assert cut_off(old, new, pair_of(before, after, Instrument()), FIRST, SETTINGS) is cut
    assert cut_short(old, new, FIRST, SETTINGS) == ([0] if cut else [])


def test_an_inner_note_is_owed_until_the_next_stroke_of_the_figure() -> None:
    figure = step(AM, strokes={1: [5], 2: [4], 3: [3]}, texture=Texture.FIGURE)
    before, after = shapes(figure, step(C, strokes={1: [2]}, texture=Texture.FIGURE))
    for end, short in ((1.875, []), (1.75, [1]), (None, [])):
        old = attempt(before, note(4.5, 0, 5, 45), note(end, 1, 4, 52), note(4.5, 2, 3, 57))
        assert cut_short(old, struck(after, FIRST), FIRST, SETTINGS) == short


def left(*ends: float | None) -> tuple[Template, Template, Attempt]:
    """Return two shapes with nothing in common, and an attempt at the first whose strings 5, 4 and 3 end then."""
    before, after = shapes("x 2/2 2/3 1/1 x x", "x 0 x x 1/1 x")
    pitches = frets("x 2/2 2/3 1/1 x x")
    return (
        before,
        after,
        attempt(before, *(note(end, 0, s, pitches[s]) for s, end in zip((5, 4, 3), ends, strict=True))),
    )


LEFT = {
    "the first to end": ((3.0, 3.5, 3.75), 3.0, 3.75),
    "one that faded more than a second before does not count": ((2.25, 3.5, 3.75), 3.5, 3.75),
    "exactly a second before it does": ((2.5, 3.5, 3.75), 2.5, 3.75),
    "nor does one too young to fade fall away": ((1.75, 3.5, 3.75), 1.75, 3.75),
    "two that faded one after the other": ((2.0, 3.25, 4.5), 4.5, 4.5),
    "only one end is told": ((None, 2.25, None), 2.25, 2.25),
    "none is": ((None, None, None), None, None),
}


@pytest.mark.parametrize(("ends", "first", "last"), LEFT.values(), ids=LEFT)
def test_when_the_shape_was_left(ends: tuple[float | None, ...], first: float | None, last: float | None) -> None:
    before, after, old = left(*ends)
    new, pair = struck(after, 5.0), pair_of(before, after, Instrument())
    assert first_end(old, new, pair, SETTINGS) == first
    assert latest_end(old, new, pair) == last
    assert gaps(old, new, pair, 5.0)[0] == (None if last is None else 5.0 - last)


def test_a_note_off_that_was_lost_is_told_by_the_next_stroke_only_while_that_is_struck() -> None:
    before, after, old = left(None, 3.0, 3.0)
    new, pair = struck(after, 5.0), pair_of(before, after, Instrument())
    old.latest[0].next = note(None, 5.0, 5, 45)
    assert latest_end(old, new, pair) == 5.0
    old.latest[0].next = note(None, 5.5, 5, 45)
    assert latest_end(old, new, pair) == 3.0
