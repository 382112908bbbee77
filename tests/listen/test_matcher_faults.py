"""The filters against a tracker's faults: what passes, when, and what does not."""

from __future__ import annotations

import pytest

from tests.listen.building import AM, C, Playing, drill, steps_of
from trainer.fretboard.instrument import Instrument
from trainer.listen.matcher import Filters, Matcher, hear
from trainer.listen.matcher.faults import FaultFilter, Reason
from trainer.practice.measures import Answer
from trainer.practice.notes import Bend, NoteEvent, NoteOff, NoteOn


def run(*events: NoteEvent) -> tuple[list[list[NoteEvent]], list[NoteEvent], dict[Reason, int]]:
    """Return what passes with each event, what is left at the end, and the counts."""
    stage = FaultFilter(Instrument(), Filters())
    passed = [stage.feed(event) for event in events]
    return passed, stage.flush(), dict(stage.taken)


def test_loud_notes_pass_at_once() -> None:
    on, off = NoteOn(1.0, 64, 40, 1), NoteOff(1.5, 64, 1)
    assert run(on, off) == ([[on], [off]], [], {})


def test_below_the_floor() -> None:
    assert run(NoteOn(1.0, 64, 7, 1)) == ([[]], [], {Reason.SOFT: 1})


@pytest.mark.parametrize(
    ("string", "pitch", "passes"),
    [(1, 64, True), (1, 63, False), (1, 83, True), (1, 84, False), (6, 40, True), (6, 39, False), (6, 60, False)],
)
def test_a_pitch_that_the_string_has_not(string: int, pitch: int, passes: bool) -> None:
    # Open string to fret 19: E4 to B5 on string 1, E2 to B3 on string 6.
    assert bool(run(NoteOn(1.0, pitch, 80, string))[0][0]) is passes


@pytest.mark.parametrize(("pitch", "passes"), [(39, False), (40, True), (83, True), (84, False)])
def test_without_strings_any_string_may_have_it(pitch: int, passes: bool) -> None:
    assert bool(run(NoteOn(1.0, pitch, 80))[0][0]) is passes


def test_a_quiet_short_note_is_a_ghost() -> None:
    assert run(NoteOn(1.0, 76, 39, 1), NoteOff(1.049, 76, 1)) == ([[], []], [], {Reason.GHOST: 1})


def test_a_quiet_note_that_lasts_passes_late_with_its_own_time() -> None:
    on, off = NoteOn(1.0, 76, 39, 1), NoteOff(1.051, 76, 1)
    assert run(on, off) == ([[], [on, off]], [], {})


def test_a_tick_releases_it() -> None:
    stage = FaultFilter(Instrument(), Filters())
    on = NoteOn(1.0, 76, 39, 1)
    assert stage.feed(on) == []
    assert stage.tick(1.049) == []
    assert stage.tick(1.05) == [on]
    assert stage.tick(2.0) == []


def test_triggered_twice() -> None:
    on, again = NoteOn(1.0, 64, 80, 1), NoteOn(1.049, 64, 90, 1)
    assert run(on, again) == ([[on], []], [], {Reason.DOUBLE: 1})


def test_triggered_twice_with_an_end_between() -> None:
    on, end, again, off = NoteOn(1.0, 64, 80, 1), NoteOff(1.02, 64, 1), NoteOn(1.03, 64, 80, 1), NoteOff(2.0, 64, 1)
    assert run(on, end, again, off) == ([[on], [], [], [off]], [], {Reason.DOUBLE: 1})


def test_struck_twice() -> None:
    # A fast tremolo strikes about every 90 ms.
    on, again = NoteOn(1.0, 64, 80, 1), NoteOn(1.09, 64, 80, 1)
    assert run(on, again) == ([[on], [again]], [], {})


def test_the_end_of_a_short_note_comes_late_with_its_own_time() -> None:
    on, off, later = NoteOn(1.0, 64, 80, 1), NoteOff(1.03, 64, 1), NoteOn(1.2, 60, 80, 2)
    assert run(on, off, later) == ([[on], [], [off, later]], [], {})


def test_a_note_on_a_bent_string_waits_for_the_bend_to_be_taken_back() -> None:
    up, on, back = Bend(1.0, 1.0, 1), NoteOn(1.1, 67, 80, 1), Bend(1.103, 0.0, 1)
    assert run(up, on, back) == ([[up], [], [back, on]], [], {})


def test_a_bend_that_stays_is_waited_for_no_longer() -> None:
    up, on, later = Bend(1.0, 1.0, 1), NoteOn(1.1, 66, 80, 1), NoteOff(1.2, 60, 2)
    assert run(up, on, later) == ([[up], [], [on, later]], [], {})


class TestThroughTheMatcher:
    def test_ghosts_are_not_wrong_notes(self) -> None:
        playing = Playing().shape(0, AM, 0.98).shape(1, C, 1.98).note(1.03, 2, 72, 1.06, 30).note(1.5, 1, 76, 1.52, 20)
        change = hear(drill(AM, C), playing.shape(2, AM).events)[0]
        assert change.landed
        assert change.wrong == ()
        assert change.clean is True

    def test_a_loud_ghost_is_not_wrong_either(self) -> None:
        playing = Playing().shape(0, AM, 0.98).shape(1, C, 1.98).note(1.012, 6, 47, 1.035, 90).shape(2, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert (change.wrong, change.clean) == ((), True)

    def test_dropped_ends(self) -> None:
        playing = Playing()
        for beat, shape in enumerate((AM, C) * 3):
            playing.shape(beat, shape)
        changes = hear(drill(AM, C), playing.events)
        assert steps_of(changes) == [(0, 1, True), (1, 0, True)] * 2 + [(0, 1, True)]
        assert all(change.clean for change in changes[:-1])

    def test_a_lost_end_is_no_overlap(self) -> None:
        # String 5 of C has no stroke in the next shape: its end was lost, and is not the next note a second later.
        part = "x x 0 2/2 1/1 2/3"
        playing = Playing().shape(0, C, {4: 0.9, 3: 0.98, 2: 0.99, 1: 0.95}).shape(1, part, 1.98).shape(2, C)
        assert hear(drill(C, part), playing.events)[0].gap_ms == pytest.approx(100)

    def test_triggered_twice_is_one_note(self) -> None:
        playing = Playing().shape(0, AM, 0.98).shape(1, C, 1.98).note(1.03, 5, 48, None).shape(2, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.spread_ms == pytest.approx(20)
        assert change.clean is True

    def test_octaves_do_not_speak_of_fingers(self) -> None:
        playing = Playing().shape(0, AM, 0.98).note(0.5, 4, 64, 0.9, 60).shape(1, C)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.kept_down[2] is Answer.YES

    def test_a_bend_left_over_is_part_of_the_pitch(self) -> None:
        # MIDI 1.0: a channel's bend holds until it is changed, so note 66 bent by one semitone sounds as 67.
        g = "x x x x x 3/3"
        events: list[NoteEvent] = [NoteOn(0, 64, 80, 1), NoteOff(0.9, 64, 1), Bend(0.95, 1.0, 1), NoteOn(1, 66, 80, 1)]
        assert hear(drill("x x x x x 0", g), [*events, NoteOff(2, 66, 1)])[0].landed

    def test_a_bend_for_every_string(self) -> None:
        g = "x x x x x 3/3"
        events: list[NoteEvent] = [NoteOn(0, 64, 80, 1), NoteOff(0.9, 64, 1), Bend(0.95, 1.0), NoteOn(1, 66, 80, 1)]
        assert hear(drill("x x x x x 0", g), [*events, NoteOff(2, 66, 1)])[0].landed

    def test_noise_is_forgotten(self) -> None:
        matcher = Matcher(drill(AM, C))
        for n in range(500):
            assert matcher.feed(NoteOn(n * 0.2, 41 + n % 3, 80, 6)) == ()
        assert len(matcher._reader.pending) <= 41
        given = [change for event in Playing().shape(200, AM).shape(201, C).events for change in matcher.feed(event)]
        assert steps_of(given) == [(0, 1, True)]

    def test_memory_stays_small_however_long_one_shape_is_held(self) -> None:
        matcher = Matcher(drill(AM, C))
        for event in Playing().shape(0, AM).events:
            matcher.feed(event)
        for n in range(5000):
            matcher.feed(NoteOn(1 + n * 0.2, 64, 80, 1))
            matcher.feed(NoteOn(1.1 + n * 0.2, 41 + n % 5, 80, 6))
        assert matcher.reading.step == 0
        here = matcher._here
        assert here is not None
        assert len(here.tries) + len(here.strays) + len(matcher._reader.pending) < 600
