"""Every measure of a heard change, with values worked out by hand from its definition."""

from __future__ import annotations

import pytest

from tests.listen.building import AM, D7, DM, C, E, G, Playing, drill, step
from trainer.listen.matcher import Grid, Settings, hear
from trainer.practice.flaws import Flaw
from trainer.practice.measures import Answer, Direction, HeardChange
from trainer.practice.record import Texture


def am_to_c(**late: float) -> Playing:
    """Am at 0 s, its finger 3 (string 3) off at 1.9 s, C at 2 s; fingers 1 and 2 stay down."""
    off = {5: 1.95, 4: 1.998, 3: 1.9, 2: 2.01, 1: 2.015, **{int(k[1:]): v for k, v in late.items()}}
    return Playing().shape(0.0, AM, off).shape(2.0, C)


def only(playing: Playing, *shapes: str, **more: object) -> HeardChange:
    changes = hear(drill(*shapes), playing.events, **more)  # type: ignore[arg-type]  # test data
    assert len(changes) == 1
    return changes[0]


class TestTimes:
    def test_a_block_change(self) -> None:
        # Strings 5 to 1, 5 ms apart: Am at 0-20 ms, C at 2000-2020 ms.
        change = only(am_to_c(), AM, C)
        assert (change.index, change.before, change.after, change.expected) == (0, 0, 1, True)
        assert change.struck_s == pytest.approx(0.02)
        assert change.landed_s == pytest.approx(2.02)
        assert change.change_ms == pytest.approx(120)  # 2020 - 1900: string 3 is the one fretted note not kept
        assert change.strike_ms == pytest.approx(2000)
        assert change.gap_ms == pytest.approx(100)  # 2000 - 1900
        assert change.spread_ms == pytest.approx(20)
        assert change.direction is Direction.BLOCK
        assert change.lateness_ms is None
        assert change.delay_ms is None
        assert change.wrong == ()
        assert change.missing == ()
        assert change.balance is None
        assert change.done

    def test_an_overlap_is_a_negative_gap(self) -> None:
        change = only(am_to_c(s3=2.01), AM, C)
        assert change.gap_ms == pytest.approx(-10)
        assert change.change_ms == pytest.approx(10)

    def test_no_end_told_no_gap_and_no_change_time(self) -> None:
        # C to Dm: strings 3 to 1 are struck anew, which ends what sounded there; 5 and 4 have no stroke and no end.
        playing = Playing().note(0, 5, 48).note(0, 4, 52).note(1, 4, 50, 2).note(1, 3, 57, 2)
        change = only(playing, "x 3/3 2/2 x x x", "x x 0 2/2 x x")
        assert change.landed
        assert change.gap_ms == pytest.approx(0)  # string 4 was taken over at the stroke; string 5 is unknown
        assert change.change_ms == pytest.approx(0)

    def test_first_end_and_latest_end_differ(self) -> None:
        # E to Am: nothing is kept; string 5 ends at 1.6, string 3 at 1.7, string 4 at 1.85.
        playing = Playing().shape(0, E, {6: 2.5, 5: 1.6, 4: 1.85, 3: 1.7, 2: 1.99, 1: 1.99}).shape(2, AM)
        change = only(playing, E, AM)
        assert change.change_ms == pytest.approx(420)
        assert change.gap_ms == pytest.approx(150)

    def test_struck_again_counts_from_the_last_onset(self) -> None:
        playing = Playing().shape(0, AM, 0.99).shape(1, AM, {3: 2.9}).shape(3, C)
        change = only(playing, AM, C)
        assert change.struck_s == pytest.approx(1.02)
        assert change.change_ms == pytest.approx(120)
        assert change.strike_ms == pytest.approx(2000)

    def test_a_faded_treble_does_not_tell_when_the_hand_left(self) -> None:
        # String 2 fades at 2.2 s; the hand leaves at 3.9 s.
        playing = Playing().shape(0, DM, {4: 4, 3: 3.9, 2: 2.2, 1: 3.92}).shape(4, AM)
        assert only(playing, DM, AM).change_ms == pytest.approx(120)

    def test_melody_and_bass_apart(self) -> None:
        # Bass on string 5 ends at 1.8, melody on string 2 at 1.95, the inner string 4 at 2.1.
        steps = (step("x 3/3 2/2 x 1/1 x", melody=2), step("x 2/2 4/4 x 3/3 x", melody=2))
        playing = Playing().shape(0, "x 3 2 x 1 x", {5: 1.8, 4: 1.99, 2: 1.95}).shape(2, "x 2 4 x 3 x", apart=0.01)
        change = hear(drill(*steps), playing.events)[0]
        assert change.gap_bass_ms == pytest.approx(200)  # 2000 - 1800
        assert change.gap_melody_ms == pytest.approx(70)  # 2020 - 1950
        assert change.gap_ms == pytest.approx(10)  # 2000 - 1990


class TestSpread:
    @pytest.mark.parametrize(
        ("apart", "order", "spread", "direction"),
        [
            pytest.param(0.0125, (5, 4, 3, 2, 1), 50, Direction.BLOCK, id="exactly the bound"),
            pytest.param(0.0126, (5, 4, 3, 2, 1), 50.4, Direction.BASS_FIRST, id="just over it"),
            pytest.param(0.04, (5, 4, 3, 2, 1), 160, Direction.BASS_FIRST, id="rolled up"),
            pytest.param(0.04, (1, 2, 3, 4, 5), 160, Direction.TREBLE_FIRST, id="rolled down"),
            pytest.param(0.15, (5, 4, 3, 2, 1), 600, Direction.BASS_FIRST, id="slow roll"),
            pytest.param(0.04, (5, 3, 4, 1, 2), 160, Direction.BASS_FIRST, id="out of order"),
            pytest.param(0.0, (5, 4, 3, 2, 1), 0, Direction.BLOCK, id="at once"),
        ],
    )
    def test_direction(self, apart: float, order: tuple[int, ...], spread: float, direction: Direction) -> None:
        change = only(Playing().shape(0, AM).shape(2, C, apart=apart, order=order), AM, C)
        assert change.landed
        assert change.spread_ms == pytest.approx(spread)
        assert change.direction is direction

    def test_one_note_has_no_spread(self) -> None:
        change = only(Playing().note(0, 1, 64).note(1, 1, 65), "x x x x x 0", "x x x x x 1")
        assert change.landed
        assert (change.spread_ms, change.direction) == (None, None)

    def test_bound_is_a_setting(self) -> None:
        playing = Playing().shape(0, AM).shape(2, C, apart=0.01)
        change = only(playing, AM, C, settings=Settings(block_s=0.03))
        assert change.direction is Direction.BASS_FIRST
        assert change.mend == "rolled, asked for block"


class TestInTempo:
    GRID = Grid(at=0.0, beat_s=0.5)
    """120 to the minute; shapes of four beats begin at 0, 2, 4, ... seconds."""

    def test_lateness_is_the_first_onset_and_delay_the_last(self) -> None:
        change = only(Playing().shape(0, AM).shape(2.03, C), AM, C, grid=self.GRID)
        assert change.lateness_ms == pytest.approx(30)
        assert change.delay_ms == pytest.approx(50)

    def test_early_is_negative(self) -> None:
        assert only(Playing().shape(0, AM).shape(1.97, C), AM, C, grid=self.GRID).lateness_ms == pytest.approx(-30)

    def test_a_roll_that_arrives_on_the_beat(self) -> None:
        rolled = drill(AM, C, texture=Texture.ROLLED)
        events = Playing().shape(0, AM, apart=0.04).shape(1.85, C, apart=0.04).events
        settings = Settings(roll_ends_on_beat=True)
        assert hear(rolled, events, settings, self.GRID)[0].lateness_ms == pytest.approx(10)
        assert hear(rolled, events, Settings(), self.GRID)[0].lateness_ms == pytest.approx(-150)

    def test_second_round(self) -> None:
        playing = Playing().shape(0, AM).shape(2, C).shape(4.1, AM)
        changes = hear(drill(AM, C), playing.events, grid=self.GRID)
        assert changes[1].lateness_ms == pytest.approx(100)
        assert changes[1].mend == "late by 100 ms"

    def test_delay_out_of_tempo_is_for_figures_only(self) -> None:
        assert only(am_to_c(), AM, C).delay_ms is None


class TestNotes:
    def test_missing(self) -> None:
        playing = Playing().shape(0, AM).shape(2, C, without=(3,)).shape(4, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.landed_s is None
        assert change.change_ms is None
        assert change.missing == ((3, 55),)
        assert change.clean is False
        assert change.mend == "string 3 missing"

    def test_wrong_and_missing(self) -> None:
        # String 5 at fret 2 in place of 3.
        playing = Playing().shape(0, AM).shape(2, C, without=(5,)).note(2.001, 5, 47).shape(4, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.wrong == (47,)
        assert change.missing == ((5, 48),)
        assert change.mend == "string 5 sounded B2, not C3"

    def test_a_string_too_many(self) -> None:
        playing = Playing().shape(0, AM).note(1.995, 6, 40).shape(2, C).shape(4, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.landed_s == pytest.approx(2.02)
        assert change.wrong == (40,)
        assert change.clean is False
        assert change.mend == "string 6 sounded E2 and belongs to no note here"

    def test_a_string_too_many_after_the_landing(self) -> None:
        order = (1, 2, 3, 4, 5)
        playing = Playing().shape(0, AM).shape(2, C, order=order).note(2.025, 6, 40).shape(4, AM)
        assert hear(drill(AM, C), playing.events)[0].wrong == (40,)

    def test_an_octave_is_flagged_and_does_not_land(self) -> None:
        playing = Playing().shape(0, AM).shape(2, C, without=(4,)).note(2.005, 4, 64).shape(4, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.octaves == ((4, 64),)
        assert not change.landed
        assert change.wrong == ()
        assert change.missing == ((4, 52),)
        assert change.clean is None
        assert change.mend == "string 4 heard an octave off: E4 for E3"

    def test_same_pitch_on_two_strings_is_two_notes(self) -> None:
        # String 2 at fret 5 and open string 1 are both E4.
        shapes = ("x x x x 5/4 0", "x x x x 3/2 3/3")
        full = Playing().shape(0, shapes[1]).shape(1, shapes[0]).shape(2, shapes[1])
        half = Playing().shape(0, shapes[1]).shape(1, shapes[0], without=(2,)).shape(2, shapes[1])
        assert hear(drill(shapes[1], shapes[0]), full.events)[0].landed
        change = hear(drill(shapes[1], shapes[0]), half.events)[0]
        assert not change.landed
        assert change.missing == ((2, 64),)


class TestClean:
    def test_known_when_the_next_shape_starts(self) -> None:
        playing = Playing().shape(0, AM, 1.98).shape(2, C, 3.98).shape(4, AM, 5.98)
        first, last = hear(drill(AM, C), playing.events)
        assert first.clean is True
        assert first.mend is None
        assert last.clean is None

    def test_cut_short(self) -> None:
        # String 4 of C ends half a second before Am, alone and before it can have faded.
        playing = Playing().shape(0, AM, 0.98).shape(1, C, {5: 1.98, 4: 1.5, 3: 1.98, 2: 2.0, 1: 2.0}).shape(2, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.clean is False
        assert [(fault.flaw, fault.string) for fault in change.faults] == [(Flaw.CUT_SHORT, 4)]
        assert change.mend == "string 4 let go too early"


class TestFingers:
    def test_kept_and_struck_again(self) -> None:
        assert only(am_to_c(), AM, C).kept_down == {1: Answer.YES, 2: Answer.YES}

    def test_kept_and_sounding_on(self) -> None:
        # The second shape strikes string 3 only; string 4 rings on under its finger.
        steps = (step("x x 2/2 2/3 x x"), step("x x 2/2 0 x x", strokes={1: [3]}))
        playing = Playing().note(0, 4, 52, 3).note(0, 3, 57, 0.95).note(1, 3, 55, 2)
        assert hear(drill(*steps), playing.events)[0].kept_down == {2: Answer.YES}

    def test_kept_and_silent_is_not_heard(self) -> None:
        steps = (step("x x 2/2 2/3 x x"), step("x x 2/2 0 x x", strokes={1: [3]}))
        playing = Playing().note(0, 4, 52, 0.9).note(0, 3, 57, 0.95).note(1, 3, 55, 2)
        assert hear(drill(*steps), playing.events)[0].kept_down == {2: Answer.NOT_HEARD}

    def test_open_string_in_between(self) -> None:
        playing = am_to_c(s4=1.8).note(1.8, 4, 50, 1.95, 50)
        change = only(playing, AM, C)
        assert change.kept_down == {1: Answer.YES, 2: Answer.NO}
        assert change.wrong == ()
        assert change.mend == "string 4 opened: finger 2 came up"

    def test_another_fret_in_between(self) -> None:
        playing = am_to_c(s4=1.8).note(1.8, 4, 51, 1.95, 50)
        change = only(playing, AM, C)
        assert change.kept_down[2] is Answer.NO
        assert change.mend == "string 4 sounded D#3: finger 2 left its fret"

    def test_open_string_as_a_bend(self) -> None:
        # A tracker that follows the string: no new note, the pitch falls by the two semitones of fret 2.
        playing = am_to_c().bend(1.8, 4, -2.0).bend(1.9, 4, 0.0)
        assert only(playing, AM, C).kept_down[2] is Answer.NO

    def test_an_octave_is_no_evidence(self) -> None:
        playing = am_to_c(s4=1.8).note(1.8, 4, 64, 1.95, 50)
        assert only(playing, AM, C).kept_down[2] is Answer.YES

    def test_struck_open_in_the_new_shape(self) -> None:
        playing = Playing().shape(0, AM, 1.98).shape(2, C, without=(4,)).note(2.005, 4, 50).shape(4, AM)
        change = hear(drill(AM, C), playing.events)[0]
        assert change.kept_down[2] is Answer.NO
        assert change.mend == "string 4 opened: finger 2 came up"

    def test_barre_that_stays(self) -> None:
        before, after = "1/1 3/3 3/4 2/2 1/1 1/1", "1/1 3/3 1/1 2/2 1/1 1/1"
        playing = Playing().shape(0, before, 1.99).shape(2, after)
        assert only(playing, before, after).kept_down == {1: Answer.YES, 2: Answer.YES, 3: Answer.YES}

    def test_planting_is_no_finger_that_moved(self) -> None:
        # Every string is stopped by the right hand 100 ms before the stroke.
        change = only(Playing().shape(0, AM, 1.9).shape(2, C), AM, C)
        assert change.kept_down == {1: Answer.YES, 2: Answer.YES}
        assert change.mend is None


class TestSlides:
    """D7 to G: finger 3 guides on string 1 from fret 2 (F#4, 66) to fret 3 (G4, 67)."""

    @staticmethod
    def change(playing: Playing, asked: bool = True) -> HeardChange:
        found = hear(drill(step(D7), step(G, sounding_slide=asked)), playing.events)
        assert len(found) == 1
        return found[0]

    @staticmethod
    def d7(off: float) -> Playing:
        return Playing().shape(0, D7, {4: 1.9, 3: 1.9, 2: 1.9, 1: off})

    def test_as_a_bend(self) -> None:
        change = self.change(self.d7(1.99).bend(1.8, 1, 0.4).bend(1.9, 1, 1.0).bend(1.995, 1, 0.0).shape(2, G))
        assert change.landed
        assert change.guides == {3: Answer.YES}

    @pytest.mark.parametrize(("bent", "heard"), [(0.5, Answer.YES), (0.49, Answer.NOT_HEARD)])
    def test_a_bend_has_arrived_half_a_semitone_before_its_aim(self, bent: float, heard: Answer) -> None:
        assert self.change(self.d7(1.9).bend(1.8, 1, bent).bend(1.91, 1, 0.0).shape(2, G)).guides == {3: heard}

    def test_as_a_legato_note(self) -> None:
        change = self.change(self.d7(1.9).note(1.91, 1, 67, 1.99, 50).shape(2, G))
        assert change.guides == {3: Answer.YES}
        assert change.wrong == ()
        assert change.gap_ms == pytest.approx(100)  # the slid note is not yet the stroke

    def test_with_a_silence(self) -> None:
        change = self.change(self.d7(1.6).shape(2, G))
        assert change.guides == {3: Answer.NOT_HEARD}
        assert Flaw.SLIDE in [fault.flaw for fault in change.faults]
        assert change.faults[-1].words == "slide of finger 3 broke"

    def test_planting_breaks_no_slide(self) -> None:
        change = self.change(self.d7(1.9).shape(2, G))
        assert change.guides == {3: Answer.NOT_HEARD}
        assert change.faults == ()

    def test_not_asked(self) -> None:
        change = self.change(self.d7(1.6).shape(2, G), asked=False)
        assert change.guides == {3: Answer.NOT_HEARD}
        assert Flaw.SLIDE not in [fault.flaw for fault in change.faults]

    def test_what_never_sounded_broke_nothing(self) -> None:
        # G without its string 1: the note is missing, the slide is neither heard nor broken.
        change = self.change(self.d7(1.6).shape(2, G, without=(1,)))
        assert change.guides == {3: Answer.NOT_HEARD}
        assert [fault.flaw for fault in change.faults] == [Flaw.MISSING]

    def test_a_slide_over_several_frets_is_no_wrong_note(self) -> None:
        steps = (step("x x x 2/2 x x"), step("x x x 5/2 x x", sounding_slide=True))
        playing = Playing().note(0, 3, 57, 0.9).note(0.9, 3, 58, 0.93).note(0.93, 3, 59, 0.96).note(0.96, 3, 60, 2)
        change = hear(drill(*steps), playing.events)[0]
        assert change.guides == {2: Answer.YES}
        assert change.wrong == ()


class TestBalance:
    def test_melody_minus_the_mean_of_the_others(self) -> None:
        steps = (step(AM, melody=1), step(C, melody=1))
        loud = {5: 60, 4: 50, 3: 50, 2: 60, 1: 85}
        events = Playing().shape(0, AM).shape(2, C, velocity=loud).events
        assert hear(drill(*steps), events, Settings(levelled=True))[0].balance == pytest.approx(30)  # 85 - 55
        assert hear(drill(*steps), events)[0].balance is None

    def test_no_melody_string(self) -> None:
        events = Playing().shape(0, AM).shape(2, C).events
        assert hear(drill(AM, C), events, Settings(levelled=True))[0].balance is None

    def test_drowned(self) -> None:
        steps = (step(AM, melody=1), step(C, melody=1))
        events = Playing().shape(0, AM).shape(2, C, velocity={1: 60}).events
        change = hear(drill(*steps), events, Settings(levelled=True))[0]
        assert change.balance == pytest.approx(-20)
        assert change.mend == "melody drowned"


class TestCutOff:
    def test_let_go_before_the_change(self) -> None:
        # E: both its open outer strings ring on, the fretted ones stop 300 ms before Am.
        playing = Playing().shape(0, E, {6: 2.0, 5: 1.7, 4: 1.71, 3: 1.7, 2: 2.0, 1: 2.0}).shape(2, AM)
        change = only(playing, E, AM)
        assert change.gap_ms == pytest.approx(290)
        assert change.mend == "cut off before the change"

    @pytest.mark.parametrize("end", [1.885, 1.93, 1.99])
    def test_every_string_planted(self, end: float) -> None:
        change = only(Playing().shape(0, E, end).shape(2, AM), E, AM)
        assert change.mend is None

    def test_only_the_string_about_to_be_struck(self) -> None:
        # String 3, the one that leaves, is planted 110 ms before the stroke on it; the others ring.
        change = only(am_to_c(s3=1.9), AM, C)
        assert change.gap_ms == pytest.approx(100)
        assert change.mend is None

    def test_a_note_that_faded(self) -> None:
        playing = Playing().shape(0, "x 0 2/2 x x x", {5: 4.0, 4: 2.9}).shape(4, "x x 0 2/3 x x")
        change = only(playing, "x 0 2/2 x x x", "x x 0 2/3 x x")
        assert change.gap_ms == pytest.approx(1100)
        assert change.mend is None


def test_a_shape_may_be_struck_at_no_time_at_all() -> None:
    playing = Playing().shape(0, AM, 0.98, apart=0).shape(1, C, 1.98, apart=0)
    change = hear(drill(AM, C), playing.events)[0]
    assert (change.struck_s, change.landed_s, change.strike_ms) == (0, 1, 1000)
