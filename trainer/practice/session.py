"""The practice session as a state machine: `begin` one, `advance` it with each event, carry out the effects.

Pure: every moment is an argument, the runner draws the random wait, and change times come from event stamps alone.

A press that turns out to have been a held key's first repeat is undone: the session is put back to what it was before
it, and whatever else has happened since is gone through again. Effects are the difference between two sessions, so
whatever was logged by mistake is taken out of the log by the same rule that put it in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from operator import is_not

from trainer.practice.course import Course
from trainer.practice.effects import (
    Bell,
    Effect,
    Expect,
    MarkClean,
    Measured,
    RunEnded,
    RunReopened,
    Show,
    StopClock,
    Timed,
    Unlog,
)
from trainer.practice.events import Event, Press, Ticking
from trainer.practice.phases import DEFAULT_MODE, FIRST, Mode, Phase
from trainer.practice.presses import Verdict
from trainer.practice.runs import route, say
from trainer.practice.state import Session, Settings, Try, Undo
from trainer.practice.tempo import within_limits
from trainer.practice.transitions import TRANSITIONS

HELD = "A key that is held counts once."


def begin(
    course: Course, mode: Mode = DEFAULT_MODE, tempo: float | None = None, settings: Settings | None = None
) -> Session:
    """Return a session before its first change, at `tempo` beats per minute or the course's own."""
    session = Session(
        course,
        mode,
        within_limits(course.tempo if tempo is None else tempo),
        FIRST[mode],
        (),
        settings=settings or Settings(),
    )
    return replace(session, route=route(session))


def advance(session: Session, event: Event) -> tuple[Session, tuple[Effect, ...]]:
    """Return the session after `event`, and what the runner is to do, in order."""
    if session.phase is Phase.CLOSED:
        return session, ()
    after = _press(session, event) if isinstance(event, Press) else _other(session, event)
    return after, tuple(effects_between(session, after))


def effects_between(before: Session, after: Session) -> Iterator[Effect]:
    """Yield what the runner must do when `before` has become `after`."""
    if before.clock is not None and before.clock != after.clock:
        yield StopClock(before.clock.clock)
    yield from _log_effects(before, after)
    yield from _run_effects(before, after)
    if after.tick > before.tick and after.on_beat:
        yield Bell(after.accented)
    if after.shown != before.shown and after.phase is Phase.WALK:
        yield Show(after.pair)
    if after.clock is not None and after.clock != before.clock:
        yield after.clock
    if after.expected != before.expected and after.mode is Mode.HEARD:
        yield Expect(after.holding)
    if after.note.text and after.note != before.note:
        yield after.note


def _log_effects(before: Session, after: Session) -> Iterator[Effect]:
    if before.tries is after.tries:
        return
    same = _shared(before.tries, after.tries)
    old, new = _landed(before.tries[same:]), _landed(after.tries[same:])
    yield from (Unlog(number) for number in old if number not in new)
    for number, one in new.items():
        if number not in old:
            yield one
        elif one.heard is not None and one.heard != old[number].heard:
            yield Measured(number, one.heard, one.clean)
        elif one.clean is not old[number].clean:
            yield MarkClean(number, one.clean)


def _shared(before: Sequence[object], after: Sequence[object]) -> int:
    """Return how many items both begin with: after hours they hold thousands, and a press changes one or two."""
    differs = list(map(is_not, before, after))
    return differs.index(True) if True in differs else len(differs)


def _landed(tries: Iterable[Try]) -> dict[int, Timed]:
    return {
        one.number: Timed(
            *(one.number, one.run, one.pair, one.timing),
            change_ms=one.change_ms,
            at=one.at,
            clean=one.clean,
            tempo=one.tempo,
            heard=one.heard,
        )
        for one in tries
        if one.landed
    }


def _run_effects(before: Session, after: Session) -> Iterator[Effect]:
    if before.ended is after.ended:
        return
    same = _shared(before.ended, after.ended)
    old, new = ({summary.run: summary for summary in session.ended[same:]} for session in (before, after))
    yield from (RunReopened(run) for run in old if run not in new)
    yield from (RunEnded(summary) for run, summary in new.items() if old.get(run) != summary)


def _apply(session: Session, event: Event) -> Session:
    """Return the session after `event`, whatever it is worth; one from a clock that was stopped is worth nothing."""
    if isinstance(event, Ticking) and (session.clock is None or session.clock.clock != event.clock):
        return session
    handler = TRANSITIONS.get((session.phase, type(event)))
    return session if handler is None else handler(session, event)


def _press(session: Session, event: Press) -> Session:
    presses, verdict = session.presses.judge(event.at, session.settings.repeat_s)
    judged = replace(session, presses=presses)
    if verdict is Verdict.IGNORED:
        return judged
    if verdict is Verdict.TAKES_BACK:
        return judged if judged.undo is None else _undone(judged, judged.undo)
    return replace(_apply(judged, event), undo=Undo(replace(judged, undo=None)))


def _other(session: Session, event: Event) -> Session:
    return replace(_apply(session, event), undo=_still_undoable(session, event))


def _still_undoable(session: Session, event: Event) -> Undo | None:
    """Return what it takes to undo the last press, `event` added; None once no repeat of it can be on its way."""
    undo, last = session.undo, session.presses.last
    if undo is None or last is None or event.at > last + 2 * session.settings.repeat_s:
        return None
    return replace(undo, since=(*undo.since, event))


def _undone(session: Session, undo: Undo) -> Session:
    """Return the session as if the last press had not been.

    No number is given twice, and a clock that was stopped since is set going under a new one.
    """
    again = replace(undo.before, serial=session.serial, presses=session.presses)
    for event in undo.since:
        again = _apply(again, event)
    if again.clock is not None and again.clock != session.clock:
        number = again.serial + 1
        again = replace(again, serial=number, clock=replace(again.clock, clock=number))
    return again if again == session else say(again, HELD)
