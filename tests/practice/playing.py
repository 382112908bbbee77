"""Drills of our own to practise, and a runner that needs no clock."""

from __future__ import annotations

import math
from fractions import Fraction

from trainer.fretboard.stock import stock_shape
from trainer.practice.course import Course, whole
from trainer.practice.drill import Drill, Order, Step
from trainer.practice.effects import CueAfterWait, Effect, Note, StartBeat, Timed
from trainer.practice.events import Beat, Event, Go, Press
from trainer.practice.measures import Answer
from trainer.practice.phases import Mode, Phase
from trainer.practice.rounds import ChangeHeard, SeatHeard
from trainer.practice.session import advance, begin
from trainer.practice.state import Session

NAMES = ("Am", "C", "G", "Em")


def drill(shapes: int = 3, beats: int | Fraction = 4, order: Order = Order.RING) -> Drill:
    steps = tuple(Step(stock_shape(name), name, Fraction(beats)) for name in NAMES[:shapes])
    return Drill("Ours", steps, order=order)


def ring(rounds: int = 1) -> Course:
    return whole(drill(), rounds)


def play(session: Session, *events: Event) -> tuple[Session, list[Effect]]:
    """Return the session after `events`, and every effect on the way but the notes."""
    effects: list[Effect] = []
    for event in events:
        session, more = advance(session, event)
        effects += [effect for effect in more if not isinstance(effect, Note)]
    return session, effects


def ticks(session: Session, count: int) -> tuple[Session, list[Effect]]:
    assert isinstance(session.clock, StartBeat)
    return play(session, *[Beat(100 + n, session.clock.clock) for n in range(count)])


def go(session: Session, at: float) -> Session:
    assert isinstance(session.clock, CueAfterWait)
    return play(session, Go(at, session.clock.clock))[0]


def times(effects: list[Effect]) -> list[float]:
    timed = (effect.change_ms for effect in effects if isinstance(effect, Timed))
    return [round(change_ms, 6) for change_ms in timed if change_ms is not None]


def asked(course: Course | None = None, tempo: float = 60) -> Session:
    session, _ = play(begin(course or ring(), Mode.PACED, tempo), Press(1))
    session, _ = ticks(session, 4 + 4 * (len(session.route) + 1) + 1)
    assert session.phase is Phase.ASK
    return session


def clean_share(tempo: float, good: float, steepness: float) -> float:
    """Return how often a simulated player is clean at `tempo` who is clean four times in five at `good`.

    A logistic curve over the logarithm of the tempo, `steepness` per unit of it, below 98 %: nobody is always clean.
    """
    best, wanted = 0.98, 0.8
    middle = math.log(good) - math.log(best / wanted - 1) / steepness
    return best / (1 + math.exp(min(steepness * (math.log(tempo) - middle), 500.0)))


def one_heard(seat: str, *, landed: bool, late_ms: float | None = None, up: int | None = None) -> SeatHeard:
    """Return what was heard of a seat in a round of one change, with the finger that came up."""
    return SeatHeard(seat, (ChangeHeard(0, landed, late_ms, {} if up is None else {up: Answer.NO}),))
