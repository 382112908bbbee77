"""Whose hand a fingering is for: one of the table, or the player's own with what its times have taught."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.hand.reach import HANDS, Hand
from trainer.hand.search.weights import SCHOOLS, Weights

MINE = "mine"
"""The player's own hand: its reach as set in the app, its weights as learned from the practice log."""
WHOSE = (*sorted(HANDS), MINE)
"""Every hand that may be asked for."""
_PLAIN = next(iter(SCHOOLS))
"""The weights that one's own take the place of."""


@dataclass(frozen=True, slots=True)
class Whose:
    """A hand and what its moves cost it."""

    hand: Hand
    """Its reach."""
    weights: Weights
    """What the search counts by."""
    said: tuple[str, ...] = ()
    """What the player should know of where they come from."""


def whose(name: str, school: str) -> Whose:
    """Return the hand `name` with the weights of `school`; one's own stand in for those of the plain hand only.

    Raises ChangeoverError where the practice log cannot be read.
    """
    if name != MINE:
        return Whose(HANDS[name], SCHOOLS[school]())
    from trainer.commands.own import own_settings
    from trainer.files.paths import log_file
    from trainer.log.hands import read_model
    from trainer.practice.timemodel.weights import own_weights
    from trainer.practice.timemodel.words import standing
    from trainer.ui.played import timed_by

    own = own_settings()
    if school != _PLAIN:
        return Whose(own.reach, SCHOOLS[school](), (f"your own reach, the weights of {school}",))
    model = read_model(log_file(), own.reach)
    weights = own_weights(model)
    if weights is None:
        return Whose(own.reach, SCHOOLS[school](), (f"{standing(model)}; so the weights are those of any hand",))
    return Whose(own.reach, weights, (f"your own weights, {standing(model)}, {timed_by(model.kind)}",))
