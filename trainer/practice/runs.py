"""How a session moves: from phase to phase, from change to change, from run to run."""

from __future__ import annotations

from dataclasses import replace

from trainer.practice.course import Leg
from trainer.practice.effects import AskLanded, Clock, CueAfterWait, Note, StartBeat, Summary
from trainer.practice.events import Stamped
from trainer.practice.phases import FIRST, STARTED, TIMINGS, Mode, Phase
from trainer.practice.state import Session

LAST_ONE = "This is the last change of the run."


def enter(session: Session, phase: Phase, note: str = "") -> Session:
    """Return the session in `phase`, its clock set to what the phase needs, nothing in flight, `note` said."""
    serial = session.serial + 1
    wind = _CLOCKS.get(phase)
    clock = None if wind is None else wind(session, serial)
    said = Note(note, serial)
    return replace(session, phase=phase, clock=clock, note=said, serial=serial, left=None, before_pause=None)


def say(session: Session, text: str) -> Session:
    """Return the session with a note, nothing else changed."""
    serial = session.serial + 1
    return replace(session, note=Note(text, serial), serial=serial)


def route(session: Session) -> tuple[Leg, ...]:
    """Return the changes of one run in the session's mode."""
    match session.mode:
        case Mode.PACED:
            return session.course.part(session.part)
        case Mode.WALK:
            return session.course.legs[: len(session.course.pairs)]
        case Mode.PRESSES | Mode.CUED | Mode.HEARD:
            return session.course.legs


def new_run(session: Session, mode: Mode | None = None, part: int | None = None) -> Session:
    """Return the session before the first change of a new run, of another mode or part where one is given.

    A run that is broken off by it is closed first.
    """
    fresh = replace(
        close(session),
        run=session.run + 1,
        mode=session.mode if mode is None else mode,
        part=(session.part if part is None else part) % session.course.parts,
    )
    fresh = replace(fresh, route=route(fresh), shown=fresh.shown + (fresh.mode is Mode.WALK))
    return enter(listen_anew(from_the_top(fresh)), FIRST[fresh.mode])


def listen_anew(session: Session) -> Session:
    """Return the session with what was heard so far of a change forgotten, where the guitar sets the pace."""
    return replace(session, expected=session.expected + 1) if session.mode is Mode.HEARD else session


def start(session: Session, event: Stamped) -> Session:
    """Begin the run: count in, wait for go, or hold the first shape."""
    return enter(begun(session, event.at), STARTED[session.mode])


def from_the_top(session: Session) -> Session:
    """Return the session at the first change of its run, before the first beat.

    What was heard of a run to the beat that is broken off stands; the changes from the top are those of another run.
    """
    return replace(session, position=0, tick=-1, run=session.run + bool(session.run_tries))


def begun(session: Session, at: float) -> Session:
    """Return the session with its run beginning at `at`, unless something in it has been timed already."""
    return session if session.run_tries else replace(session, began=at, played=session.tempo)


def stand_at(session: Session, position: int, note: str = "") -> Session:
    """Return the session before leaving on the change at `position`; past the last one it stays where it is."""
    anew = listen_anew(session)
    if position >= len(session.route):
        return enter(anew, FIRST[session.mode], LAST_ONE)
    return enter(replace(anew, position=max(position, 0)), FIRST[session.mode], note)


def close(session: Session) -> Session:
    """Return the session with its run summed up, where that is not over but has anything to log.

    Of a run to the beat that is broken off nobody can say how many would have landed.
    """
    if session.phase is Phase.ENDED or session.mode is Mode.PACED or not session.run_tries:
        return session
    return sum_up(session, len(session.run_tries), len(session.landings), complete=False)


def sum_up(session: Session, asked: int, landed: int, *, complete: bool = True, heard: tuple[Leg, ...] = ()) -> Session:
    """Return the session with its run summed up, to be logged; `heard` as in `Summary`."""
    timing = TIMINGS[session.mode]
    tempo = session.played if session.mode is Mode.PACED else None
    summary = Summary(session.run, timing, session.began, asked, landed, session.times_ms, tempo, complete, heard)
    return replace(session, ended=(*session.ended, summary))


def _beat_clock(session: Session, number: int) -> Clock:
    return StartBeat(number, session.tempo, session.course.ticks_per_beat(session.route))


def _wait_clock(session: Session, number: int) -> Clock:
    return CueAfterWait(number, *session.settings.wait_s)


def _scan_clock(session: Session, number: int) -> Clock:
    return AskLanded(number, session.changes, session.settings.scan_s)


_CLOCKS = {Phase.COUNT_IN: _beat_clock, Phase.WAIT: _wait_clock, Phase.ASK: _scan_clock}
