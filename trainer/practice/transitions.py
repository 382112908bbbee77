"""What each event does in each phase: one table, `TRANSITIONS`; what is not in it has no effect.

A handler takes a session and an event that is due in its phase, and returns the session after it. None of them says
what the runner is to do: that follows from the difference between the two (`session.effects_between`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import MappingProxyType
from typing import Any, TypeAlias

from trainer.practice import events, flight, hearing, pacing
from trainer.practice.phases import BEATING, KEPT_BY_PAUSE, Mode, Phase
from trainer.practice.runs import close, enter, from_the_top, listen_anew, new_run, stand_at, start
from trainer.practice.state import Session

Handler: TypeAlias = Callable[[Session, Any], Session]
"""What to do with an event of the type it stands beside in the table."""

IN_FLIGHT = "The change in flight does not count."
FROM_THE_TOP = "The run begins again with its count-in."


def _walk_to(session: Session, position: int) -> Session:
    shown = replace(session, position=position % len(session.route), shown=session.shown + 1)
    return enter(shown, Phase.WALK)


def _walk_on(session: Session, event: events.Press | events.Next) -> Session:
    """Show the next change, the first after the last."""
    return _walk_to(session, session.position + 1)


def _walk_back(session: Session, event: events.Back) -> Session:
    """Show the change before, the last before the first."""
    return _walk_to(session, session.position - 1)


def _walk_again(session: Session, event: events.Repeat) -> Session:
    """Show the change again."""
    return _walk_to(session, session.position)


def _skip(session: Session, event: events.Next) -> Session:
    """Go on to the next change without counting this one; paced: to the next part of the course."""
    if session.mode is Mode.PACED:
        return new_run(session, part=session.part + 1)
    return stand_at(session, session.position + 1)


def _step_back(session: Session, event: events.Back) -> Session:
    """Go back to the change before; paced: to the part before."""
    if session.mode is Mode.PACED:
        return new_run(session, part=session.part - 1)
    return stand_at(session, session.position - 1)


def _last_again(session: Session, event: events.Repeat) -> Session:
    """Go back to the change played last; what was logged of it stays."""
    return stand_at(session, session.position - 1)


def _this_again(session: Session, event: events.Repeat) -> Session:
    """Give up the change in flight and stand before it again."""
    return stand_at(session, session.position, IN_FLIGHT)


def _run_next(session: Session, event: events.Press) -> Session:
    """Begin the next run; paced: of the next part, where the course has several."""
    return start(new_run(session, part=session.part + 1), event)


def _run_again(session: Session, event: events.Repeat) -> Session:
    """Begin another run of the same changes."""
    return start(new_run(session), event)


def _restart(session: Session, event: events.Restart) -> Session:
    """Stand before the first change of a new run."""
    return new_run(session)


def _set_mode(session: Session, event: events.SetMode) -> Session:
    """Stand before the first change of a new run in another mode."""
    return new_run(session, mode=event.mode, part=0)


def _quit(session: Session, event: events.Quit) -> Session:
    """Close the session."""
    return enter(close(session), Phase.CLOSED)


def _reopen(session: Session, event: events.TakeBack) -> Session:
    """Take back what ended the run: the last landing or miss; paced: the answer, and the tempo that followed it."""
    opened = replace(session, ended=session.ended[:-1])
    if session.mode is Mode.PACED:
        return pacing.ask(replace(opened, tempo=session.played))
    return flight.take_back(opened, event)


def _pause(session: Session, event: events.Pause) -> Session:
    """Stop timing; what is in flight, a change or a paced run, is void."""
    note = _PAUSE_NOTES.get(session.phase, "")
    held = from_the_top(session) if session.phase in BEATING else listen_anew(session)
    return replace(enter(held, Phase.PAUSED, note), before_pause=session.phase)


def _resume(session: Session, event: events.Press | events.Resume) -> Session:
    """Go on before the change that was at hand: from a new wait, from the count-in, from the shape that is held."""
    before = session.before_pause
    if before is not None and before in KEPT_BY_PAUSE:
        return enter(session, before)
    return start(listen_anew(session), event)


def _void(session: Session, event: events.Void) -> Session:
    """Give up what is in flight: a change, a wait, or a paced run."""
    held = from_the_top(session) if session.phase in BEATING else session
    return stand_at(held, held.position, f"Void: {event.why}.")


_PAUSE_NOTES = {Phase.CHANGING: IN_FLIGHT, Phase.COUNT_IN: FROM_THE_TOP, Phase.PLAYING: FROM_THE_TOP}

_ANY = tuple(phase for phase in Phase if phase is not Phase.CLOSED)
_ANY_BUT_ASK = tuple(phase for phase in _ANY if phase is not Phase.ASK)
_AT_A_CHANGE = (Phase.READY, Phase.HOLD, Phase.WAIT, Phase.CHANGING, Phase.LISTENING)
_HEARD_OUT = tuple(phase for phase in _ANY if phase not in {Phase.LISTENING, Phase.PLAYING, Phase.ENDED})

ROWS: tuple[tuple[type[events.Stamped], tuple[Phase, ...], Handler], ...] = (
    (events.Press, (Phase.WALK,), _walk_on),
    (events.Press, (Phase.READY,), start),
    (events.Press, (Phase.HOLD,), flight.leave),
    (events.Press, (Phase.WAIT,), flight.too_early),
    (events.Press, (Phase.CHANGING,), flight.land),
    (events.Press, (Phase.ASK,), pacing.take_choice),
    (events.Press, (Phase.LISTENING,), hearing.from_here),
    (events.Press, (Phase.PAUSED,), _resume),
    (events.Press, (Phase.ENDED,), _run_next),
    (events.Leave, (Phase.HOLD,), flight.leave),
    (events.Landed, (Phase.WAIT,), flight.too_early),
    (events.Landed, (Phase.CHANGING,), flight.land),
    (events.Missed, (Phase.CHANGING,), flight.miss),
    (events.Heard, (Phase.LISTENING,), hearing.heard),
    (events.Heard, (Phase.PLAYING,), hearing.on_the_beat),
    (events.Heard, (Phase.ENDED,), hearing.run_on),
    (events.Heard, _HEARD_OUT, hearing.more),
    (events.Deaf, BEATING, hearing.deaf),
    (events.Go, (Phase.WAIT,), flight.go),
    (events.Beat, BEATING, pacing.beat),
    (events.Scan, (Phase.ASK,), pacing.scan),
    (events.Said, (Phase.ASK,), pacing.said),
    (events.MarkUnclean, (Phase.ASK,), pacing.scan),
    (events.Next, (Phase.WALK,), _walk_on),
    (events.Next, _AT_A_CHANGE, _skip),
    (events.Back, (Phase.WALK,), _walk_back),
    (events.Back, _AT_A_CHANGE, _step_back),
    (events.Repeat, (Phase.WALK,), _walk_again),
    (events.Repeat, (Phase.READY, Phase.HOLD, Phase.WAIT, Phase.LISTENING), _last_again),
    (events.Repeat, (Phase.CHANGING,), _this_again),
    (events.Repeat, (Phase.ENDED,), _run_again),
    (events.MarkUnclean, (*_AT_A_CHANGE, Phase.PAUSED, Phase.ENDED), flight.mark),
    (events.TakeBack, _AT_A_CHANGE, flight.take_back),
    (events.TakeBack, (Phase.ENDED,), _reopen),
    (events.Void, (Phase.WAIT, Phase.CHANGING, Phase.LISTENING, *BEATING), _void),
    (events.Pause, (*_AT_A_CHANGE, *BEATING, Phase.ASK), _pause),
    (events.Resume, (Phase.PAUSED,), _resume),
    (events.SetTempo, _ANY_BUT_ASK, pacing.set_tempo),
    (events.Slower, _ANY_BUT_ASK, pacing.slower),
    (events.Faster, _ANY_BUT_ASK, pacing.faster),
    (events.SetMode, _ANY, _set_mode),
    (events.Restart, _ANY, _restart),
    (events.Quit, _ANY, _quit),
)
"""(event type, the phases it has an effect in, what it does); what it does is said by the handler's first line."""

TRANSITIONS: MappingProxyType[tuple[Phase, type[events.Stamped]], Handler] = MappingProxyType(
    {(phase, kind): handler for kind, phases, handler in ROWS for phase in phases}
)
"""What each event does, by phase and event type."""
