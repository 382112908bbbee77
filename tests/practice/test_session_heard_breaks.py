"""What was heard around pauses, breaks and losses: nothing twice, nothing that was not to be timed, nothing guessed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.practice.playing import play, ring, ticks
from trainer.practice.effects import RunEnded, RunReopened, Timed
from trainer.practice.events import Deaf, Event, Heard, Pause, Press, Quit, Resume, Slower, TakeBack
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode, Phase
from trainer.practice.record import Texture
from trainer.practice.session import begin
from trainer.practice.state import Session

BAR = 4


def heard(index: int, before: int, after: int, at: float = 10.0, **more: object) -> Heard:
    change = HeardChange(index, before, after, True, Texture.BLOCK, struck_s=at - 1, landed_s=at, change_ms=400.0)
    return Heard(at, replace(change, **more))  # type: ignore[arg-type]  # fields of HeardChange


def playing(shape: int) -> Session:
    """Return a run to the beat on the first beat of the shape held as number `shape` (from 0)."""
    counted_in = play(begin(ring(), Mode.PACED, 60), Press(0))[0]
    return ticks(counted_in, BAR + BAR * shape + 1)[0]


def to_the_end(session: Session) -> tuple[Session, list[object]]:
    effects: list[object] = []
    while session.phase in {Phase.COUNT_IN, Phase.PLAYING}:
        session, more = ticks(session, 1)
        effects += more
    return session, effects


@pytest.mark.parametrize("broken_off", [Pause(20), Slower(20)])
def test_a_run_to_the_beat_that_is_broken_off_is_not_the_one_that_is_played_from_the_top(broken_off: Event) -> None:
    session, effects = play(playing(1), heard(0, 0, 1), broken_off, Resume(21))
    (first,) = (effect for effect in effects if isinstance(effect, Timed))
    again = ticks(session, 2 * BAR + 1)[0]
    again, effects = play(again, heard(1, 0, 1, 30.0))
    (second,) = (effect for effect in effects if isinstance(effect, Timed))
    assert (first.pair, second.pair) == ((0, 1), (0, 1))
    assert second.run == first.run + 1
    assert second.tempo == again.tempo
    ended, _ = to_the_end(again)
    assert ended.summary is not None
    assert (ended.summary.run, ended.summary.landed, ended.summary.tempo) == (second.run, 1, second.tempo)


def test_how_many_would_have_landed_of_a_run_to_the_beat_that_is_left_nobody_says() -> None:
    _, effects = play(playing(1), heard(0, 0, 1), Quit(20))
    assert not [effect for effect in effects if isinstance(effect, RunEnded)]


def test_what_was_heard_can_be_taken_back_and_said_otherwise() -> None:
    session, _ = to_the_end(play(playing(1), heard(0, 0, 1))[0])
    assert (session.phase, session.ended[-1].landed) == (Phase.ENDED, 1)
    asked, effects = play(session, TakeBack(99))
    assert RunReopened(1) in effects
    assert asked.phase is Phase.ASK


def test_a_run_in_which_the_guitar_was_lost_is_asked_about() -> None:
    session, _ = to_the_end(play(playing(1), heard(0, 0, 1), Deaf(12))[0])
    assert session.phase is Phase.ASK
    answered, _ = play(session, Press(90), Press(95))
    following, _ = to_the_end(play(ticks(answered, 2 * BAR + 1)[0], heard(1, 0, 1, 99.0))[0])
    assert following.phase is Phase.ENDED


def test_a_change_a_whole_shape_late_did_not_land_in_tempo() -> None:
    late, _ = play(playing(3), heard(0, 0, 1))
    assert not late.tries
    early, _ = play(playing(0), heard(0, 0, 1))
    on_time, _ = play(playing(1), heard(0, 0, 1))
    assert [one.position for one in (*early.tries, *on_time.tries)] == [0, 0]


def test_what_is_played_in_a_pause_is_not_logged_when_more_is_known_of_it_afterwards() -> None:
    paused, _ = play(begin(ring(), Mode.HEARD), Pause(5))
    after, effects = play(paused, heard(0, 0, 1, 6.0), Resume(7), heard(0, 0, 1, 6.0, done=True, clean=True))
    assert not [effect for effect in effects if isinstance(effect, Timed)]
    assert (after.phase, after.position) == (Phase.LISTENING, 0)


def test_a_step_back_is_no_jump_to_the_next_round() -> None:
    session, _ = play(begin(ring(2), Mode.HEARD), heard(0, 0, 1))
    back, _ = play(session, heard(1, 1, 0, 11.0, expected=False))
    assert back.position == 0
    second_round, _ = play(session, heard(1, 1, 2), heard(2, 2, 0), heard(3, 0, 1))
    assert second_round.position == 4
    back, _ = play(second_round, heard(4, 1, 0, 15.0, expected=False))
    assert back.position == 3
