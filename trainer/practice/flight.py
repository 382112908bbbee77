"""What happens to a change that is timed between two moments: leave or go, and landing."""

from __future__ import annotations

from dataclasses import replace

from trainer.practice.events import Go, Landed, Leave, MarkUnclean, Missed, Press, Stamped, TakeBack
from trainer.practice.phases import FIRST, STARTED, TIMINGS, Mode, Phase
from trainer.practice.runs import begun, enter, stand_at, sum_up
from trainer.practice.state import Session, Try

TOO_EARLY = "Too early: void. Take the shape again and press when you hold it."
LEFT_STANDING = "That was left standing: void. Take the shape again."
TAKEN_BACK = "Taken back. Take the shape the change starts from."


def leave(session: Session, event: Press | Leave) -> Session:
    """The hand leaves: the change is in flight."""
    return replace(enter(begun(session, event.at), Phase.CHANGING), left=event.at)


def go(session: Session, event: Go) -> Session:
    """The cue was given: the change is in flight."""
    return replace(enter(session, Phase.CHANGING), left=event.at)


def too_early(session: Session, event: Stamped) -> Session:
    """Void: the player did not wait for go."""
    return stand_at(session, session.position, TOO_EARLY)


def land(session: Session, event: Press | Landed) -> Session:
    """The new shape landed; void too soon after a cue to have been a reaction, no effect before the change began."""
    took = -1.0 if session.left is None else event.at - session.left
    if session.mode is Mode.CUED and took < session.settings.reaction_s:
        return too_early(session, event)
    if took > session.settings.longest_s:
        return stand_at(session, session.position, LEFT_STANDING)
    return session if took < 0 else tried(session, _one(session, event.at, 1000 * took))


def miss(session: Session, event: Missed) -> Session:
    """The change did not land: it counts as tried and is not logged."""
    return tried(session, _one(session, event.at, None))


def mark(session: Session, event: MarkUnclean) -> Session:
    """Mark the last landing of this run unclean, or take the mark off."""
    landings = session.landings
    if not landings:
        return session
    last = landings[-1]
    marked = replace(last, clean=(last.heard.clean if last.heard else None) if last.clean is False else False)
    return replace(session, tries=tuple(marked if one.number == marked.number else one for one in session.tries))


def take_back(session: Session, event: TakeBack) -> Session:
    """Remove the last landing or miss of this run and stand before its change again."""
    if not session.run_tries:
        return session
    last = session.tries[-1]
    return stand_at(replace(session, tries=session.tries[:-1]), last.position, TAKEN_BACK)


def tried(session: Session, one: Try) -> Session:
    """Return the session with one more try, before the next change or at the end of the run.

    From a shape that has landed the next change follows on; from any other the player must take it first.
    """
    with_it = replace(session, serial=one.number, tries=(*session.tries, one))
    if session.position + 1 == len(session.route):
        return enter(sum_up(with_it, len(with_it.run_tries), len(with_it.landings)), Phase.ENDED)
    on = replace(with_it, position=session.position + 1)
    return enter(on, (STARTED if one.landed and on.joined else FIRST)[session.mode])


def _one(session: Session, at: float, change_ms: float | None) -> Try:
    timing = TIMINGS[session.mode]
    return Try(
        *(session.serial + 1, session.run, session.position, session.pair, timing, at),
        landed=change_ms is not None,
        change_ms=change_ms,
    )
