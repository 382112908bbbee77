"""What the drill screen says: each text by phase, how a change stands, what is said first where several things are."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from textwrap import wrap

import pytest

from tests.ui.drilling_fakes import HandLog, Stage, stage
from trainer.errors import Problem
from trainer.files.library import Entry, library
from trainer.fretboard.plucked import Stroke
from trainer.hand.reach import Hand
from trainer.practice import events
from trainer.practice.climb import height
from trainer.practice.course import back_and_forth, one_change
from trainer.practice.ladder import Target
from trainer.practice.passage import passage
from trainer.practice.phases import Mode, Phase
from trainer.practice.quick import from_shapes
from trainer.practice.record import Texture
from trainer.ui.board.marks import ASCII as PLAIN_MARKS
from trainer.ui.board.marks import UNICODE
from trainer.ui.drilling.conductor import PATIENCE_S
from trainer.ui.drilling.explaining import fingers, tuning
from trainer.ui.drilling.known import seconds
from trainer.ui.drilling.parts import ASCII
from trainer.ui.drilling.view import View, view


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


def seen(on: Stage) -> View:
    return view(on.conductor, "all of it")


class TestPrompts:
    def test_two_presses_name_the_shape_that_is_left_and_the_one_that_is_reached(self, path: Path) -> None:
        on = stage(path)
        assert seen(on).prompt == "when your fingers leave C: the clock starts."
        on.press()
        assert seen(on).prompt == "when F is down: the clock stops."
        assert seen(on).running == on.clock.now

    def test_nothing_is_to_be_pressed_while_the_beat_runs(self, path: Path) -> None:
        on = stage(path, Mode.PACED, tempo=60)
        assert seen(on).said.press == "start"
        on.press(0)
        on.clock.turn(1)
        assert (seen(on).said.press, seen(on).now.caption) == ("", "count-in")
        on.clock.turn(4)
        assert (seen(on).said.press, seen(on).now.caption) == ("", "beat")

    def test_the_cue_is_a_big_word(self, path: Path) -> None:
        on = stage(path, Mode.CUED, wait=1.0)
        on.press(0)
        assert seen(on).now.text == "WAIT"
        on.clock.turn(1.1)
        assert seen(on).now.text == "GO"
        assert seen(on).running is None

    def test_how_many_landed_is_asked_with_the_number_a_press_takes(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=2), tempo=60)
        on.press(0)
        on.clock.turn(24.5)
        assert seen(on).now.text == "4/4"
        assert "how many of 4 landed?" in seen(on).prompt

    def test_a_shape_without_a_short_name_is_not_spelt_out_in_a_sentence(self, path: Path) -> None:
        on = stage(path, drill=from_shapes(["x 3/3 2/2 0 1/1 0", "F"]))
        assert seen(on).names[0] == "x 3/3 2/2 0 1/1 0"
        assert "leave this shape" in seen(on).prompt


class TestLastTime:
    def test_a_time_of_another_way_is_not_shown(self, path: Path) -> None:
        on = stage(path, Mode.PRESSES)
        on.press()
        on.press()
        assert seen(on).last.text == "1.00"
        on.conductor.send(events.SetMode(on.clock.now, Mode.CUED))
        assert (seen(on).last.text, seen(on).last.caption) == ("", "")
        on.conductor.send(events.SetMode(on.clock.now, Mode.PRESSES))
        assert seen(on).last.text == "1.00"


class TestLookAhead:
    def test_what_comes_after_the_next_shape_is_always_known(self, path: Path) -> None:
        on = stage(path, drill=from_shapes(["C", "Am", "F", "G7"]))
        assert seen(on).names == ("C", "Am")
        assert seen(on).then == ("F", "G7", "C")
        assert seen(on).after == (1, 2)

    def test_at_the_end_of_a_run_the_next_one_is_shown(self, path: Path) -> None:
        on = stage(path, course=one_change(from_shapes(["C", "F"]), 0, 1, times=2))
        for _ in range(4):
            on.press()
        assert seen(on).progress == "run over"
        assert seen(on).names == ("C", "F")


class TestBeats:
    def test_the_current_beat_counts_from_one_within_its_shape(self, path: Path) -> None:
        on = stage(path, Mode.PACED, tempo=60)
        on.press(0)
        counted = []
        for _ in range(8):
            on.clock.turn(0.5)
            beats = seen(on).now.beats
            assert beats is not None
            counted.append((beats.current, beats.count))
            on.clock.turn(0.5)
        assert counted == [(beat, 4) for beat in (1, 2, 3, 4, 1, 2, 3, 4)]


class TestHowAChangeStands:
    def test_before_anything_was_timed_nothing_is_made_up(self, path: Path) -> None:
        assert seen(stage(path)).facts == (
            ("C → F", "not timed yet"),
            ("best -", "last -"),
            ("trend too few yet", "(0 of 10)"),
            ("none unclean",),
        )

    def test_best_and_last_are_of_the_change_at_hand(self, path: Path) -> None:
        on = stage(path)
        for pause in (0.9, 0.5, 1.1, 0.6):  # C to F, F to C, C to F, F to C
            on.press()
            on.press(pause)
        on.press()  # a new run: C to F is at hand
        assert seen(on).facts[:2] == (("C → F", "2 times"), ("best 0.90", "last 1.10"))
        assert seen(on).last_ten == pytest.approx((900, 1100))

    def test_the_last_time_says_of_which_change_and_how_it_was(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press(0.84)
        assert (seen(on).last.caption, seen(on).last.text) == ("C → F, seconds", "0.84")
        on.conductor.send(events.MarkUnclean(on.clock.now))
        assert seen(on).last.caption == "C → F, unclean"
        assert seen(on).record is False

    def test_the_best_of_several_is_called_so_and_the_first_is_not(self, path: Path) -> None:
        on = stage(path, course=one_change(from_shapes(["C", "F"]), 0, 1))
        records = []
        for pause in (0.9, 0.8, 1.0):
            on.press()
            on.press(pause)
            records.append(seen(on).record)
        assert records == [False, True, False]

    def test_ascii_has_no_arrow(self, path: Path) -> None:
        assert view(stage(path).conductor, "all of it", ASCII).facts[0][0] == "C -> F"

    @pytest.mark.parametrize(("ms", "text"), [(843.2, "0.84"), (12_340, "12.34"), (123_400, "123"), (None, "-")])
    def test_times_are_seconds(self, ms: float | None, text: str) -> None:
        assert seconds(ms) == text


class TestPacedRuns:
    def test_how_many_landed_and_at_what_tempo(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=1), tempo=60)
        on.press(0)
        on.clock.turn(16.5)
        on.conductor.send(events.Said(on.clock.now, 2))
        assert seen(on).last.text == "2/2"
        assert seen(on).facts[1:] == (
            ("now 60", "last run 60"),
            ("4 in 5 at -", "not enough yet"),
            ("all landed at 60", "1 run"),
        )

    def test_the_ladder_says_what_is_clean_four_times_in_five_and_how_the_target_stands(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=one_change(from_shapes(["C", "F"]), 0, 1, times=5), tempo=100)
        on.conductor.aim(Target(100, in_a_row=5, days=2))
        assert seen(on).facts[-1] == ("target 100 below", "no run yet")

        def run(landed: int) -> None:
            on.press(0)
            while on.conductor.session.phase is not Phase.ASK:
                on.clock.turn(1)
            on.conductor.send(events.Said(on.clock.now, landed))

        run(5)
        assert (on.conductor.session.tempo, seen(on).facts[-1]) == (100, ("target 100 reached", "1 run"))
        assert "The target of 100 is reached; it holds when another day says so too." in seen(on).message
        for landed in (3, 5, 4, 5, 3):
            run(landed)
        words = height(on.conductor.session.played_to_the_beat).estimate
        assert words is not None
        assert seen(on).facts[2] == (f"4 in 5 at {words.tempo:.0f}", f"({words.low:.0f} to {words.high:.0f})")
        assert f"Clean four times in five at {words.tempo:.0f} (" in seen(on).message


class TestBeatRow:
    def test_accents_follow_the_bar_and_not_the_shape(self, path: Path) -> None:
        # Shapes of two beats in a bar of four: the second shape of each bar has no accent.
        drill = from_shapes(["C", "F"])
        halves = replace(drill, steps=tuple(replace(step, beats=Fraction(2)) for step in drill.steps))
        on = stage(path, Mode.PACED, drill=halves, tempo=60)
        on.press(0)
        rows = []
        for _ in range(8):
            on.clock.turn(1)
            beats = seen(on).now.beats
            assert beats is not None
            rows.append((beats.current, [beat for beat in range(1, beats.count + 1) if beats.accented(beat)]))
        assert rows == [(2, [1]), (3, [1]), (4, [1]), (1, [1]), (2, [1]), (1, []), (2, []), (1, [1])]

    def test_six_beats_with_voices_of_their_own_say_which_string_falls_where(self, path: Path) -> None:
        drill = replace(from_shapes(["C", "F"]), meter=(6, 8))
        strokes = tuple(Stroke(Fraction(beat), strings) for beat, strings in ((1, (5, 1)), (3, (3,)), (5, (2,))))
        figure = replace(drill.steps[0], beats=Fraction(6), strokes=strokes, texture=Texture.FIGURE)
        on = stage(path, Mode.PACED, drill=replace(drill, steps=(figure, drill.steps[1])), tempo=60)
        on.press(0)
        on.clock.turn(6.5)
        beats = seen(on).now.beats
        assert beats is not None
        assert (beats.count, beats.current, beats.voices) == (6, 1, ("51", "", "3", "", "2", ""))


class TestMessages:
    def test_a_caution_is_one_line_before_the_first_change_and_gone_in_flight(self, path: Path) -> None:
        drill = replace(from_shapes(["C", "F"]), caution="Rest when it tires.")
        on = stage(path, drill=drill)
        assert seen(on).mind == "Rest when it tires."
        on.press()
        assert seen(on).mind == ""

    def test_what_is_wrong_with_the_log_goes_before_all_else(self, path: Path) -> None:
        on = stage(path, log=HandLog(path, problem=Problem("the disk is full", warning=True)))
        on.press()
        on.press()
        on.conductor.say("Something else.")
        assert (seen(on).message, seen(on).warn) == ("Log: the disk is full.", True)

    def test_a_landing_that_is_not_saved_yet_says_so_until_it_is(self, path: Path) -> None:
        on = stage(path, log=HandLog(path, prompt=False))
        on.press()
        on.press()
        on.clock.turn(PATIENCE_S)
        assert seen(on).message == "Landed, not saved yet."
        on.log.answer()
        on.clock.turn(0)
        assert seen(on).message != "Landed, not saved yet."


class TestExplaining:
    def test_each_finger_has_its_mark_and_what_it_does(self) -> None:
        # 37 mm: frets 2 and 3 of a 650 mm neck lie 32.5 mm apart, strings 3 and 5 there 18 mm (computed).
        (passing, _) = passage(from_shapes(["Am", "C"]), Hand())
        assert [(line.mark, line.text) for line in fingers(passing, UNICODE)] == [
            ("█1█", "1 stays on string 2 at fret 1"),
            ("█2█", "2 stays on string 4 at fret 2"),
            ("[3]", "3 crosses from string 3 fret 2 to string 5 fret 3, 37 mm; watch it"),
            ("   ", "4 rests"),
        ]
        assert fingers(passing, PLAIN_MARKS)[0].mark == "#1#"

    def test_open_strings_with_their_frequencies(self) -> None:
        # 82.41 to 329.63 Hz: equal temperament at A4 = 440 Hz (ISO 16:1975), computed.
        rows = tuning(from_shapes(["C", "F"]).instrument)
        assert " ".join(rows[1].split()) == "6 E2 82.41 Hz 3 G3 196.00 Hz"
        assert " ".join(rows[3].split()) == "4 D3 146.83 Hz 1 E4 329.63 Hz"


@pytest.mark.parametrize("entry", library(ships=None).entries, ids=lambda entry: entry.name)
def test_no_line_of_a_shipped_drill_is_cut_at_eighty_columns(entry: Entry, path: Path) -> None:
    drill, _ = entry.load()
    assert drill is not None
    assert all(len(wrap(passing.words, 78)) <= 4 for passing in passage(drill, Hand()))
    assert len(wrap(drill.caution, 54)) <= 3
    on = stage(path, drill=drill)
    on.press()
    on.press()
    now = seen(on)
    assert len(now.prompt) + len(" PAGE DOWN  ") <= 78
    assert len(now.last.caption) < 24
    assert len(now.facts[0][0]) < 30
    assert len(f"{now.title}  {now.progress}") <= 78
