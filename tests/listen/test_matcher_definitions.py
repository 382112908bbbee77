"""The measures against their definitions, worked out a second time from the raw events and nothing of the matcher."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from random import Random

import pytest

from tests.listen.building import AM, BASS_TO_TREBLE, D7, DM, FIGURED, C, E, G, Playing, drill, frets, step, steps_of
from trainer.fretboard.text import parse_shape
from trainer.listen.matcher import Grid, Matcher, hear
from trainer.practice.drill import Drill
from trainer.practice.measures import Answer, HeardChange
from trainer.practice.record import Texture

SHAPES = (AM, C, D7, G, E, DM, "1/1 3/3 3/4 2/2 1/1 1/1", "x x 3/3 2/2 1/1 1/1", "x 2/2 1/1 2/3 0 2/4")
TWICE = {1: [5], 2: [1], 3: [5], 4: [2]}
"""A figure that plucks its bass twice."""


@dataclass
class Struck:
    """One shape as it was played: by string when it was struck and when it ended."""

    shape: str
    on: dict[int, float]
    off: dict[int, float]


def at_random(random: Random, rolled: bool, strings: bool) -> tuple[Drill, list[Struck], Playing]:
    """Return two rounds of a drill of four shapes, played without a fault: any order, any overlap, any time."""
    names = random.sample(SHAPES, 4)
    played: list[Struck] = []
    at = 0.0
    for number in range(9):
        shape = names[number % 4]
        order = [string for string in BASS_TO_TREBLE if string in frets(shape)]
        random.shuffle(order)
        apart = random.uniform(0.02, 0.12) if rolled else random.uniform(0.0, 0.009)
        played.append(Struck(shape, {string: at + place * apart for place, string in enumerate(order)}, {}))
        at += random.uniform(0.9, 1.8)
    playing = Playing(strings)
    for old, new in pairwise(played):
        for string in old.on:
            end = min(new.on.values()) - random.uniform(-0.02, 0.14)
            # A string cannot go on sounding the old note once it is struck anew.
            old.off[string] = min(end, new.on[string] - 0.001) if string in new.on else end
    for struck in played:
        for string, pitch in frets(struck.shape).items():
            playing.note(struck.on[string], string, pitch, struck.off.get(string))
    return drill(*names, texture=Texture.ROLLED if rolled else Texture.BLOCK), played, playing


def ends_of_leaving(old: Struck, new: Struck) -> list[float]:
    """Return when the fretted notes of `old` ended that are not kept: same finger, same string, same fret."""
    before, after = parse_shape(old.shape), parse_shape(new.shape)
    return [old.off[string] for string in old.on if before[string] != after[string] and frets_of(old, string) > 0]


def frets_of(struck: Struck, string: int) -> int:
    stop = parse_shape(struck.shape)[string]
    assert stop is not None
    return stop.fret


@pytest.mark.parametrize("rolled", [False, True], ids=["block", "rolled"])
@pytest.mark.parametrize("strings", [True, False], ids=["by string", "one channel"])
@pytest.mark.parametrize("seed", range(25))
def test_every_time_is_what_its_definition_says(seed: int, strings: bool, rolled: bool) -> None:
    played_drill, played, playing = at_random(Random(seed), rolled, strings)
    changes = hear(played_drill, playing.events)
    assert steps_of(changes) == [(index % 4, (index + 1) % 4, True) for index in range(8)]
    for change, old, new in zip(changes, played, played[1:], strict=False):
        ends = ends_of_leaving(old, new)
        landing, first = max(new.on.values()), min(new.on.values())
        assert change.landed_s == pytest.approx(landing)
        assert change.struck_s == pytest.approx(max(old.on.values()))
        assert change.strike_ms == pytest.approx(1000 * (landing - max(old.on.values())), abs=0.01)
        assert change.spread_ms == pytest.approx(1000 * (landing - first), abs=0.01)
        assert change.change_ms == pytest.approx(1000 * (landing - min(ends)), abs=0.01)
        assert change.gap_ms == pytest.approx(1000 * (first - max(ends)), abs=0.01)
        assert (change.wrong, change.missing) == ((), ())


def figured(*shapes: str) -> tuple[HeardChange, ...]:
    """Return what is heard of `shapes` in a drill of Am and C, a beat of 500 ms to a note, in time throughout."""
    playing = Playing()
    for number, shape in enumerate(shapes):
        for place, string in enumerate((5, 3, 2, 1)):
            playing.note(2 * number + 0.5 * place, string, frets(shape)[string])
    steps = [step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C)]
    return hear(drill(*steps), playing.events)


class TestFigurePlayedAgain:
    """A figure repeated in time before the change: the next one is not late for it."""

    @pytest.mark.parametrize("times", [1, 2, 3])
    def test_in_time_is_no_delay(self, times: int) -> None:
        change = figured(*[AM] * times, C)[0]
        assert change.landed_s == pytest.approx(2 * times + 1.5)
        assert change.delay_ms == pytest.approx(0)
        assert change.mend is None

    def test_the_second_of_two_changes(self) -> None:
        assert [change.delay_ms for change in figured(AM, C, C, AM)] == pytest.approx([0, 0])

    def test_a_bass_plucked_twice(self) -> None:
        # Am twice, then C, of which the last note comes 100 ms late.
        steps = [step(shape, strokes=TWICE, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, bass, late in ((0, 45, 0.0), (2, 45, 0.0), (4, 48, 0.1)):
            playing.note(at, 5, bass).note(at + 0.5, 1, 64).note(at + 1, 5, bass).note(at + 1.5 + late, 2, 60)
        change = hear(drill(*steps), playing.events)[0]
        assert change.delay_ms == pytest.approx(100)

    def test_begun_again_after_a_stumble(self) -> None:
        # Two notes of Am at 0 and 0.5 s, then the whole of it from 1.0 s and C from 3.0 s.
        steps = [step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing().note(0, 5, 45).note(0.5, 3, 57)
        for at, shape in ((1, AM), (3, C)):
            for place, string in enumerate((5, 3, 2, 1)):
                playing.note(at + 0.5 * place, string, frets(shape)[string])
        assert hear(drill(*steps), playing.events)[0].delay_ms == pytest.approx(0)

    def test_its_last_note_again_leaves_the_tempo_as_it_was(self) -> None:
        # The treble of Am once more at 2.0 s, then C half a second late by the tempo that Am was played in.
        steps = [step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, shape in ((0, AM), (2.5, C)):
            for place, string in enumerate((5, 3, 2, 1)):
                playing.note(at + 0.5 * place, string, frets(shape)[string])
        playing.note(2.0, 1, 64)
        assert hear(drill(*steps), playing.events)[0].delay_ms == pytest.approx(500)

    def test_one_beat_tells_no_tempo(self) -> None:
        steps = (step(AM), step(C, strokes=FIGURED, texture=Texture.FIGURE))
        playing = Playing().shape(0, AM)
        for place, string in enumerate((5, 3, 2, 1)):
            playing.note(2 + 0.5 * place, string, frets(C)[string])
        assert hear(drill(*steps), playing.events)[0].delay_ms is None

    def test_its_first_note_alone_again_tells_no_tempo(self) -> None:
        # Am in time, its bass once more at 2.0 s, then C: nothing says how fast Am was meant to go on.
        steps = [step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, shape in ((0, AM), (2.5, C)):
            for place, string in enumerate((5, 3, 2, 1)):
                playing.note(at + 0.5 * place, string, frets(shape)[string])
        change = hear(drill(*steps), playing.note(2.0, 5, 45).events)[0]
        assert change.landed_s == pytest.approx(4.0)
        assert change.delay_ms is None

    def test_left_in_the_middle_of_the_second_time(self) -> None:
        # Am, two notes of it again from 2.0 s, then C from 3.0 s: by that second time its place is 4.0 s.
        steps = [step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing().note(2.0, 5, 45).note(2.5, 3, 57)
        for at, shape in ((0, AM), (3, C)):
            for place, string in enumerate((5, 3, 2, 1)):
                playing.note(at + 0.5 * place, string, frets(shape)[string])
        assert hear(drill(*steps), playing.events)[0].delay_ms == pytest.approx(-1000)

    def test_played_backwards_tells_no_tempo(self) -> None:
        steps = [step(shape, strokes=FIGURED, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, shape, order in ((0, AM, (1, 2, 3, 5)), (2, C, (5, 3, 2, 1))):
            for place, string in enumerate(order):
                playing.note(at + 0.5 * place, string, frets(shape)[string])
        change = hear(drill(*steps), playing.events)[0]
        assert change.landed_s == pytest.approx(3.5)
        assert change.delay_ms is None


def test_a_note_plucked_again_does_not_tell_when_the_hand_left() -> None:
    # C's bass ends at 0.99 s to be plucked again; fretted notes end at 1.9 (string 5) and 1.95 s (string 2).
    # E lands with its sixth note at 2.025 s.
    steps = (step(C, strokes=TWICE, texture=Texture.FIGURE), step(E))
    playing = Playing().note(0, 5, 48, 0.99).note(0.5, 1, 64, 1.99).note(1, 5, 48, 1.9).note(1.5, 2, 60, 1.95)
    change = hear(drill(*steps), playing.shape(2, E).events)[0]
    assert change.change_ms == pytest.approx(125)
    assert change.gap_ms == pytest.approx(50)


def test_kept_down_asks_only_what_sounded_in_between() -> None:
    # String 4 opens 30 ms after C has landed: that is no part of the change from Am.
    playing = Playing().shape(0, AM, 1.98).shape(2, C, {4: 2.045}).note(2.05, 4, 50, 2.5)
    assert hear(drill(AM, C), playing.events)[0].kept_down == {1: Answer.YES, 2: Answer.YES}


def test_a_stray_note_between_two_shapes_counts_once() -> None:
    playing = Playing().shape(0, AM).shape(2, C).note(3.0, 6, 40).shape(4, AM)
    assert [change.wrong for change in hear(drill(AM, C), playing.events)] == [(), (40,)]


def test_a_roll_struck_together() -> None:
    playing = Playing().shape(0, AM).shape(2, C)
    change = hear(drill(AM, C, texture=Texture.ROLLED), playing.events)[0]
    assert change.landed
    assert change.mend == "struck together, asked for a roll"


def test_beats_can_be_set_and_taken_away_while_playing() -> None:
    # C is 30 ms after its beat, Am comes when there is no beat any more.
    matcher = Matcher(drill(AM, C))
    matcher.pace(Grid(at=0.0, beat_s=0.5))
    events = Playing().shape(0, AM).shape(2.03, C).shape(4.5, AM).events
    found = [change for event in events if event.at < 4 for change in matcher.feed(event)]
    matcher.pace(None)
    found += [change for event in events if event.at >= 4 for change in matcher.feed(event)]
    done = [change for change in (*found, *matcher.finish()) if change.done]
    assert [change.lateness_ms for change in done] == [pytest.approx(30), None]
