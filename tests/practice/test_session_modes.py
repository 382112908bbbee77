"""Each mode played through by hand, with literal stamps and times."""

from fractions import Fraction

import pytest

from tests.practice.playing import asked, drill, go, play, ring, ticks, times
from trainer.fretboard.stock import stock_shape
from trainer.practice.course import one_change, whole
from trainer.practice.drill import Drill, Order, Step
from trainer.practice.effects import (
    AskLanded,
    Bell,
    CueAfterWait,
    MarkClean,
    Note,
    RunEnded,
    RunReopened,
    Show,
    StartBeat,
    StopClock,
    Summary,
    Timed,
    Unlog,
)
from trainer.practice.events import (
    Back,
    Beat,
    Event,
    Faster,
    Go,
    Landed,
    Leave,
    MarkUnclean,
    Missed,
    Next,
    Pause,
    Press,
    Quit,
    Repeat,
    Restart,
    Resume,
    Said,
    Scan,
    SetMode,
    SetTempo,
    Slower,
    TakeBack,
    Void,
)
from trainer.practice.ladder import Target
from trainer.practice.phases import FIRST, Mode, Phase
from trainer.practice.record import Timing
from trainer.practice.session import HELD, advance, begin
from trainer.practice.state import Question, Settings

# Walk


def test_a_walk_steps_round_and_back() -> None:
    session = begin(ring(2), Mode.WALK)
    seen = [session.pair]
    for event in (Next(1), Press(2), Next(3), Back(4), Back(5)):
        session, effects = play(session, event)
        assert effects == [Show(session.pair)]
        seen.append(session.pair)
    assert seen == [(0, 1), (1, 2), (2, 0), (0, 1), (2, 0), (1, 2)]
    assert (session.phase, session.change, session.changes, session.upcoming) == (Phase.WALK, 2, 3, ((2, 0),))


def test_a_walk_shows_a_change_again() -> None:
    session, effects = play(begin(ring(), Mode.WALK), Repeat(1))
    assert effects == [Show((0, 1))]
    assert session.pair == (0, 1)


# Two presses


def test_one_press_leaves_and_the_next_lands() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(10.0))
    assert effects == []
    assert (session.phase, session.pair, session.holding) == (Phase.CHANGING, (0, 1), 0)
    session, effects = play(session, Press(10.75))
    assert effects == [Timed(effects[0].number, 1, (0, 1), Timing.LEAVE, 750.0, 10.75)]  # type: ignore[union-attr]  # the one Timed
    assert (session.phase, session.pair, session.holding) == (Phase.HOLD, (1, 2), 1)
    assert session.times_ms == (750.0,)


def test_a_run_ends_after_its_changes_and_a_press_begins_the_next() -> None:
    presses = [Press(float(at)) for at in (1, 2, 5, 5.5, 8, 8.25)]
    session, effects = play(begin(ring(), Mode.PRESSES), *presses)
    summary = Summary(1, Timing.LEAVE, 1.0, 3, 3, (1000.0, 500.0, 250.0))
    assert effects[-1] == RunEnded(summary)
    assert (summary.best_ms, summary.missed) == (250.0, 0)
    assert (session.phase, session.summary) == (Phase.ENDED, summary)
    session, effects = play(session, Press(20))
    assert effects == []
    assert (session.phase, session.run, session.pair, session.times_ms) == (Phase.HOLD, 2, (0, 1), ())
    session, effects = play(session, Press(21), Press(21.4))
    assert times(effects) == [400.0]


def test_rounds_go_on_from_the_ring_s_end() -> None:
    session, effects = play(begin(ring(2), Mode.PRESSES), *[Press(float(at)) for at in range(6)])
    assert (session.phase, session.pair, session.round, session.change, session.changes) == (
        Phase.HOLD,
        (0, 1),
        2,
        4,
        6,
    )
    assert not [effect for effect in effects if isinstance(effect, RunEnded)]


def test_keys_of_their_own_leave_and_land() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Landed(0), Leave(1), Leave(1.2), Landed(1.5))
    assert times(effects) == [500.0]
    assert session.pair == (1, 2)


def test_a_landing_stamped_before_its_leave_is_none() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Leave(5), Landed(4.9))
    assert (session.phase, effects) == (Phase.CHANGING, [])


def test_a_missed_change_counts_as_tried_and_is_not_logged() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), Missed(2), Press(3), Press(3.5), Press(4), Missed(5))
    assert times(effects) == [500.0]
    assert session.summary == Summary(1, Timing.LEAVE, 1.0, 3, 1, (500.0,))


def test_a_landing_taken_back_is_played_again() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), Press(1.5), TakeBack(2))
    timed, unlog = effects
    assert isinstance(timed, Timed)
    assert unlog == Unlog(timed.number)
    assert (session.phase, session.pair, session.times_ms) == (Phase.HOLD, (0, 1), ())
    assert play(session, TakeBack(3))[1] == []
    again, effects = play(session, Press(4), Press(4.4))
    assert times(effects) == [400.0]
    assert again.tries[0].number != timed.number


def test_taking_back_the_last_landing_reopens_the_run() -> None:
    ended, _ = play(begin(ring(), Mode.PRESSES), *[Press(float(at)) for at in range(6)])
    session, effects = play(ended, TakeBack(9))
    assert effects == [Unlog(ended.tries[-1].number), RunReopened(1)]
    assert (session.phase, session.pair, session.ended) == (Phase.HOLD, (2, 0), ())
    session, effects = play(session, Press(10), Press(10.5))
    assert effects[-1] == RunEnded(Summary(1, Timing.LEAVE, 0.0, 3, 3, (1000.0, 1000.0, 500.0)))


def test_the_last_landing_is_marked_and_the_mark_taken_off() -> None:
    session, _ = play(begin(ring(), Mode.PRESSES), MarkUnclean(0), Press(1), Press(2))
    number = session.tries[0].number
    session, effects = play(session, MarkUnclean(3), Press(4), MarkUnclean(5), MarkUnclean(6))
    assert effects == [MarkClean(number, False), MarkClean(number, None), MarkClean(number, False)]
    assert (session.phase, session.landings[0].clean) == (Phase.CHANGING, False)
    assert play(session, TakeBack(7))[1] == [Unlog(number)]


@pytest.mark.parametrize(
    "event", [Void(2, "the computer slept"), Pause(2), Repeat(2), SetMode(2, Mode.CUED), Restart(2)]
)
def test_a_change_in_flight_is_void(event: Event) -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), event)
    assert effects == []
    assert session.left is None
    session, effects = play(session, Landed(3))
    assert effects == []


def test_why_a_change_is_void_is_said() -> None:
    session, _ = play(begin(ring(), Mode.PRESSES), Press(1))
    session, effects = advance(session, Void(2, "the computer slept"))
    assert [effect.text for effect in effects if isinstance(effect, Note)] == ["Void: the computer slept."]
    assert (session.phase, session.message) == (Phase.HOLD, "Void: the computer slept.")


def test_a_pause_times_nothing_and_a_press_goes_on() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), Pause(1.2), Leave(2), Landed(3), Missed(4), Next(5))
    assert (session.phase, effects) == (Phase.PAUSED, [])
    session, effects = play(session, Press(10), Press(11), Press(11.3))
    assert times(effects) == [300.0]


def test_stepping_skips_goes_back_and_repeats_without_unlogging() -> None:
    session, _ = play(begin(ring(), Mode.PRESSES), Next(0))
    assert (session.pair, session.phase) == ((1, 2), Phase.HOLD)
    session, effects = play(session, Press(1), Press(1.5), Repeat(2))
    assert session.pair == (1, 2)
    assert times(effects) == [500.0]
    session, effects = play(session, Press(3), Press(3.25), Back(4), Back(5), Back(6))
    assert (session.pair, times(effects)) == ((0, 1), [250.0])
    session, effects = play(session, Next(7), Next(8), Next(9), Next(10))
    assert (session.pair, effects, session.message) == ((2, 0), [], "This is the last change of the run.")
    assert session.times_ms == (500.0, 250.0)


@pytest.mark.parametrize("event", [Restart(9), SetMode(9, Mode.CUED), Quit(9)])
def test_a_run_broken_off_is_summed_up_as_far_as_it_went(event: Event) -> None:
    session, _ = play(begin(ring(), Mode.PRESSES), Press(1), Press(2), Press(3))
    _, effects = play(session, event)
    assert effects == [RunEnded(Summary(1, Timing.LEAVE, 1.0, 1, 1, (1000.0,), complete=False))]


def test_a_closed_session_takes_no_more_events() -> None:
    session, _ = play(begin(ring(), Mode.PRESSES), Quit(1))
    assert session.phase is Phase.CLOSED
    assert play(session, Press(2), Restart(3), Leave(4)) == (session, [])


# A held key and a bouncing pedal


def held(first: float, since: float, repeats: int) -> list[Event]:
    """Return the repeats of a key that went down at `first`."""
    return [Press(first + since + 0.03 * n) for n in range(repeats)]


@pytest.mark.parametrize("since", [0.25, 0.5])
@pytest.mark.parametrize("repeats", [3, 4, 20])
def test_a_press_held_on_leaving_is_one_press(since: float, repeats: int) -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), *held(1, since, repeats))
    assert (session.phase, session.left, session.times_ms) == (Phase.CHANGING, 1, ())
    assert [type(effect) for effect in effects] == [Timed, Unlog]
    session, effects = play(session, Press(2.5))
    assert times(effects) == [1500.0]


@pytest.mark.parametrize("repeats", [1, 2, 3, 20])
def test_a_press_held_on_landing_is_one_press(repeats: int) -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), Press(1.8), *held(1.8, 0.4, repeats))
    assert times(effects) == [800.0]
    assert not [effect for effect in effects if isinstance(effect, Unlog)]
    # Two repeats do not show yet that the key is held.
    assert session.phase is (Phase.HOLD if repeats > 2 else Phase.CHANGING)


def test_a_press_held_on_the_last_landing_leaves_the_run_ended() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), *[Press(float(at)) for at in range(6)], *held(5, 0.4, 5))
    assert (session.phase, session.run) == (Phase.ENDED, 1)
    assert [type(effect) for effect in effects] == [Timed, Timed, Timed, RunEnded]


def test_a_false_landing_that_ended_the_run_is_taken_back() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), *[Press(float(at)) for at in range(5)], *held(4, 0.4, 5))
    assert (session.phase, session.pair, session.left, session.ended) == (Phase.CHANGING, (2, 0), 4.0, ())
    assert [type(effect) for effect in effects] == [Timed, Timed, Timed, RunEnded, Unlog, RunReopened]
    session, effects = play(session, Press(5))
    assert session.summary == Summary(1, Timing.LEAVE, 0.0, 3, 3, (1000.0, 1000.0, 1000.0))


def test_taking_a_press_back_is_said() -> None:
    session, _ = play(begin(ring(), Mode.PRESSES), Press(1), *held(1, 0.3, 3))
    assert session.message == HELD


def test_one_bounce_is_ignored() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), Press(1.02), Press(1.5), Press(1.55))
    assert times(effects) == [500.0]
    assert session.phase is Phase.HOLD


def test_how_close_is_a_repeat_is_a_setting() -> None:
    session = begin(ring(), Mode.PRESSES, settings=Settings(repeat_s=0.1))
    session, _ = play(session, Press(1), *[Press(1.5 + 0.092 * n) for n in range(5)])
    assert (session.phase, session.times_ms) == (Phase.CHANGING, ())


def test_what_happened_between_a_repeat_and_its_taking_back_is_kept() -> None:
    session, effects = play(
        begin(ring(), Mode.PRESSES), Press(1), Press(1.4), MarkUnclean(1.41), Press(1.43), Missed(1.44), Press(1.46)
    )
    # Without the press at 1.4 there was no landing to mark, and the change was still in flight when it was missed.
    assert [type(effect) for effect in effects] == [Timed, MarkClean, Unlog]
    assert (session.phase, session.pair, session.times_ms) == (Phase.HOLD, (1, 2), ())
    assert [one.change_ms for one in session.tries] == [None]


def test_a_landing_said_by_its_own_key_stands_where_a_repeat_had_claimed_it() -> None:
    session, effects = play(begin(ring(), Mode.PRESSES), Press(1), Press(1.4), Landed(1.41), Press(1.43), Press(1.46))
    false, unlog, true = effects
    assert isinstance(false, Timed)
    assert isinstance(true, Timed)
    assert unlog == Unlog(false.number)
    assert true.number > false.number
    assert false.change_ms == pytest.approx(400)
    assert true.change_ms == pytest.approx(410)
    assert session.times_ms == (true.change_ms,)


def test_a_press_is_certain_once_nothing_has_followed() -> None:
    session, _ = play(begin(ring(), Mode.PACED), Press(1))
    clock = session.clock
    assert clock is not None
    session, _ = play(session, Beat(1.1, clock.clock))
    assert session.undo is not None
    assert len(session.undo.since) == 1
    session, _ = play(session, Beat(1.2, clock.clock))
    assert session.undo is None


# Cued


def test_the_cue_is_awaited_and_one_press_lands() -> None:
    session, effects = play(begin(ring(), Mode.CUED), Press(1))
    assert effects == [CueAfterWait(session.clock.clock, 1.0, 3.0)]  # type: ignore[union-attr]  # a wait is on
    session = go(session, 3.25)
    assert session.phase is Phase.CHANGING
    session, effects = play(session, Press(4.0))
    assert times(effects) == [750.0]
    assert effects[0].timing is Timing.CUE  # type: ignore[union-attr]  # the one Timed
    # The ring goes on from the shape that landed: the next wait begins by itself.
    assert isinstance(effects[1], CueAfterWait)
    assert (session.phase, session.pair) == (Phase.WAIT, (1, 2))


def test_a_press_before_go_is_void_and_said() -> None:
    session, _ = play(begin(ring(), Mode.CUED), Press(1))
    wait = session.clock
    assert wait is not None
    session, effects = play(session, Press(1.5))
    assert effects == [StopClock(wait.clock)]
    assert session.phase is Phase.READY
    assert session.message.startswith("Too early: void.")
    assert play(session, Go(2, wait.clock)) == (session, [])


@pytest.mark.parametrize(("after", "logged"), [(-0.01, []), (0.0, []), (0.09, []), (0.101, [101.0]), (0.3, [300.0])])
def test_within_100_ms_of_go_nobody_has_reacted(after: float, logged: list[float]) -> None:
    session = go(play(begin(ring(), Mode.CUED), Press(1))[0], 3)
    session, effects = play(session, Press(3 + after))
    assert times(effects) == logged
    assert session.phase is (Phase.WAIT if logged else Phase.READY)
    assert session.message.startswith("Too early") is not bool(logged)


def test_one_change_repeated_waits_for_the_hand_to_be_back() -> None:
    session = begin(one_change(drill(), 0, 1, times=2), Mode.CUED)
    session, effects = play(go(play(session, Press(1))[0], 3), Press(3.5))
    assert (session.phase, session.pair, session.clock) == (Phase.READY, (0, 1), None)
    session, effects = play(go(play(session, Press(6))[0], 8), Press(8.25))
    assert effects[-1] == RunEnded(Summary(1, Timing.CUE, 1.0, 2, 2, (500.0, 250.0)))


def test_after_a_missed_change_the_player_takes_the_shape_first() -> None:
    session, _ = play(go(play(begin(ring(), Mode.CUED), Press(1))[0], 3), Missed(5))
    assert (session.phase, session.pair) == (Phase.READY, (1, 2))


def test_a_key_held_on_landing_does_not_spoil_the_next_wait() -> None:
    session = go(play(begin(ring(), Mode.CUED), Press(1))[0], 3)
    session, _ = play(session, Press(3.5))
    wait = session.clock
    assert wait is not None
    session, effects = play(session, *held(3.5, 0.4, 10))
    assert session.phase is Phase.WAIT
    # The wait was stopped by the repeat; another is drawn under a number of its own.
    again = session.clock
    assert again is not None
    assert again.clock > wait.clock
    assert effects == [StopClock(wait.clock), again]
    assert play(session, Go(5, wait.clock)) == (session, [])
    session, effects = play(go(session, 6), Press(6.5))
    assert times(effects) == [500.0]


def test_a_key_held_on_starting_starts_once() -> None:
    session, _ = play(begin(ring(), Mode.CUED), Press(1), *held(1, 0.25, 5))
    assert (session.phase, session.pair) == (Phase.WAIT, (0, 1))


def test_a_key_held_through_go_lands_only_when_it_is_pressed_anew() -> None:
    session, _ = play(begin(ring(), Mode.CUED), Press(1), *held(1, 0.25, 60))  # repeats until 3.02
    session = go(session, 3.03)
    session, effects = play(session, Press(3.05), Press(3.08), Press(3.11), Press(3.7))
    assert times(effects) == [670.0]


def test_a_pause_voids_the_wait_and_going_on_draws_another() -> None:
    session, _ = play(begin(ring(), Mode.CUED), Press(1))
    wait = session.clock
    assert wait is not None
    session, effects = play(session, Pause(2), Resume(9))
    assert effects == [StopClock(wait.clock), session.clock]
    assert (session.phase, session.clock) == (Phase.WAIT, CueAfterWait(session.serial, 1.0, 3.0))


# Paced


def test_a_bar_is_counted_in_and_the_board_advances() -> None:
    session, effects = play(begin(ring(), Mode.PACED, tempo=90), Press(1))
    assert effects == [StartBeat(session.serial, 90, 1)]
    assert effects[0].every_s == pytest.approx(2 / 3)  # type: ignore[union-attr]  # the StartBeat
    assert (session.phase, session.counting, session.beat, session.holding) == (Phase.COUNT_IN, None, None, 0)
    seen = []
    for _ in range(20):
        session, effects = ticks(session, 1)
        assert effects == [Bell(session.counting == 1 or session.beat == 1)]
        seen.append((session.counting, session.holding, session.beat, session.pair, session.change))
    count_in = [(n, 0, None, (0, 1), 1) for n in (1, 2, 3, 4)]
    first = [(None, 0, n, (0, 1), 1) for n in (1, 2, 3, 4)]
    second = [(None, 1, n, (1, 2), 2) for n in (1, 2, 3, 4)]
    third = [(None, 2, n, (2, 0), 3) for n in (1, 2, 3, 4)]
    # Back on the first shape nothing is ahead.
    last = [(None, 0, n, (2, 0), 3) for n in (1, 2, 3, 4)]
    assert seen == count_in + first + second + third + last
    clock = session.clock
    assert clock is not None
    session, effects = ticks(session, 1)
    assert effects == [StopClock(clock.clock), AskLanded(session.serial, 3, 1.0)]
    assert (session.phase, session.question) == (Phase.ASK, Question(3, 3))


def test_a_digit_answers_and_the_tempo_follows() -> None:
    session, effects = play(asked(), Said(50, 3))
    assert effects[-1] == RunEnded(Summary(1, Timing.BEAT, 1, 3, 3, tempo=60))
    assert (session.phase, session.tempo, session.message) == (
        Phase.ENDED,
        70,
        "3 of 3 landed. Next at 70 beats per minute.",
    )
    session, effects = play(session, Press(60))
    assert effects == [StartBeat(session.serial, 70, 1)]


def test_the_ladder_holds_at_the_target() -> None:
    target = Target(62)
    session, _ = play(begin(ring(), Mode.PACED, 60, Settings(target=target)), Press(1))
    session, _ = ticks(session, 21)
    session, _ = play(session, Said(50, 3))
    assert (session.phase, session.tempo) == (Phase.ENDED, 62)


def test_a_second_pedal_answers_without_waiting() -> None:
    session, _ = play(asked(), MarkUnclean(50), MarkUnclean(50.2), Press(50.5))
    assert session.ended[-1].landed == 1


@pytest.mark.parametrize("landed", [-1, 4, 9])
def test_more_than_went_by_is_no_answer(landed: int) -> None:
    session, effects = play(asked(), Said(50, landed))
    assert (session.phase, session.message, effects) == (Phase.ASK, "From 0 to 3.", [])


def test_one_pedal_answers_by_scanning() -> None:
    session = asked()
    clock = session.clock
    assert clock is not None
    choices = [session.choice]
    for n in range(6):
        session, effects = play(session, Scan(50 + n, clock.clock))
        assert effects == []
        choices.append(session.choice)
    assert choices == [3, 2, 1, 0, 3, 2, 1]
    session, effects = play(session, Press(60))
    assert effects == [StopClock(clock.clock), RunEnded(Summary(1, Timing.BEAT, 1, 3, 1, tempo=60))]
    assert session.tempo == 52


def test_an_answer_taken_back_is_asked_again_and_the_tempo_restored() -> None:
    session, effects = play(asked(), Said(50, 0), TakeBack(51))
    assert isinstance(effects[-2], RunReopened)
    assert isinstance(effects[-1], AskLanded)
    assert (session.phase, session.tempo, session.question) == (Phase.ASK, 60, Question(3, 3))
    session, effects = play(session, Said(52, 3))
    assert effects[-1] == RunEnded(Summary(1, Timing.BEAT, 1, 3, 3, tempo=60))


def test_a_key_held_on_answering_does_not_begin_the_next_run() -> None:
    session, effects = play(asked(), Press(50), *held(50, 0.3, 5))
    assert (session.phase, session.run, session.clock) == (Phase.ENDED, 1, None)
    assert [type(effect) for effect in effects] == [StopClock, RunEnded, StartBeat, StopClock]


def test_a_key_held_from_the_last_beat_does_not_answer() -> None:
    session, _ = play(begin(ring(), Mode.PACED), Press(1))
    session, _ = ticks(session, 20)
    clock = session.clock
    assert clock is not None
    session, _ = play(session, Press(200), Beat(200.1, clock.clock))
    scan = session.clock
    assert scan is not None
    session, effects = play(session, Press(200.3), Scan(200.31, scan.clock), Press(200.33), Press(200.36))
    # Back to the question, which the highlight has moved on.
    assert session.question == Question(3, 2)
    assert [type(effect) for effect in effects] == [StopClock, RunEnded, RunReopened, AskLanded]


def test_nothing_is_pressed_while_playing() -> None:
    session, _ = play(begin(ring(), Mode.PACED), Press(1))
    session, _ = ticks(session, 7)
    pressed, effects = play(session, Press(200), Leave(201), Landed(202), Said(203, 2))
    assert effects == []
    assert (pressed.phase, pressed.beat, pressed.holding) == (Phase.PLAYING, 3, 0)


def test_the_way_back_in_tempo_does_not_count() -> None:
    session, _ = play(begin(one_change(drill(beats=1), 0, 1, times=2), Mode.PACED), Press(1))
    session, _ = ticks(session, 4)
    seen = []
    for _ in range(4):
        session, _ = ticks(session, 1)
        seen.append((session.holding, session.pair, session.counted, session.change))
    assert seen == [(0, (0, 1), True, 1), (1, (1, 0), False, 2), (0, (0, 1), True, 2), (1, (0, 1), True, 2)]
    session, _ = ticks(session, 1)
    assert session.question == Question(2, 2)


def test_a_shape_may_begin_between_beats() -> None:
    session, effects = play(begin(whole(drill(2, Fraction(3, 2), Order.ONCE), 1), Mode.PACED, 60), Press(1))
    assert effects == [StartBeat(session.serial, 60, 2)]
    assert effects[0].every_s == 0.5  # type: ignore[union-attr]  # the StartBeat
    session, effects = ticks(session, 8)
    assert len(effects) == 4
    seen = []
    for _ in range(6):
        session, effects = ticks(session, 1)
        seen.append((session.holding, session.beat, effects))
    # A shape that begins between beats has no bell of its own.
    assert seen == [
        (0, 1, [Bell(True)]),
        (0, 1, []),
        (0, 2, [Bell(False)]),
        (1, 1, []),
        (1, 1, [Bell(False)]),
        (1, 2, []),
    ]
    session, _ = ticks(session, 1)
    assert session.phase is Phase.ASK


def test_a_long_drill_is_played_in_parts() -> None:
    names = ["Am", "C", "G", "Em", "D", "E"]
    steps = tuple(Step(stock_shape(name), name, Fraction(1)) for name in names * 2)
    session = begin(whole(Drill("Long", steps)), Mode.PACED)
    assert (session.changes, session.pair) == (6, (0, 1))
    session, _ = play(session, Press(1))
    session, _ = ticks(session, 4 + 7 + 1)
    session, _ = play(session, Press(50))
    session, _ = play(session, Press(60))
    assert (session.phase, session.pair, session.changes, session.run) == (Phase.COUNT_IN, (6, 7), 6, 2)
    session, _ = play(session, Restart(61))
    assert (session.phase, session.pair) == (Phase.READY, (6, 7))
    assert play(session, Next(62))[0].pair == (0, 1)
    assert play(session, Back(62))[0].pair == (0, 1)


def test_parts_are_stepped_through_and_another_mode_begins_with_the_first() -> None:
    session = begin(whole(drill(4), 6), Mode.PACED)
    starts = []
    for event in (Next(1), Next(2), Next(3), Back(4), Back(5)):
        session, _ = play(session, event)
        starts.append((session.part, session.round))
    assert starts == [(1, 3), (2, 5), (0, 1), (2, 5), (1, 3)]
    session, _ = play(session, SetMode(6, Mode.PACED))
    assert (session.part, session.round, session.phase) == (0, 1, Phase.READY)


def test_the_same_part_is_played_again() -> None:
    session, _ = play(asked(), Said(50, 2), Repeat(51))
    assert (session.phase, session.run, session.tempo) == (Phase.COUNT_IN, 2, 52)


@pytest.mark.parametrize(
    ("event", "tempo"),
    [
        (Slower(300), 55),
        (Faster(300), 65),
        (SetTempo(300, 100), 100),
        (SetTempo(300, 1000), 240),
        (SetTempo(300, 1), 20),
    ],
)
def test_another_tempo_begins_the_run_again(event: Event, tempo: float) -> None:
    session, _ = play(begin(ring(), Mode.PACED), Press(1))
    session, _ = ticks(session, 10)
    clock = session.clock
    assert clock is not None
    session, effects = play(session, event)
    assert effects == [StopClock(clock.clock), session.clock]
    assert isinstance(session.clock, StartBeat)
    assert (session.phase, session.tempo, session.clock.tempo, session.position) == (Phase.COUNT_IN, tempo, tempo, 0)
    assert play(session, Beat(301, clock.clock)) == (session, [])
    assert (session.began, session.played) == (300, tempo)


def test_the_same_tempo_lets_the_run_go_on() -> None:
    session, _ = play(begin(ring(), Mode.PACED, 240), Press(1))
    session, _ = ticks(session, 10)
    after, effects = play(session, Faster(300))
    assert (after.clock, after.tick, effects) == (session.clock, session.tick, [])


@pytest.mark.parametrize("beats", [2, 10])
def test_a_paced_run_interrupted_begins_again(beats: int) -> None:
    session, _ = play(begin(ring(), Mode.PACED), Press(1))
    session, _ = ticks(session, beats)
    clock = session.clock
    assert clock is not None
    void, effects = play(session, Void(300, "the program stood still"))
    assert effects == [StopClock(clock.clock)]
    assert (void.phase, void.position, void.message) == (Phase.READY, 0, "Void: the program stood still.")
    paused, effects = play(session, Pause(300))
    assert effects == [StopClock(clock.clock)]
    assert paused.message == "The run begins again with its count-in."
    assert play(paused, Beat(301, clock.clock)) == (paused, [])
    session, effects = play(paused, Press(310))
    assert effects == [session.clock]
    assert (session.phase, session.tick, session.began) == (Phase.COUNT_IN, -1, 310)


def test_a_question_stands_through_a_pause() -> None:
    session, effects = play(asked(), Pause(50))
    assert session.question is None
    session, effects = play(session, Resume(60))
    assert effects == [AskLanded(session.serial, 3, 1.0)]
    assert session.question == Question(3, 3)


def test_the_tempo_follows_the_one_that_was_played() -> None:
    session, _ = play(asked(), Slower(50), Pause(51), SetTempo(52, 200), Resume(53), Said(54, 3))
    assert (session.tempo, session.ended[0].tempo) == (70, 60)


def test_after_the_run_the_last_shape_is_held() -> None:
    course = one_change(drill(), 0, 1, times=2)
    assert asked(course).holding == 1
    assert play(asked(course), Said(50, 2))[0].holding == 1


def test_a_paced_run_broken_off_leaves_nothing_to_log() -> None:
    session, _ = play(begin(ring(), Mode.PACED), Press(1))
    session, _ = ticks(session, 10)
    assert not [effect for effect in play(session, Quit(300))[1] if isinstance(effect, RunEnded)]


def test_another_mode_begins_anew() -> None:
    session, _ = play(asked(), Said(50, 3), SetMode(51, Mode.PRESSES))
    assert (session.phase, session.mode, session.run, session.pair) == (Phase.HOLD, Mode.PRESSES, 2, (0, 1))
    session, effects = play(session, SetMode(52, Mode.WALK))
    assert effects == [Show((0, 1))]
    assert session.timing is None
    session, _ = play(session, SetMode(53, Mode.PACED))
    assert (session.phase, session.tempo) == (Phase.READY, 70)


def test_paced_is_the_default_and_the_course_has_the_first_tempo() -> None:
    session = begin(ring())
    assert (session.mode, session.phase, session.tempo) == (Mode.PACED, Phase.READY, 60)


@pytest.mark.parametrize(("mode", "start"), [(Mode.PRESSES, Press(10)), (Mode.CUED, None)])
def test_a_change_left_standing_is_no_time(mode: Mode, start: Press | None) -> None:
    session = begin(ring(), mode)
    if start is not None:
        session, _ = play(session, start)
    else:
        session, _ = play(session, Press(9))
        assert session.clock is not None
        session, _ = play(session, Go(10, session.clock.clock))
    longest = session.settings.longest_s
    assert play(session, Press(10 + longest))[0].landings
    after, effects = play(session, Press(10 + longest + 0.1))
    assert effects == []
    assert (after.phase, after.position) == (FIRST[mode], 0)
    assert "left standing" in after.message
