"""What a seat's own log keeps of a round of its class: a run to the beat, and an attempt at each change of it.

Nobody took a time, so that these attempts have none: they say that a change was tried at a tempo, and whether it was
had. They stand in series of their own (to the beat, from whoever judged), so that they are pooled with nothing that was
timed, nor with what a guitar told of single changes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING

from trainer.practice.drill import change_key
from trainer.practice.measures import Answer, Measures
from trainer.practice.record import Attempt, Run, Texture, Timing
from trainer.practice.rounds import Mark

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
    from trainer.practice.rounds import Result, Round, SeatHeard

TEACHER = "teacher"
"""Where a mark comes from that was given by hand."""


@dataclass(frozen=True, slots=True)
class Marked:
    """One round as one seat's log keeps it."""

    run: Run
    """The round; `landed` is None where some of its changes were missed and nobody said which."""
    attempts: tuple[Attempt, ...]
    """One for each of its changes. Clean says whether it was had: None where that is not known of a single change."""


def marked(
    drill: Drill, done: Round, result: Result, began: float, port: str | None, new_id: Callable[[], str]
) -> Marked | None:
    """Return what one seat's log keeps of a round of `drill` that began at `began`; None for a seat that was away.

    `began` counts seconds since 1970-01-01 UTC, `port` is that of the seat's guitar, `new_id` gives unique ids. A
    change is entered at the beat on which it was due, which is when a run that nobody froze came to it.
    """
    if result.mark is Mark.AWAY:
        return None
    count, had = len(done.pairs), result.mark is Mark.HAD
    landed = count if had else 0 if count == 1 else None
    run = Run(new_id(), drill.title, began, Timing.BEAT, done.tempo, asked=count, landed=landed, how=done.how)
    clean = True if had else False if count == 1 else None
    lengths = (drill.steps[before].beats for before, _ in done.pairs)
    due = accumulate(lengths, initial=drill.meter[0])
    next(due)
    attempts = []
    for (before, after), beats in zip(done.pairs, due, strict=True):
        left, reached = drill.steps[before], drill.steps[after]
        heard = None if port is None else result.heard
        attempts.append(
            Attempt(
                id=new_id(),
                run=run.id,
                change=change_key(drill.instrument, left.shape, reached.shape),
                at=began + float(beats) * 60 / done.tempo,
                timing=Timing.BEAT,
                source=TEACHER if heard is None or port is None else port,
                change_ms=None,
                clean=clean,
                tempo=done.tempo,
                texture=reached.texture,
                how=done.how,
                # What was heard of a round is of all its changes together: it says something of one only if it is one.
                measures=None
                if heard is None or port is None or count > 1
                else _measures(heard, port, reached.texture),
            )
        )
    return Marked(run, tuple(attempts))


def _measures(heard: SeatHeard, port: str, texture: Texture) -> Measures:
    late = heard.late_ms
    figure = texture is Texture.FIGURE
    return Measures(
        device=port,
        calibration="",
        delay_ms=late if figure else None,
        lateness_ms=None if figure else late,
        kept_down={} if heard.finger_up is None else {heard.finger_up: Answer.NO},
    )
