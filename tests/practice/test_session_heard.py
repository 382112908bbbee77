"""Practice by ear: the session follows what is heard; what was not a whole change is not logged as one."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from tests.practice.playing import drill, play, ring, ticks
from trainer.practice.course import back_and_forth, one_change, whole
from trainer.practice.effects import Expect, MarkClean, Measured, RunEnded, Timed, Unlog
from trainer.practice.events import Back, Heard, MarkUnclean, Next, Pause, Press, Resume, TakeBack, Void
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode, Phase
from trainer.practice.record import Texture, Timing
from trainer.practice.session import begin
from trainer.practice.state import Session


def heard(index: int, before: int, after: int, at: float = 10.0, **more: object) -> Heard:
    change = HeardChange(index, before, after, True, Texture.BLOCK, struck_s=at - 1, landed_s=at, change_ms=400.0)
    return Heard(at, replace(change, **more))  # type: ignore[arg-type]  # fields of HeardChange


def listening(rounds: int = 2) -> Session:
    return begin(ring(rounds), Mode.HEARD)


def test_a_change_that_is_heard_is_timed_and_the_next_is_at_hand() -> None:
    after, effects = play(listening(), heard(0, 0, 1))
    (timed,) = effects
    assert isinstance(timed, Timed)
    assert (timed.timing, timed.pair, timed.change_ms, timed.at) == (Timing.HEARD, (0, 1), 400.0, 10.0)
    assert (after.phase, after.pair) == (Phase.LISTENING, (1, 2))


def test_its_verdict_comes_later_and_goes_to_the_same_entry() -> None:
    session, _ = play(listening(), heard(0, 0, 1))
    after, effects = play(session, heard(0, 0, 1, clean=True, done=True, change_ms=410.0))
    (measured,) = effects
    assert isinstance(measured, Measured)
    assert (measured.number, measured.clean, measured.heard.change_ms) == (session.tries[0].number, True, 410.0)
    assert after.position == session.position


def test_what_the_player_said_stands_against_what_was_heard() -> None:
    session, effects = play(listening(), heard(0, 0, 1), MarkUnclean(11))
    assert isinstance(effects[-1], MarkClean)
    after, effects = play(session, heard(0, 0, 1, clean=True, done=True))
    assert after.tries[0].clean is False
    again, _ = play(after, MarkUnclean(12))
    assert again.tries[0].clean is True


def test_one_that_did_not_land_counts_as_tried_and_is_not_logged() -> None:
    after, effects = play(listening(), heard(0, 0, 1, landed_s=None, change_ms=None, done=True))
    assert effects == []
    assert (after.pair, len(after.run_tries), len(after.landings)) == ((1, 2), 1, 0)


def test_a_figure_lands_without_a_change_time() -> None:
    after, (timed,) = play(listening(), heard(0, 0, 1, change_ms=None, delay_ms=12.0))
    assert isinstance(timed, Timed)
    assert timed.change_ms is None
    assert (len(after.landings), after.times_ms) == (1, ())


def test_the_board_follows_a_player_who_skips_or_goes_back() -> None:
    after, effects = play(listening(), heard(0, 0, 2, expected=False))
    assert effects == []
    assert after.pair == (2, 0)
    back, effects = play(after, heard(1, 2, 1, expected=False))
    assert effects == []
    assert back.pair == (1, 2)


def test_a_run_goes_on_into_the_next_by_itself() -> None:
    session, effects = play(listening(1), heard(0, 0, 1), heard(1, 1, 2), heard(2, 2, 0))
    assert session.phase is Phase.ENDED
    (ended,) = [effect for effect in effects if isinstance(effect, RunEnded)]
    assert (ended.summary.timing, ended.summary.asked, ended.summary.landed) == (Timing.HEARD, 3, 3)
    after, effects = play(session, heard(2, 2, 0, done=True, clean=True), heard(3, 0, 1))
    assert [type(effect) for effect in effects] == [Measured, Timed]
    assert (after.run, after.pair) == (2, (1, 2))


def test_what_was_taken_back_does_not_come_again_with_its_verdict() -> None:
    session, effects = play(listening(), heard(0, 0, 1), TakeBack(11))
    assert [type(effect) for effect in effects] == [Timed, Unlog, Expect]
    after, effects = play(session, heard(0, 0, 1, done=True, clean=True))
    assert effects == []
    assert after.tries == ()
    assert after.pair == (0, 1)


def test_keys_work_beside_it_and_the_ear_begins_anew_where_they_lead() -> None:
    session = listening()
    for event, step in ((Next(1), 1), (Next(2), 2), (Back(3), 1), (Press(4), 1)):
        session, effects = play(session, event)
        assert effects == [Expect(step)]
        assert session.holding == step


def test_nothing_counts_while_it_is_paused_and_the_ear_begins_anew_before_and_after() -> None:
    paused, effects = play(listening(), Pause(1))
    assert effects == [Expect(0)], "else a shape let go of in the pause would be held against the player"
    still, effects = play(paused, heard(0, 0, 1))
    assert (still.phase, effects) == (Phase.PAUSED, [])
    resumed, effects = play(still, Resume(20))
    assert resumed.phase is Phase.LISTENING
    assert effects == [Expect(0)]


def test_a_clock_that_cannot_be_trusted_voids_what_was_under_way() -> None:
    after, effects = play(listening(), heard(0, 0, 1), Void(11, "the computer slept"))
    assert effects[-1] == Expect(1)
    assert "Void" in after.message


def test_a_course_of_one_change_does_not_time_the_way_back() -> None:
    session = begin(one_change(drill(), 1, 2, 3), Mode.HEARD)
    after, effects = play(session, heard(0, 1, 2), heard(1, 2, 1, expected=False), heard(2, 1, 2))
    assert len([effect for effect in effects if isinstance(effect, Timed)]) == 2
    assert after.position == 2


def test_there_and_back() -> None:
    session = begin(back_and_forth(drill(), 0, 2, 1), Mode.HEARD)
    after, effects = play(session, heard(0, 0, 2), heard(1, 2, 0))
    assert after.phase is Phase.ENDED
    assert [type(effect) for effect in effects] == [Timed, Timed, RunEnded]


def test_to_the_beat_the_beat_alone_moves_the_board_and_nobody_is_asked() -> None:
    course = whole(drill(3, Fraction(2)), 1)
    session, _ = play(begin(course, Mode.PACED, 80), Press(1))
    session, _ = ticks(session, 4 + 2)  # the count-in, the first shape
    session, effects = play(session, heard(0, 0, 1, lateness_ms=30.0))
    (timed,) = effects
    assert isinstance(timed, Timed)
    assert (timed.timing, timed.tempo) == (Timing.HEARD, 80)
    session, _ = ticks(session, 2)
    session, _ = play(session, heard(0, 0, 1, done=True, clean=True), heard(1, 1, 2, landed_s=None, done=True))
    session, effects = ticks(session, 10)
    assert session.phase is Phase.ENDED
    (ended,) = [effect for effect in effects if isinstance(effect, RunEnded)]
    assert (ended.summary.timing, ended.summary.asked, ended.summary.landed) == (Timing.BEAT, 3, 1)


def test_to_the_beat_without_a_guitar_the_player_is_asked() -> None:
    session, _ = play(begin(whole(drill(3, Fraction(2)), 1), Mode.PACED, 80), Press(1))
    assert ticks(session, 20)[0].phase is Phase.ASK


def test_after_a_long_rest_nothing_is_logged() -> None:
    session = listening()
    after, effects = play(session, heard(0, 0, 1, struck_s=10.0 - session.settings.longest_s - 1))
    assert effects == [Expect(0)]
    assert "long rest" in after.message
