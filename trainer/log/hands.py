"""What the log tells of a hand: the model of how long it takes for a change, learned from its newest practice.

However long the log, what is read is two short ends of each of the changes played last, so it costs the same after a
million changes as after a thousand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError
from trainer.log.history import reading
from trainer.practice.drill import read_change_key
from trainer.practice.record import Series, Timing
from trainer.practice.timemodel.blocks import EARLY, NEWEST, past
from trainer.practice.timemodel.features import features
from trainer.practice.timemodel.model import Known, TimeModel, kind_of, learn

if TYPE_CHECKING:
    from pathlib import Path

    from trainer.hand.reach import Hand
    from trainer.log.history import History, Summary

MOST = 150
"""So many changes, those played last, say how the hand is now: ten for each number to be told (ours, no source)."""


def time_model(history: History, hand: Hand) -> TimeModel:
    """Return what the player's newest practice teaches of a hand with this reach.

    Times taken in different ways are never pooled: it is learned from the way in which most changes were timed. With
    nothing to learn from, it knows what is taken to hold beforehand.
    """
    kinds: dict[Series, list[Summary]] = {}
    for summary in history.played_last(MOST):
        kinds.setdefault(kind_of(summary.series), []).append(summary)
    models = [learn(kind, _known(history, found, hand)) for kind, found in kinds.items()]
    # Of two alike the one played last, which stands first.
    return max(models, key=lambda model: model.count, default=learn(Series("", Timing.LEAVE, "keys"), ()))


def read_model(log: Path, hand: Hand) -> TimeModel:
    """Return the same from the log at this path. Raises ChangeoverError where it cannot be read."""
    with reading(log) as history:
        return time_model(history, hand)


def _known(history: History, summaries: list[Summary], hand: Hand) -> list[Known]:
    every = (_one(history, summary, hand) for summary in summaries)
    return [known for known in every if known is not None]


def _one(history: History, summary: Summary, hand: Hand) -> Known | None:
    """Return what one change teaches; None where its fingers are not given or it was tried too seldom."""
    try:
        instrument, (before, after) = read_change_key(summary.series.change)
        found = features(before, after, instrument, hand)
    except (ChangeoverError, ValueError):
        return None
    if found is None:
        return None
    played = past(summary.series, *history.ends(summary.series, EARLY, NEWEST), summary.count)
    return None if played is None else Known(summary.series.change, found, played.blocks)
