"""The conductor: session, clock and log brought together, with time and the log's answers in the test's hands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.ui.drilling_fakes import HandLog, stage
from trainer.errors import Problem
from trainer.log.writer import Log
from trainer.practice import events
from trainer.practice.course import back_and_forth, one_change
from trainer.practice.phases import Mode, Phase
from trainer.practice.quick import from_shapes
from trainer.practice.record import Timing
from trainer.ui.drilling.conductor import PATIENCE_S


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


class TestTwoPresses:
    def test_two_presses_log_one_change_with_the_time_between_them(self, path: Path) -> None:
        on = stage(path)
        on.press(1.0)
        on.press(0.75)
        (attempt,) = on.log.attempts()
        assert attempt.change_ms == pytest.approx(750)
        assert attempt.timing is Timing.LEAVE
        assert attempt.at == pytest.approx(1_000_000 + 101.75)
        assert attempt.tempo is None

    def test_the_run_stands_in_the_log_before_its_first_change(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press()
        assert on.log.kinds() == ["begin", "add"]
        assert on.log.entries[0][1].id == on.log.attempts()[0].run
        assert on.log.entries[0][1].drill == "C - F"

    def test_changes_of_one_run_share_it_and_a_new_run_has_its_own(self, path: Path) -> None:
        on = stage(path)
        for _ in range(2 * on.conductor.session.changes):
            on.press()
        assert on.conductor.session.phase is Phase.ENDED
        on.press()  # plays on
        on.press()
        on.press()
        runs = [attempt.run for attempt in on.log.attempts()]
        assert len(set(runs[:-1])) == 1
        assert runs[-1] != runs[0]
        assert on.log.kinds().count("begin") == 2

    def test_marking_and_taking_back_reach_the_entry_they_mean(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press()
        (attempt,) = on.log.attempts()
        on.conductor.send(events.MarkUnclean(on.clock.now))
        on.conductor.send(events.TakeBack(on.clock.now))
        assert on.log.entries[-2:] == [("mark", attempt.id, False), ("take back", attempt.id)]

    def test_where_landings_come_from_is_part_of_their_record(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.conductor.logbook.source = "pedal"
        on.press()
        assert on.log.attempts()[0].source == "pedal"

    def test_a_pedal_that_is_held_down_leaves_nothing_in_the_log(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press(0.4)  # the first repeat looks like a landing, until more follow close upon it
        for _ in range(30):
            on.press(0.03)
        attempt = on.log.attempts()[0]
        assert on.log.kinds() == ["begin", "add", "take back"]
        assert on.log.entries[-1] == ("take back", attempt.id)
        assert on.conductor.logbook.standings.of(attempt.series).count == 0
        on.press(0.8)
        assert on.log.attempts()[-1].change_ms == pytest.approx(1000 * (0.4 + 30 * 0.03 + 0.8))


class TestShownOnlyWhenWritten:
    def test_a_landing_is_not_shown_before_it_is_in_the_log(self, path: Path) -> None:
        on = stage(path, log=HandLog(path, prompt=False))
        on.press()
        on.press()
        assert on.conductor.session.tries
        assert not on.conductor.shown.tries
        on.log.answer()
        on.clock.turn(0)
        assert on.conductor.shown.tries
        assert on.conductor.saved

    def test_after_ten_milliseconds_it_is_shown_as_not_saved_yet(self, path: Path) -> None:
        on = stage(path, log=HandLog(path, prompt=False))
        on.press()
        on.press()
        on.clock.turn(PATIENCE_S)
        assert on.conductor.shown.tries
        assert not on.conductor.saved
        on.log.answer()
        on.clock.turn(0)
        assert on.conductor.saved
        assert on.shows[-1].tries

    def test_a_press_meanwhile_counts_though_nothing_is_shown_of_it(self, path: Path) -> None:
        on = stage(path, log=HandLog(path, prompt=False))
        on.press()
        on.press()
        on.conductor.send(events.Leave(on.clock.now + 0.005))
        assert on.conductor.session.phase is Phase.CHANGING
        assert on.conductor.shown.phase is Phase.CHANGING  # as before the landing: the first change in flight
        assert not on.conductor.shown.tries

    def test_a_log_that_keeps_nothing_is_a_problem_and_practice_goes_on(self, path: Path) -> None:
        problem = Problem("the disk is full", warning=True)
        on = stage(path, log=HandLog(path, problem=problem))
        for _ in range(4):
            on.press()
        assert on.conductor.problem == problem
        assert len(on.conductor.shown.tries) == 2
        on.log.problem = None
        on.press()
        on.press()
        assert on.conductor.problem is None


class TestTheClock:
    def test_a_program_that_stood_still_voids_the_change_in_flight(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.clock.stall(5.0)
        on.conductor.send(events.Press(on.clock.now))
        assert not on.log.attempts()
        assert on.conductor.session.phase is Phase.HOLD  # the press that would have landed it is void as well
        assert "stood still" in on.conductor.session.message

    def test_a_computer_that_slept_voids_it_though_no_time_passed(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.clock.stall(0.2, asleep=60.0)
        on.clock.turn(1.0)
        assert on.conductor.session.phase is Phase.HOLD
        assert "slept" in on.conductor.session.message

    def test_a_slow_change_is_no_interruption(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press(14.0)
        assert on.log.attempts()[0].change_ms == pytest.approx(14_000)

    def test_standing_still_between_changes_matters_to_nobody(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press()
        on.clock.stall(600.0)
        on.press()
        on.press(0.5)
        assert len(on.log.attempts()) == 2

    def test_nothing_runs_on_after_the_end(self, path: Path) -> None:
        on = stage(path, Mode.PACED)
        on.press()
        on.conductor.close(on.clock.now)
        shows = len(on.shows)
        on.clock.turn(60)
        assert on.clock.waiting == 0
        assert len(on.shows) == shows


class TestPaced:
    def test_the_beat_does_not_drift(self, path: Path) -> None:
        on = stage(path, Mode.PACED, tempo=90)
        began = on.clock.now
        on.press(0)
        beats: list[float] = []
        while on.conductor.session.phase in {Phase.COUNT_IN, Phase.PLAYING}:
            rung = len(on.bells)
            on.clock.turn(0.001)
            beats += [on.clock.now] * (len(on.bells) - rung)
        # The first rings as the press comes in; the beat that asks the question rings no more.
        expected = [began + number * 60 / 90 for number in range(len(beats) + 1)]
        assert beats == pytest.approx(expected[1:], abs=0.0015)

    def test_a_bar_is_counted_and_accents_fall_where_shapes_begin(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=1))
        on.press(0)
        on.clock.turn(0)
        while on.conductor.session.phase in {Phase.COUNT_IN, Phase.PLAYING}:
            on.clock.turn(0.1)
        assert on.bells == [True, False, False, False] * 4

    def test_the_answer_is_logged_with_the_tempo_and_the_next_run_follows_it(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=2), tempo=60)
        on.press(0)
        on.clock.turn(24.5)
        assert on.conductor.session.phase is Phase.ASK
        on.conductor.send(events.Said(on.clock.now, 4))
        begin, finish = on.log.entries
        assert (begin[0], begin[1].timing, begin[1].tempo) == ("begin", Timing.BEAT, 60)
        assert finish == ("finish", begin[1].id, 4, 4, None)
        assert on.conductor.session.tempo > 60

    def test_one_pedal_answers_when_its_number_is_lit(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=1), tempo=60)
        on.press(0)
        on.clock.turn(16.0)
        on.press(1.5)  # one step down the scan
        assert on.log.entries[-1][2:4] == (2, 1)

    def test_an_answer_taken_back_leaves_the_log(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=1), tempo=60)
        on.press(0)
        on.clock.turn(16.5)
        on.conductor.send(events.Said(on.clock.now, 2))
        on.conductor.send(events.TakeBack(on.clock.now))
        assert on.log.entries[-1][2:4] == (None, None)


class TestOnCue:
    def test_go_comes_after_the_wait_and_is_where_the_time_begins(self, path: Path) -> None:
        on = stage(path, Mode.CUED, wait=1.7)
        on.press(0)
        on.clock.turn(1.69)
        before = on.conductor.session.phase
        on.clock.turn(0.02)
        assert (before, on.conductor.session.phase) == (Phase.WAIT, Phase.CHANGING)
        on.press(0.49)
        (attempt,) = on.log.attempts()
        assert attempt.change_ms == pytest.approx(500)
        assert attempt.timing is Timing.CUE
        assert on.bells == [True]

    def test_a_press_before_go_is_void_and_no_go_follows(self, path: Path) -> None:
        on = stage(path, Mode.CUED, wait=2.0)
        on.press(0)
        on.press(1.0)
        on.clock.turn(5.0)
        assert on.conductor.session.phase is Phase.READY
        assert not on.log.attempts()


class TestAnotherCourse:
    def test_what_was_begun_is_closed_and_numbers_start_anew(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press()
        first = on.log.attempts()[0]
        on.conductor.begin_anew(back_and_forth(on.conductor.logbook.drill, 0, 1), on.clock.now)
        assert on.log.entries[-1] == ("finish", first.run, None, None, None)
        on.press()
        on.press()
        assert on.log.attempts()[1].run != first.run


class TestSaying:
    def test_what_is_said_goes_with_the_next_thing_that_happens(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press()
        on.conductor.say("Remark kept.")
        assert on.conductor.shown.message == "Remark kept."
        on.conductor.send(events.MarkUnclean(on.clock.now))
        assert on.conductor.shown.message == ""

    def test_a_tick_of_the_clock_is_nothing_that_happens(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=1), tempo=60)
        on.press(0)
        on.clock.turn(16.5)
        on.conductor.say("Remark kept.")
        on.clock.turn(3)
        assert on.conductor.shown.message == "Remark kept."

    def test_what_the_session_says_itself_stays_as_long_as_the_session_says_it(self, path: Path) -> None:
        on = stage(path, course=one_change(from_shapes(["C", "F"]), 0, 1, times=1))
        on.conductor.send(events.Next(on.clock.now))
        said = on.conductor.shown.message
        on.conductor.send(events.MarkUnclean(on.clock.now))
        assert on.conductor.shown.message == said != ""


class TestRemarks:
    def test_a_remark_goes_with_the_run_and_keeps_what_landed(self, path: Path) -> None:
        on = stage(path, Mode.PACED, course=back_and_forth(from_shapes(["C", "F"]), 0, 1, rounds=1), tempo=60)
        on.press(0)
        on.clock.turn(16.5)
        on.conductor.send(events.Said(on.clock.now, 1))
        assert on.conductor.logbook.remark(on.conductor.session.run, "thumb too high")
        assert on.log.entries[-1][2:] == (2, 1, "thumb too high")

    def test_before_a_new_run_has_anything_a_remark_is_about_the_one_before(self, path: Path) -> None:
        on = stage(path, course=one_change(from_shapes(["C", "F"]), 0, 1, times=1))
        on.press()
        on.press()
        on.press()  # plays on
        assert on.conductor.logbook.remark(on.conductor.session.run, "better")
        assert on.log.entries[-1][1:] == (on.log.attempts()[0].run, None, None, "better")

    def test_there_is_nothing_to_remark_on_before_anything_was_played(self, path: Path) -> None:
        on = stage(path)
        assert not on.conductor.logbook.remark(1, "hello")
        assert not on.log.entries


class TestStandings:
    def test_times_of_earlier_days_and_of_this_session_stand_together(self, path: Path) -> None:
        before = stage(path, log=HandLog(path))
        before.press()
        before.press(0.9)
        with Log.open(path) as log:
            log.begin(before.log.entries[0][1])
            log.add(before.log.attempts()[0]).result()
        on = stage(path)
        on.conductor.look_up()
        on.clock.turn(0)
        series = on.conductor.logbook.series((0, 1), Timing.LEAVE)
        assert on.conductor.logbook.standings.of(series).best_ms == pytest.approx(900)
        on.press()
        on.press(1.5)
        standing = on.conductor.logbook.standings.of(series)
        assert standing.best_ms == pytest.approx(900)
        assert standing.last_ten_ms == pytest.approx((900, 1500))

    def test_another_way_of_timing_is_another_series(self, path: Path) -> None:
        on = stage(path)
        on.press()
        on.press()
        assert on.conductor.logbook.standings.of(on.conductor.logbook.series((0, 1), Timing.CUE)).count == 0
        on.conductor.logbook.source = "pedal"
        assert on.conductor.logbook.standings.of(on.conductor.logbook.series((0, 1), Timing.LEAVE)).count == 0

    def test_a_log_that_cannot_be_read_is_a_problem(self, path: Path) -> None:
        path.write_bytes(b"not a practice log, whatever its name says" * 100)
        on = stage(path)
        on.conductor.look_up()
        on.clock.turn(0)
        assert on.conductor.problem is not None
        assert "not a practice log" in str(on.conductor.problem)
