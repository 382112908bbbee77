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
from trainer.practice.measures import Measures
from trainer.practice.record import Attempt, Run, Texture, Timing
from trainer.practice.rounds import Mark

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
    from trainer.practice.rounds import ChangeHeard, Result, Round

TEACHER = "teacher"
"""Where a mark comes from that was given by hand."""


@dataclass(frozen=True, slots=True)
class Marked:
    """One round as one seat's log keeps it."""

    run: Run
    """The round; `landed` is None where some of its changes were missed and it is not known how many."""
    attempts: tuple[Attempt, ...]
    """One for each of its changes. Clean says whether it was had: None where that is not known of this one."""


def marked(
    drill: Drill, done: Round, result: Result, began: float, port: str | None, new_id: Callable[[], str]
) -> Marked | None:
    """Return what one seat's log keeps of a round of `drill` that began at `began`; None for a seat that was away.

    `began` counts seconds since 1970-01-01 UTC, `port` is that of the seat's guitar, `new_id` gives unique ids. A
    change is entered at the beat on which it was due, which is when a run that nobody froze came to it.
    """
    if result.mark is Mark.AWAY:
        return None
    heard = None if port is None else result.heard
    lengths = (drill.steps[before].beats for before, _ in done.pairs)
    due = accumulate(lengths, initial=drill.meter[0])
    next(due)
    run, attempts = new_id(), []
    for number, ((before, after), beats) in enumerate(zip(done.pairs, due, strict=True)):
        left, reached = drill.steps[before], drill.steps[after]
        change = None if heard is None else heard.of(number)
        source = TEACHER if change is None or port is None else port
        attempts.append(
            Attempt(
                id=new_id(),
                run=run,
                change=change_key(drill.instrument, left.shape, reached.shape),
                at=began + float(beats) * 60 / done.tempo,
                timing=Timing.BEAT,
                source=source,
                change_ms=None,
                clean=_of_mark(result.mark, len(done.pairs)) if change is None else change.landed,
                tempo=done.tempo,
                texture=reached.texture,
                how=done.how,
                measures=None if change is None else _measures(change, source, reached.texture),
            )
        )
    answers = [attempt.clean for attempt in attempts]
    landed = None if None in answers else answers.count(True)
    asked = len(attempts)
    return Marked(
        Run(run, drill.title, began, Timing.BEAT, done.tempo, asked=asked, landed=landed, how=done.how),
        tuple(attempts),
    )


def _of_mark(mark: Mark, changes: int) -> bool | None:
    """Return whether each change of a round was had, by its mark, which does not say which of several was missed."""
    return True if mark is Mark.HAD else False if changes == 1 else None


def _measures(heard: ChangeHeard, port: str, texture: Texture) -> Measures:
    figure = texture is Texture.FIGURE
    return Measures(
        device=port,
        calibration="",
        delay_ms=heard.late_ms if figure else None,
        lateness_ms=None if figure else heard.late_ms,
        kept_down=heard.kept_down,
    )
