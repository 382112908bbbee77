"""Playing to the beat, the question after it, and the tempo."""

from __future__ import annotations

from dataclasses import replace

from trainer.practice.climb import Climb
from trainer.practice.course import Leg, held_at
from trainer.practice.events import Beat, Faster, MarkUnclean, Press, Said, Scan, SetTempo, Slower, Stamped
from trainer.practice.phases import BEATING, Phase
from trainer.practice.runs import enter, from_the_top, say, start, sum_up
from trainer.practice.state import Session
from trainer.practice.tempo import FASTEST, within_limits


def beat(session: Session, event: Beat) -> Session:
    """Count in, then advance the board; when the last shape is over, ask."""
    ticked = replace(session, tick=session.tick + 1)
    if ticked.elapsed < 0:
        return ticked
    held = held_at(session.course.lasting(session.route), ticked.elapsed)
    if held is None:
        return over(ticked)
    return replace(ticked, phase=Phase.PLAYING, position=min(held[0], len(session.route) - 1))


def ask(session: Session) -> Session:
    """Return the session asking how many landed, the highest number highlighted."""
    return enter(replace(session, choice=session.changes), Phase.ASK)


def over(session: Session) -> Session:
    """Return the session at the end of a run: what was heard from end to end needs no asking."""
    if session.landings and session.deaf_in != session.run:
        return _answered(session, len(session.landings), session.route)
    return ask(session)


def scan(session: Session, event: Scan | MarkUnclean) -> Session:
    """Highlight the next lower number, after 0 the highest; a second pedal need not wait for it."""
    return replace(session, choice=(session.choice - 1) % (session.changes + 1))


def take_choice(session: Session, event: Press) -> Session:
    """Answer with the highlighted number."""
    return _answered(session, session.choice)


def said(session: Session, event: Said) -> Session:
    """Answer with a number, where it can be one."""
    if not 0 <= event.landed <= session.changes:
        return say(session, f"From 0 to {session.changes}.")
    return _answered(session, event.landed)


def set_tempo(session: Session, event: SetTempo) -> Session:
    """Play at another tempo."""
    return _at_tempo(session, event.tempo, event)


def slower(session: Session, event: Slower) -> Session:
    """Play one step slower."""
    return _at_tempo(session, session.tempo - session.settings.tempo_step, event)


def faster(session: Session, event: Faster) -> Session:
    """Play one step faster."""
    return _at_tempo(session, session.tempo + session.settings.tempo_step, event)


def _answered(session: Session, landed: int, heard: tuple[Leg, ...] = ()) -> Session:
    asked = session.changes
    done = sum_up(session, asked, landed, heard=heard)
    runs, climb = done.played_to_the_beat, _climb(session)
    # Of the newest run more may be said yet, and its answer may be taken back.
    settled = climb.after(runs[climb.runs : -1])
    ladder = settled.after(runs[-1:]).ladder
    tempo = session.played if ladder is None else ladder.tempo
    return enter(
        replace(done, tempo=tempo, climb=settled),
        Phase.ENDED,
        f"{landed} of {asked} landed. Next at {tempo:g} beats per minute.",
    )


def _climb(session: Session) -> Climb:
    """Return how far the ladder was climbed in this sitting; with another target it is climbed anew."""
    target = session.settings.target
    top = FASTEST if target is None else target.tempo
    return session.climb if session.climb.top == top else Climb(top)


def _at_tempo(session: Session, tempo: float, event: Stamped) -> Session:
    """Return the session at another tempo; while the beat runs, from its count-in again, for a run has one tempo."""
    changed = replace(session, tempo=within_limits(tempo))
    if changed.tempo != session.tempo and session.phase in BEATING:
        changed = start(from_the_top(changed), event)
    return say(changed, f"{changed.tempo:g} beats per minute.")
