"""How a step was struck, how loud its melody was, and where beats fall: literal times, worked out by hand."""

from __future__ import annotations

import pytest

from tests.listen.building import AM, FIGURED, C, drill, frets, step
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.settings import Grid, Settings
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.strike import Strike, balance, strike
from trainer.listen.matcher.template import Template, templates
from trainer.listen.matcher.timing import Passage, played
from trainer.practice.drill import Step
from trainer.practice.measures import Direction
from trainer.practice.record import Texture

SETTINGS = Settings(block_s=0.05, strum_s=1.0)
PAIRS = {1: [5, 3], 3: [2, 1]}
"""Two strokes of two strings."""


def figure(strokes: dict[int, list[int]], shape: str = C, **more: object) -> Step:
    return step(shape, strokes=strokes, texture=Texture.FIGURE, **more)


def struck(of: Step, *notes: tuple[float, int] | tuple[float, int, int]) -> Attempt:
    """Return an attempt with (onset, string, velocity) of each note, 80 where it is not said."""
    attempt = Attempt(0, templates(drill(of, AM))[0], SETTINGS)
    for on, string, *loud in notes:
        attempt.add(Note(on, (string, frets(C)[string]), loud[0] if loud else 80, legato=False))
    return attempt


BLOCK = step(C)
WAYS = {
    "together, exactly at the bound": ([(0, 5), (0.05, 1)], Strike(0.05, Direction.BLOCK)),
    "from the bass": ([(0, 5), (0.02, 3), (0.06, 1)], Strike(0.06, Direction.BASS_FIRST)),
    "from the treble": ([(0.06, 5), (0.02, 3), (0, 1)], Strike(0.06, Direction.TREBLE_FIRST)),
    # C3, E3 and G3 about E flat: -3.33 and 3.67 semitones at the same time, the middle one late.
    "bass and treble at once, the middle lower than their mean": (
        [(0, 5), (0.06, 4), (0, 3)],
        Strike(0.06, Direction.BASS_FIRST),
    ),
    "one note": ([(0, 5)], Strike()),
    "none": ([], Strike()),
}


@pytest.mark.parametrize(("notes", "way"), WAYS.values(), ids=WAYS)
def test_how_a_block_was_struck(notes: list[tuple[float, int]], way: Strike) -> None:
    found = strike(struck(BLOCK, *notes), SETTINGS)
    assert found.direction is way.direction
    assert found.spread == pytest.approx(way.spread)


def test_of_several_strokes_the_widest_tells() -> None:
    apart = struck(figure(PAIRS), (0, 5), (0.02, 3), (1.07, 2), (1.0, 1))
    assert strike(apart, SETTINGS).spread == pytest.approx(0.07)
    assert strike(apart, SETTINGS).direction is Direction.TREBLE_FIRST
    assert strike(struck(figure(FIGURED), (0, 5), (1, 3), (2, 2), (3, 1)), SETTINGS) == Strike()


def test_notes_that_rise_and_fall_alike_are_told_from_the_bass() -> None:
    # A2, E3 and B3: seven semitones apart, the outer ones together.
    even = Attempt(0, templates(drill("x 0 2 x 0 x", AM))[0], SETTINGS)
    for on, string, pitch in ((0, 5, 45), (0.06, 4, 52), (0, 2, 59)):
        even.add(Note(on, (string, pitch), 80, legato=False))
    assert strike(even, SETTINGS).direction is Direction.BASS_FIRST


LOUD = {
    "against the mean of the others": ([(0, 5, 50), (0, 3, 60), (0, 1, 90)], 35.0),
    "softer": ([(0, 5, 50), (0, 1, 40)], -10.0),
    "without others": ([(0, 1, 90)], None),
    "without the melody": ([(0, 5, 50), (0, 3, 60)], None),
    "others a beat away, no further": ([(0, 5, 50), (2.1, 3, 60), (1, 1, 90)], 40.0),
    "none near": ([(0, 5, 50), (1.1, 1, 90)], None),
}


@pytest.mark.parametrize(("notes", "above"), LOUD.values(), ids=LOUD)
def test_how_loud_the_melody_was(notes: list[tuple[float, int, int]], above: float | None) -> None:
    assert balance(struck(step(C, melody=1), *notes), beat_s=1.0) == above


def test_a_melody_plucked_twice_is_as_loud_as_its_mean() -> None:
    twice = figure({1: [5, 1], 2: [1]}, melody=1)
    assert balance(struck(twice, (0, 5, 50), (0, 1, 90), (1, 1, 70)), beat_s=1.0) == 30
    assert balance(struck(twice, (0, 5, 50), (0, 1, 90), (1.5, 1, 70)), beat_s=1.0) == 40


STEPS: tuple[Template, ...] = templates(drill(step(AM, beats=4), step(C, beats=2)))

PLACES = [
    # (first beat of which step at 10 s), step, near, beat -> seconds; a beat is half a second, a round 3 s.
    (0, 0, 10.0, 1, 10.0),
    (0, 0, 10.0, 3, 11.0),
    (0, 1, 12.0, 1, 12.0),
    (0, 1, 13.4, 1, 12.0),
    (0, 1, 13.6, 1, 15.0),
    (0, 1, 8.9, 2, 9.5),
    (1, 1, 10.1, 1, 10.0),
    (1, 0, 10.1, 1, 11.0),
    (1, 0, 9.4, 1, 8.0),
]


@pytest.mark.parametrize(("begins", "number", "near", "beat", "at"), PLACES)
def test_where_beats_fall_on_a_grid(begins: int, number: int, near: float, beat: float, at: float) -> None:
    place = Passage(STEPS).place(Grid(at=10.0, beat_s=0.5, step=begins), number, near)
    assert place(beat) == pytest.approx(at)


def kept(*onsets: float, strings: tuple[int, ...] = (5, 3, 2, 1)) -> Attempt:
    return struck(figure(FIGURED), *zip(onsets, strings, strict=True))


def test_the_tempo_that_was_played_goes_on() -> None:
    even = played(kept(0, 0.5, 1, 1.5))
    assert even is not None
    assert [even(beat) for beat in (1, 2.5)] == pytest.approx([2.0, 2.75])
    # Least squares: slope (1.5 * 0.8 + 0.5 * 0.2 + 0.5 * 0.2 + 1.5 * 0.8) / 5 = 0.52, mean 0.8 at beat 2.5.
    uneven = played(kept(0, 0.6, 1, 1.6))
    assert uneven is not None
    assert uneven(1) == pytest.approx(0.8 + 2.5 * 0.52)


@pytest.mark.parametrize("onsets", [(0.0,), (1.5, 1.0, 0.5, 0.0), (1.0, 1.0, 1.0, 1.0)])
def test_one_beat_and_no_way_forward_tell_no_tempo(onsets: tuple[float, ...]) -> None:
    assert played(kept(*onsets, strings=(5, 3, 2, 1)[: len(onsets)])) is None


def test_two_strokes_tell_a_tempo() -> None:
    place = played(kept(0, 1.5, strings=(5, 1)))
    assert place is not None
    assert place(1) == pytest.approx(2.0)
