"""The table of phases and events: all of it can be walked into, and what is not in it changes nothing."""

from dataclasses import fields
from typing import get_args

import pytest

from tests.practice.playing import asked, play, ring, ticks
from trainer.practice.effects import StartBeat
from trainer.practice.events import (
    Beat,
    Event,
    Go,
    Heard,
    Pause,
    Press,
    Quit,
    Said,
    Scan,
    SetMode,
    SetTempo,
    Stamped,
    Void,
)
from trainer.practice.measures import HeardChange
from trainer.practice.phases import FIRST, STARTED, Mode, Phase
from trainer.practice.record import Texture
from trainer.practice.session import advance, begin
from trainer.practice.state import Session
from trainer.practice.transitions import ROWS, TRANSITIONS
from trainer.practice.wording import ANYWHERE, SAID, said

KINDS: tuple[type[Stamped], ...] = get_args(Event)
EXTRA: dict[type[Stamped], tuple[object, ...]] = {
    Said: (2,),
    Void: ("the clock ran backwards",),
    SetTempo: (80.0,),
    SetMode: (Mode.CUED,),
    Heard: (HeardChange(0, 0, 1, True, Texture.BLOCK, struck_s=89.0, landed_s=89.5, change_ms=300.0),),
}


def places() -> list[Session]:
    """Return one session for each mode and phase that can be reached."""
    walk, paced, presses, cued, listening = (begin(ring(), mode) for mode in Mode)
    landed = play(presses, Press(1), Press(2))[0]
    count_in = play(paced, Press(1))[0]
    wait = play(cued, Press(1))[0]
    assert wait.clock is not None
    flying = play(wait, Go(3, wait.clock.clock))[0]
    waiting = play(flying, Press(3.5))[0]
    found = [
        walk,
        paced,
        count_in,
        ticks(count_in, 7)[0],
        asked(),
        play(asked(), Said(50, 2))[0],
        presses,
        landed,
        play(landed, Press(3))[0],
        play(landed, *[Press(float(at)) for at in range(4, 8)])[0],
        cued,
        waiting,
        flying,
        play(flying, Press(3.01))[0],
        listening,
    ]
    found += [play(session, Pause(70))[0] for session in found]
    return found + [play(session, Quit(80))[0] for session in found[:2]]


def event(kind: type[Stamped], session: Session, at: float = 90.0) -> Event:
    extra = EXTRA.get(kind, ())
    if kind in {Go, Beat, Scan}:
        extra = (session.clock.clock if session.clock else 0,)
    made = kind(at, *extra)
    assert isinstance(made, Event)
    return made


def test_every_phase_is_among_the_places() -> None:
    assert {session.phase for session in places()} == set(Phase)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("place", places(), ids=lambda session: f"{session.mode}-{session.phase}")
def test_every_event_in_every_phase(kind: type[Stamped], place: Session) -> None:
    after, effects = advance(place, event(kind, place))
    known = TRANSITIONS.get((place.phase, kind)) is not None
    differing = {field.name for field in fields(Session) if getattr(after, field.name) != getattr(place, field.name)}
    if not known:
        # A press is remembered even where it means nothing, for what follows close upon it.
        assert differing <= {"presses", "undo"}
        assert effects == ()
    assert said(after.mode, after.phase).prompt or after.phase is Phase.CLOSED
    assert after.pair in after.course.pairs or not after.counted


def test_every_row_of_the_table_is_reachable_and_explained() -> None:
    reached = {session.phase for session in places()}
    for kind, phases, handler in ROWS:
        assert kind in KINDS
        assert set(phases) <= reached
        assert handler.__doc__
    assert len(TRANSITIONS) == sum(len(phases) for _, phases, _ in ROWS)


def test_every_event_has_an_effect_somewhere() -> None:
    assert {kind for _, kind in TRANSITIONS} == set(KINDS)


@pytest.mark.parametrize("phase", [phase for phase in Phase if phase is not Phase.CLOSED])
def test_every_phase_can_be_quit(phase: Phase) -> None:
    for session in places():
        if session.phase is phase:
            assert advance(session, Quit(99))[0].phase is Phase.CLOSED


def test_one_pedal_leads_on_from_every_phase_but_those_that_go_on_by_themselves() -> None:
    deaf = {phase for phase in Phase if (phase, Press) not in TRANSITIONS}
    assert deaf == {Phase.COUNT_IN, Phase.PLAYING, Phase.CLOSED}


@pytest.mark.parametrize("kind", [Go, Beat, Scan])
def test_a_clock_that_was_stopped_has_no_effect(kind: type[Go | Beat | Scan]) -> None:
    for session in places():
        assert advance(session, kind(90, clock=10_000)) == (session, ())


def test_every_mode_has_a_prompt_wherever_it_stands() -> None:
    for mode in Mode:
        for phase in (FIRST[mode], STARTED[mode]):
            assert SAID[mode, phase].prompt
    assert not {phase for _, phase in SAID} & set(ANYWHERE)


def test_ticks_of_the_beat_are_whole_where_shapes_begin_on_beats() -> None:
    session = play(begin(ring(), Mode.PACED), Press(1))[0]
    assert isinstance(session.clock, StartBeat)
    assert (session.clock.per_beat, session.clock.every_s) == (1, 1.0)
