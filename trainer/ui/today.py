"""Today's practice as home offers it: all of it in turns on one press, then each change with its reason."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.errors import plain
from trainer.practice.course import Course, Pair
from trainer.practice.drill import Drill
from trainer.practice.plan import VISIT, Item, Plan
from trainer.practice.reviews import CAVEAT
from trainer.ui.drilling.courses import Choice
from trainer.ui.offers import MODES, TODAY, Offer
from trainer.ui.played import drill_of, name_of

_SHOWN = 2
"""So many changes are offered one by one below all of them together."""


def offers_of(made: Plan) -> tuple[Offer, ...]:
    """Return what the plan offers, all of it first; nothing where nothing speaks for practice today."""
    single = [offer for item in made.items[: _SHOWN + 1] if (offer := _one(item)) is not None]
    every = _all(made) if len(made.items) > 1 else None
    return tuple(single[:1] if every is None else (every, *single[:_SHOWN]))


def _one(item: Item) -> Offer | None:
    """Return one change to practise by itself, as often as the plan says."""
    key = item.look.series.change
    drill = drill_of("", (key,))
    if drill is None:
        return None
    name = plain(name_of(key))
    choice = Choice(f"{name}, {item.tries} times", _course(drill, ((0, 1),) * item.tries))
    why = f"{item.why}. {CAVEAT}" if any(reason.key == "due" for reason in item.reasons) else f"{item.why}."
    return Offer(name, item.why, drill, MODES.get(item.look.series.timing), given=choice, because=why)


def _all(made: Plan) -> Offer | None:
    """Return the whole plan in its turns, as far as its changes are on the first one's tuning and capo."""
    drills = {item.look.series.change: drill_of("", (item.look.series.change,)) for item in made.items}
    first = drills[made.items[0].look.series.change]
    if first is None:
        return None
    same = [key for key, drill in drills.items() if drill is not None and drill.instrument == first.instrument]
    drill = drill_of(TODAY, same)
    if drill is None or len(same) < 2:
        return None
    turns = [item for item in made.turns if item.look.series.change in same]
    names = [plain(name_of(key)) for key in same]
    tries = VISIT * len(turns)
    course = _course(drill, _pairs(drill, drills, turns))
    minutes = made.takes * len(turns) / max(len(made.turns), 1)
    what = f"{TODAY}: {len(same)} changes"
    why = f"{tries} tries in turns, about {max(round(minutes), 1)} min; {', '.join(names)}"
    because = f"In turns of {VISIT} tries: {', then '.join(names)}; those not yet fast enough come round again."
    mode = MODES.get(turns[0].look.series.timing)
    return Offer(what, why, drill, mode, given=Choice("in turns", course), because=because)


def _pairs(drill: Drill, drills: dict[str, Drill | None], turns: Sequence[Item]) -> tuple[Pair, ...]:
    """Return the changes in their order of play, by the indices of their shapes in the drill of all."""
    shapes = [step.shape for step in drill.steps]
    pairs: list[Pair] = []
    for item in turns:
        own = drills[item.look.series.change]
        if own is not None:
            before, after = (shapes.index(step.shape) for step in own.steps)
            pairs += [(before, after)] * VISIT
    return tuple(pairs)


def _course(drill: Drill, pairs: tuple[Pair, ...]) -> Course:
    return Course(pairs, 1, drill.lengths, drill.meter[0], drill.tempo)
