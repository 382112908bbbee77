"""What the home screen offers to practise: where the player left off, what is slowest, a first change."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError
from trainer.files.library import find
from trainer.practice.drill import Drill
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.practice.record import WARM_UP, Timing
from trainer.practice.tempo import FASTEST
from trainer.ui.days import day_of
from trainer.ui.played import drill_of

if TYPE_CHECKING:
    from trainer.log.history import History, Summary
    from trainer.practice.record import Run
    from trainer.ui.drilling.courses import Choice

FIRST = "first-change"
"""The drill that ships for the first minute."""
FIRST_SHAPES = ("Em", "Am")
"""What it is about, for where the file is not to be had."""

LEFT_OFF = "where you left off"
"""Why the drill of the last run is offered."""
TODAY = "Today"
"""What the practice that the plan offers is called, on home and in the log."""
_NEWEST = 20
"""Where the player left off is looked for among so many runs."""
FEWEST = 3
"""A change is called slow no sooner than after so many times."""

MODES = {Timing.BEAT: Mode.PACED, Timing.LEAVE: Mode.PRESSES, Timing.CUE: Mode.CUED}
"""The way to practise that times a change so."""


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing to practise."""

    what: str
    """Its name."""
    why: str
    """Why it is offered, or how it stands."""
    drill: Drill
    """What is practised."""
    mode: Mode | None = None
    """How; None: as the player has set."""
    tempo: float | None = None
    """Beats per minute to begin with; None: the drill's own."""
    given: Choice | None = None
    """What of the drill is practised; None: all of it."""
    because: str = ""
    """Every reason, for whoever wants to know; empty where `why` says it."""
    first: bool = False
    """True where it is for somebody who has not played yet."""


def first_offer() -> Offer:
    """Return what somebody starts with who has not played yet."""
    try:
        drill = find(FIRST)
    except ChangeoverError:
        drill = from_shapes(FIRST_SHAPES)
    return Offer(drill.title, "start here: two presses time it", drill, Mode.PRESSES, first=True)


def offers(
    history: History, titled: Callable[[str], Drill | None], targets: Mapping[str, float] = MappingProxyType({})
) -> tuple[Offer, ...]:
    """Return what to practise next by what the log holds, the likeliest first.

    `titled` gives a drill by its title, `targets` the target tempo of each title that has one.
    """
    runs = history.runs(newest=_NEWEST)
    if not runs:
        return (first_offer(),)
    # Today's practice is offered anew every day, and nobody goes back to where a warm-up ended.
    last = next((run for run in runs if run.drill != TODAY and run.remark != WARM_UP), None)
    found = (
        None if last is None else _last(last, runs, history, titled, targets.get(last.drill, FASTEST)),
        *(_slow(summary) for summary in _slowest(history.summaries())),
    )
    offered = tuple(offer for offer in found if offer is not None)
    return offered or (first_offer(),)


def _last(
    run: Run, runs: Sequence[Run], history: History, titled: Callable[[str], Drill | None], top: float
) -> Offer | None:
    """Return the drill of the last run; one that is in no file is put together from what was played."""
    drill = titled(run.drill) or drill_of(run.drill, (attempt.change for attempt in history.of_run(run.id)))
    if drill is None:
        return None
    return Offer(run.drill, LEFT_OFF, drill, MODES.get(run.timing), _tempo(run, runs, top))


def _tempo(run: Run, runs: Sequence[Run], top: float) -> float | None:
    """Return the tempo at which a drill goes on: where the ladder has come by the runs of that day, up to `top`."""
    day = day_of(run.at)
    same = [one for one in reversed(runs) if (one.drill, one.how, day_of(one.at)) == (run.drill, run.how, day)]
    if all(one.tempo is None for one in same):
        return None
    from trainer.practice.climb import climbed, played  # who does not play to the beat waits for none of it

    ladder = climbed([found for one in same if (found := played(one, day)) is not None], top)
    return run.tempo if ladder is None else ladder.tempo


def _slowest(summaries: Iterable[Summary], most: int = 3) -> list[Summary]:
    """Return the slowest timed changes, each once."""
    chosen: dict[str, Summary] = {}
    for summary in summaries:
        if summary.count >= FEWEST and summary.median_ms is not None and summary.series.timing in MODES:
            chosen.setdefault(summary.series.change, summary)
    return list(chosen.values())[:most]


def _slow(summary: Summary) -> Offer | None:
    drill = drill_of("", (summary.series.change,))
    if drill is None or summary.median_ms is None:
        return None
    why = f"slow: median {summary.median_ms / 1000:.2f} s over {summary.count}"
    return Offer(drill.title, why, drill, MODES[summary.series.timing])
