"""Which shape is being struck: every way of playing that must not lead the matcher astray."""

from __future__ import annotations

from itertools import permutations

import pytest

from tests.listen.building import AM, D7, DM, C, E, G, Playing, drill, step, steps_of
from trainer.errors import ChangeoverError
from trainer.listen.matcher import Grid, Matcher, hear
from trainer.practice.drill import Order
from trainer.practice.flaws import Flaw
from trainer.practice.measures import Answer
from trainer.practice.notes import NoteOn
from trainer.practice.record import Texture

BASS_UP = {1: [5], 2: [3], 3: [2], 4: [1]}
"""One string to a beat, from the bass up."""


class TestOrder:
    @pytest.mark.parametrize("order", list(permutations((5, 4, 3, 2, 1))))
    def test_notes_in_any_order(self, order: tuple[int, ...]) -> None:
        playing = Playing().shape(0, AM, 1.98).shape(2, C, order=order).shape(4, AM)
        first, second = hear(drill(AM, C), playing.events)
        assert [first.landed_s, first.gap_ms] == pytest.approx([2.02, 20])
        assert first.wrong == ()
        assert second.landed_s == pytest.approx(4.02)

    @pytest.mark.parametrize("order", [(5, 4, 3, 2, 1), (1, 2, 3, 4, 5)])
    def test_slow_plucks_string_by_string(self, order: tuple[int, ...]) -> None:
        playing = Playing().shape(0, AM, 1.9).shape(2, C, apart=0.8, order=order).shape(9, AM)
        first, second = hear(drill(AM, C), playing.events)
        assert first.landed_s == pytest.approx(5.2)
        assert first.gap_ms == pytest.approx(100)
        assert second.landed_s == pytest.approx(9.02)

    def test_times_a_little_out_of_order(self) -> None:
        # Corrected for latency, the bass that arrives last was struck first.
        events = Playing().shape(0, AM).events + Playing().shape(2, C).events[::-1]
        assert hear(drill(AM, C), events)[0].landed_s == pytest.approx(2.02)


class TestStruckAgain:
    def test_the_old_shape_again_is_no_change(self) -> None:
        playing = Playing()
        for at in (0, 1, 2):
            playing.shape(at, AM, at + 0.98)
        playing.shape(3, C, 3.98).shape(4, C, 4.98).shape(5, AM)
        changes = hear(drill(AM, C), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 0, True)]
        assert [change.struck_s for change in changes] == pytest.approx([2.02, 4.02])
        assert [change.clean for change in changes] == [True, None]

    def test_one_shared_string_again_is_no_new_shape(self) -> None:
        # Open string 1 is in both shapes: plucked alone at 1 s, then Am again, then C.
        playing = Playing().shape(0, AM, 0.98).note(1, 1, 64, 1.9).shape(2, AM, 2.98).shape(3, C)
        changes = hear(drill(AM, C), playing.events)
        assert steps_of(changes) == [(0, 1, True)]
        assert changes[0].struck_s == pytest.approx(2.02)

    def test_one_shared_string_before_the_new_shape_is_not_its_beginning(self) -> None:
        playing = Playing().shape(0, AM, 1.98).note(1, 1, 64, 1.9).shape(2, C)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.spread_ms == pytest.approx(20)
        assert change.gap_ms == pytest.approx(20)

    @pytest.mark.parametrize("times", [3, 30])
    def test_strumming_what_both_shapes_have(self, times: int) -> None:
        # After Am its two upper strings, which C has too, again and again; then C.
        playing = Playing().shape(0, AM, 0.98)
        for n in range(times):
            at = 1 + n / 4
            playing.note(at, 1, 64, at + 0.2).note(at + 0.005, 2, 60, at + 0.2)
        end = 1 + times / 4
        change = hear(drill(AM, C), playing.shape(end, C).events)[0]
        assert change.landed_s == pytest.approx(end + 0.02)
        assert change.struck_s == pytest.approx(end - 0.245)
        assert change.spread_ms == pytest.approx(20)

    def test_second_try_after_a_wrong_note(self) -> None:
        # The first try has string 5 at fret 2.
        playing = Playing().shape(0, AM, 1.95).shape(2, C, 2.9, without=(5,)).note(2.0, 5, 47, 2.9).shape(3, C, 3.98)
        changes = hear(drill(AM, C), playing.shape(4, AM).events)
        assert steps_of(changes) == [(0, 1, True), (1, 0, True)]
        assert changes[0].landed_s == pytest.approx(3.02)
        assert changes[0].wrong == (47,)
        assert changes[0].clean is False
        assert changes[0].gap_ms == pytest.approx(50)
        assert changes[0].spread_ms == pytest.approx(20)
        assert changes[0].mend == "string 5 sounded B2, not C3"

    def test_second_try_after_a_wholly_wrong_shape(self) -> None:
        playing = Playing().shape(0, AM, 1.9).shape(2, "x 4 6 6 5 4", 2.9).shape(3, C, 3.9).shape(4, AM)
        changes = hear(drill(AM, C), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 0, True)]
        assert changes[0].wrong == (49, 56, 61, 64, 68)

    def test_the_missing_string_alone_lands_it(self) -> None:
        playing = Playing().shape(0, AM, 1.9).shape(2, C, 5, without=(3,)).note(3, 3, 55, 5).shape(5, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.landed_s == pytest.approx(3)
        assert change.missing == ()

    def test_a_note_gone_before_the_others_is_lost(self) -> None:
        playing = Playing().shape(0, AM, 1.9).note(2, 5, 48, 2.3).shape(2.5, C, 4, without=(5,)).shape(4, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.landed_s is None
        assert change.missing == ()
        assert change.mend == "string 5 gone before the others sounded"

    def test_what_was_lost_can_be_struck_again(self) -> None:
        playing = Playing().shape(0, AM, 1.9).note(2, 5, 48, 2.3).shape(2.5, C, 4, without=(5,)).note(3, 5, 48, 4)
        assert hear(drill(AM, C), playing.events)[0].landed_s == pytest.approx(3)


class TestWays:
    def test_round_after_round(self) -> None:
        playing = Playing()
        for beat, shape in enumerate((AM, C, D7, G) * 3):
            playing.shape(beat, shape, beat + 0.98)
        changes = hear(drill(AM, C, D7, G), playing.events)
        assert [change.index for change in changes] == list(range(11))
        assert steps_of(changes) == [(n % 4, (n + 1) % 4, True) for n in range(11)]
        assert all(change.expected for change in changes)

    def test_the_way_back_of_a_passage_is_no_change(self) -> None:
        playing = Playing()
        for beat, shape in enumerate((AM, C, D7) * 2):
            playing.shape(beat, shape, beat + 0.98)
        changes = hear(drill(AM, C, D7, order=Order.ONCE), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 2, True), (0, 1, True), (1, 2, True)]
        assert [change.index for change in changes] == [0, 1, 2, 3]

    def test_going_on_without_waiting(self) -> None:
        # C lacks a string, and the player goes on.
        playing = Playing().shape(0, AM, 0.98).shape(1, C, 1.98, without=(3,)).shape(2, D7, 2.98).shape(3, G)
        changes = hear(drill(AM, C, D7, G), playing.events)
        assert steps_of(changes) == [(0, 1, False), (1, 2, True), (2, 3, True)]
        assert changes[0].missing == ((3, 55),)

    @pytest.mark.parametrize("order", [(6, 5, 4, 3, 2, 1), (1, 2, 3, 4, 5, 6)])
    def test_skipping_a_shape(self, order: tuple[int, ...]) -> None:
        playing = Playing().shape(0, AM, 0.98).shape(1, D7, 1.98, order=order).shape(2, G)
        changes = hear(drill(AM, C, D7, G), playing.events)
        assert steps_of(changes) == [(0, 2, True), (2, 3, True)]
        assert [change.expected for change in changes] == [False, True]

    def test_going_back(self) -> None:
        playing = Playing()
        for beat, shape in enumerate((AM, C, D7, C, D7, G)):
            playing.shape(beat, shape, beat + 0.98)
        changes = hear(drill(AM, C, D7, G), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 2, True), (2, 1, True), (1, 2, True), (2, 3, True)]

    def test_beginning_in_the_middle(self) -> None:
        playing = Playing().shape(0, D7, 0.98).shape(1, G)
        assert steps_of(hear(drill(AM, C, D7, G), playing.events)) == [(2, 3, True)]

    def test_the_same_shape_twice(self) -> None:
        playing = Playing()
        for beat, shape in enumerate((AM, AM, C, AM, AM, C)):
            playing.shape(beat, shape, beat + 0.98)
        changes = hear(drill(AM, AM, C), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 2, True), (2, 0, True), (0, 1, True), (1, 2, True)]

    def test_a_shape_within_the_one_before(self) -> None:
        # The second shape is the upper three strings of the first, which is struck twice.
        part = "x x x 2/3 1/1 0"
        playing = Playing()
        for beat, shape in enumerate((AM, AM, part, AM, part)):
            playing.shape(beat, shape, beat + 0.98, order=(1, 2, 3, 4, 5))
        changes = hear(drill(AM, part), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 0, True), (0, 1, True)]
        assert changes[0].struck_s == pytest.approx(1.02)

    def test_a_shape_around_the_one_before(self) -> None:
        part = "x x x 2/3 1/1 0"
        playing = Playing().shape(0, part, 0.98).shape(1, part, 1.98).shape(2, AM, 2.98).shape(3, part)
        assert steps_of(hear(drill(part, AM), playing.events)) == [(0, 1, True), (1, 0, True)]

    def test_single_notes(self) -> None:
        line = [(2, 60), (2, 62), (1, 64), (1, 64), (2, 62), (2, 60)]
        names = ("x x x x 1 x", "x x x x 3 x", "x x x x x 0", "x x x x x 0", "x x x x 3 x", "x x x x 1 x")
        playing = Playing()
        for beat, (string, pitch) in enumerate(line):
            playing.note(beat * 0.25, string, pitch, beat * 0.25 + 0.24)
        changes = hear(drill(*names, order=Order.ONCE), playing.events)
        assert steps_of(changes) == [(n, n + 1, True) for n in range(5)]

    def test_one_wrong_single_note_loses_nothing(self) -> None:
        names = ("x x x x 1 x", "x x x x 3 x", "x x x x x 0", "x x x x x 1")
        playing = Playing().note(0, 2, 60, 0.2).note(0.25, 2, 61, 0.45).note(0.5, 1, 64, 0.7).note(0.75, 1, 65, 1)
        changes = hear(drill(*names, order=Order.ONCE), playing.events)
        assert [change.after for change in changes if change.landed] == [2, 3]

    def test_strings_ringing_on_from_the_shape_before(self) -> None:
        playing = Playing().shape(0, E, {6: 5, 5: 2.03, 4: 2.5, 3: 2.04, 2: 2.05, 1: 6}).shape(2, AM)
        change = hear(drill(E, AM), playing.events)[0]
        assert change.landed_s == pytest.approx(2.02)
        assert change.wrong == ()

    def test_a_finger_that_takes_over_keeps_the_note(self) -> None:
        # Finger 3 takes over string 3 from finger 2, unstruck: its note does not leave, the one on string 4 does.
        steps = (step("x x 4/4 2/2 x x"), step("x x 2/1 2/3 x x", strokes={1: [4]}))
        playing = Playing().note(0, 4, 54, 0.8).note(0.005, 3, 57, 2).note(1, 4, 52, 2)
        change = hear(drill(*steps), playing.events)[0]
        assert change.gap_ms == pytest.approx(200)
        assert change.change_ms == pytest.approx(200)


class TestFigures:
    @staticmethod
    def figure(playing: Playing, at: float, shape: dict[int, int], off: dict[int, float], beat: float = 0.25) -> None:
        for number, string in enumerate((5, 3, 2, 1)):
            playing.note(at + number * beat, string, shape[string], off[string])

    def test_delay_against_the_players_own_tempo(self) -> None:
        # A beat is 250 ms; the second shape begins 100 ms late and gains 20 ms of it.
        steps = [step(shape, strokes=BASS_UP, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        self.figure(playing, 0, {5: 45, 3: 57, 2: 60, 1: 64}, {5: 0.99, 3: 0.9, 2: 0.9, 1: 0.95})
        for string, pitch, on in ((5, 48, 1.1), (3, 55, 1.35), (2, 60, 1.6), (1, 64, 1.83)):
            playing.note(on, string, pitch, 2.1)
        change = hear(drill(*steps), playing.events)[0]
        assert change.landed_s == pytest.approx(1.83)
        assert change.delay_ms == pytest.approx(100)
        assert change.lateness_ms is None
        assert change.change_ms is None
        assert change.spread_ms is None
        assert change.strike_ms == pytest.approx(1080)
        assert change.gap_ms == pytest.approx(200)  # string 3, its one fretted note that is not kept, ended at 900 ms

    def test_delay_on_a_grid(self) -> None:
        steps = [step(shape, strokes=BASS_UP, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, pitches in ((0.0, (45, 57, 60, 64)), (1.0, (48, 55, 60, 64))):
            for number, (string, pitch) in enumerate(zip((5, 3, 2, 1), pitches, strict=True)):
                late = 0.06 if number == 2 else 0.01
                playing.note(at + number * 0.25 + late, string, pitch, at + 1)
        change = hear(drill(*steps), playing.events, grid=Grid(0.0, 0.25))[0]
        assert change.delay_ms == pytest.approx(60)

    def test_a_bass_released_as_written_is_not_lost(self) -> None:
        # The bass of each shape is struck twice; its first note ends before the treble sounds, a treble fades.
        strokes = {1: [5], 2: [1], 3: [5], 4: [2]}
        steps = [step(shape, strokes=strokes, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, bass in ((0.0, 45), (1.0, 48), (2.0, 45)):
            playing.note(at, 5, bass, at + 0.24).note(at + 0.25, 1, 64, at + 0.7)
            playing.note(at + 0.5, 5, bass, at + 0.99).note(at + 0.75, 2, 60, at + 0.99)
        changes = hear(drill(*steps), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 0, True)]
        assert [change.landed_s for change in changes] == pytest.approx([1.75, 2.75])
        assert changes[0].clean is True
        assert changes[0].missing == ()

    def test_an_inner_note_missed(self) -> None:
        steps = [step(shape, strokes=BASS_UP, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        self.figure(playing, 0, {5: 45, 3: 57, 2: 60, 1: 64}, dict.fromkeys((5, 3, 2, 1), 0.99))
        playing.note(1, 5, 48, 1.99).note(1.5, 2, 60, 1.99).note(1.75, 1, 64, 1.99)
        self.figure(playing, 2, {5: 45, 3: 57, 2: 60, 1: 64}, dict.fromkeys((5, 3, 2, 1), 2.99))
        first, second = hear(drill(*steps), playing.events)
        assert first.landed_s == pytest.approx(1.75)
        assert first.missing == ((3, 55),)
        assert first.clean is False
        assert second.landed_s == pytest.approx(2.75)

    def test_the_figure_again_is_no_change(self) -> None:
        steps = [step(shape, strokes=BASS_UP, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, shape in enumerate((AM, AM, C, C, AM)):
            pitches = {5: 45, 3: 57, 2: 60, 1: 64} if shape == AM else {5: 48, 3: 55, 2: 60, 1: 64}
            self.figure(playing, at, pitches, dict.fromkeys((5, 3, 2, 1), at + 0.99))
        assert steps_of(hear(drill(*steps), playing.events)) == [(0, 1, True), (1, 0, True)]

    def test_a_string_plucked_twice_last(self) -> None:
        strokes = {1: [5, 1], 2: [3], 3: [2], 4: [1]}
        steps = [step(shape, strokes=strokes, texture=Texture.FIGURE) for shape in (AM, C)]
        playing = Playing()
        for at, (bass, inner) in ((0.0, (45, 57)), (1.0, (48, 55))):
            playing.note(at, 5, bass).note(at + 0.003, 1, 64).note(at + 0.25, 3, inner).note(at + 0.5, 2, 60)
            playing.note(at + 0.75, 1, 64)
        change = hear(drill(*steps), playing.events)[0]
        assert change.landed_s == pytest.approx(1.75)
        assert change.spread_ms == pytest.approx(3)


class TestOneChannel:
    def test_pitches_only(self) -> None:
        playing = Playing(strings=False)
        for beat, shape in enumerate((AM, C, AM)):
            playing.shape(beat, shape, {5: beat + 0.98, 4: beat + 0.99, 3: beat + 0.9, 2: beat + 0.99, 1: beat + 0.99})
        first, second = hear(drill(AM, C), playing.events)
        assert first.landed_s == pytest.approx(1.02)
        assert first.change_ms == pytest.approx(120)
        assert first.gap_ms == pytest.approx(100)
        assert second.landed

    def test_missing_has_no_string(self) -> None:
        playing = Playing(strings=False).shape(0, AM, 0.98).shape(1, C, 1.98, without=(3,)).shape(2, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.missing == ((None, 55),)
        assert change.mend == "G3 missing"

    def test_kept_down_is_never_no(self) -> None:
        playing = Playing(strings=False).shape(0, AM, 0.9).note(0.9, 4, 50, 0.98).shape(1, C)
        change = hear(drill(AM, C), playing.events)[0]
        assert set(change.kept_down.values()) <= {Answer.YES, Answer.NOT_HEARD}
        assert Flaw.OPENED not in [fault.flaw for fault in change.faults]

    def test_unison_counts_once(self) -> None:
        shapes = ("x x x x 5/4 0", "x x x x 3/2 3/3")
        playing = Playing(strings=False).shape(0, shapes[1], 0.9).note(1, 1, 64)
        assert hear(drill(shapes[1], shapes[0]), playing.events)[0].landed


class TestMatcher:
    def test_a_landing_is_given_at_once_and_again_when_done(self) -> None:
        matcher = Matcher(drill(AM, C))
        given = []
        for event in Playing().shape(0, AM).shape(2, C).shape(4, AM).events:
            given += [(event.at, change.index, change.done) for change in matcher.feed(event)]
        given += [(99.0, change.index, change.done) for change in matcher.finish()]
        assert given == [
            (pytest.approx(2.02), 0, False),
            (pytest.approx(4.02), 0, True),
            (pytest.approx(4.02), 1, False),
            (99.0, 1, True),
        ]

    def test_a_landing_that_might_be_more_waits_for_the_strum(self) -> None:
        # The new shape lies within the old one: only the silence after it tells which was struck.
        part = "x x x 2/3 1/1 0"
        matcher = Matcher(drill(AM, part))
        events = Playing().shape(0, AM).shape(2, part).events
        assert not [change for event in events for change in matcher.feed(event)]
        assert matcher.tick(2.05) == ()
        (change,) = matcher.tick(2.3)
        assert change.landed_s == pytest.approx(2.01)

    def test_reading(self) -> None:
        matcher = Matcher(drill(AM, C))
        assert (matcher.reading.step, matcher.reading.heard, matcher.reading.landed) == (0, (), False)
        for event in Playing().shape(0, AM).events:
            matcher.feed(event)
        assert matcher.reading.landed
        assert matcher.reading.missing == ()
        for event in Playing().note(2, 5, 48).note(2.01, 3, 56).events:
            matcher.feed(event)
        reading = matcher.reading
        assert (reading.step, reading.landed) == (1, False)
        assert reading.heard == ((5, 48),)
        assert reading.missing == ((4, 52), (3, 55), (2, 60), (1, 64))
        assert reading.wrong == ((3, 56),)

    def test_a_wrong_note_is_read_until_its_string_is_struck_again(self) -> None:
        matcher = Matcher(drill(AM, C))
        found = []
        for event in Playing().shape(0, AM, 0.9).shape(1, E, 1.9).shape(2, C).events:
            matcher.feed(event)
            found.append(matcher.reading.wrong)
        assert any(found)
        assert (matcher.reading.step, matcher.reading.landed, matcher.reading.wrong) == (1, True, ())

    def test_restart_gives_what_had_landed(self) -> None:
        matcher = Matcher(drill(AM, C, G))
        given = [change for event in Playing().shape(0, AM).shape(1, C).events for change in matcher.feed(event)]
        assert [change.done for change in given] == [False]
        (landed,) = matcher.restart(2)
        assert (landed.after, landed.landed, landed.done, landed.clean) == (1, True, True, None)
        assert matcher.reading.step == 2
        later = Playing().shape(10, G).shape(11, AM).events
        found = [change for event in later for change in matcher.feed(event)]
        assert steps_of(found) == [(2, 0, True)]

    def test_restart_drops_the_change_under_way_and_does_not_count_it(self) -> None:
        matcher = Matcher(drill(AM, C, G))
        for event in Playing().shape(0, AM).shape(1, C, without=[1]).events:
            matcher.feed(event)
        assert matcher.tick(3) == ()
        assert matcher.restart(0) == ()
        found = [change for event in Playing().shape(10, AM).shape(11, C).events for change in matcher.feed(event)]
        assert [(change.index, change.before, change.after) for change in found] == [(0, 0, 1)]

    def test_nothing_heard(self) -> None:
        assert hear(drill(AM, C), []) == ()

    def test_noise_alone(self) -> None:
        events = [NoteOn(n * 0.3, 41 + n % 3, 80, 6) for n in range(200)]
        assert hear(drill(AM, C), events) == ()

    def test_a_drill_that_cannot_be_heard(self) -> None:
        with pytest.raises(ChangeoverError, match="no shape of this drill sounds"):
            Matcher(drill("x x x (2/1) x x", "x x x (2/2) x x"))

    def test_a_step_without_sound_is_passed_over(self) -> None:
        playing = Playing().shape(0, AM, 0.98).shape(1, DM)
        assert steps_of(hear(drill(AM, "x x x (2/1) x x", DM), playing.events)) == [(0, 2, True)]
