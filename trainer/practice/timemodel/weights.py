"""A player's own weights for the search of fingerings: what was learned of a hand, in the units of the plain weights.

Each feature of the model stands for terms of the search. A term costs the feature's coefficient divided by
`features.UNIT`, so that a hand nothing was learned of has the plain weights. Where a feature stands for several terms,
or for one that the search counts by the time there is, they keep their proportions. Terms that the model does not know
stay as they are. As the model is of logarithms and the search adds up, a fingering of least cost is the one whose
changes, taken together, are the quickest in proportion.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.practice.timemodel.features import FEATURES, UNIT

if TYPE_CHECKING:
    from trainer.hand.search.weights import Weights
    from trainer.practice.timemodel.model import TimeModel

SCHOOL = "mine"
"""What these weights are called."""
_MAY_SAVE = frozenset({"keep"})
"""The only term that may weigh less than nothing: no move makes a hand quicker than no move."""


def own_weights(model: TimeModel) -> Weights | None:
    """Return the weights of the hand that `model` knows; None where it was not learned from enough."""
    if not model.enough:
        return None
    # Numpy comes with the search and is paid for by who searches.
    from trainer.hand.search.weights import TERMS, Weights, plain

    known = {
        term: TERMS[term].plain * model.coefficient(name) / UNIT / feature.cost
        for name, feature in FEATURES.items()
        for term in feature.terms
    }
    terms = {name: weight if name in _MAY_SAVE else max(weight, 0.0) for name, weight in known.items()}
    shipped = plain()
    return Weights(SCHOOL, shipped.terms | terms, shipped.tables)
