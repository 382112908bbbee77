"""What a change costs in words: each thing a hand pays for, as a teacher would say it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

from trainer.hand.search.fingering import Fingering, Reason
from trainer.hand.search.weights import TERMS
from trainer.hand.words import roman

LEAST = 0.05
"""Cost below which a clause is not worth saying."""


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause about a change with what it costs."""

    words: str
    """What happens, without a full stop."""
    cost: float
    """Less than 0 where it saves."""


def clauses(way: Fingering, at: int) -> tuple[Clause, ...]:
    """Return what the change into slice `at` costs, dearest first, what it saves last."""
    groups: dict[tuple[str, int | None], list[Reason]] = {}
    for reason in way.moves[at].reasons:
        head = _HEADS.get(reason.term, reason.term)
        finger = reason.finger if head in _SAY else None
        groups.setdefault((head, finger), []).append(reason)
    found = [
        Clause(_words(head, reasons, way, at), sum(reason.cost for reason in reasons))
        for (head, _), reasons in groups.items()
        if head not in _UNSAID
    ]
    return tuple(sorted((c for c in found if abs(c.cost) >= LEAST), key=lambda clause: -clause.cost))


_UNSAID = {"stopped"}
"""Terms that tell a player nothing: a note costs this wherever it is stopped."""
_HEADS = MappingProxyType(
    {
        "cross": "hop",
        "leap": "hop",
        "slide": "guide",
        "squeak": "guide",
        "shift far": "shift",
        "shift bound": "shift",
        "table shift by": "shift",
        "high": "low",
        "table use": "fits",
        "table off by": "fits",
        "table chord": "fits",
        "table after": "fits",
        "table rest": "fits",
        "off": "fits",
        "stack": "fits",
        "crowd": "fits",
        "width": "barre",
        "widen": "barre",
        "partial": "barre",
        "hold barre": "barre",
    }
)
"""Terms that are told together, each under the one that heads them."""


def _words(head: str, reasons: list[Reason], way: Fingering, at: int) -> str:
    say = _SAY.get(head)
    if say is not None:
        return say(reasons, way, at)
    return _PLAIN.get(head) or TERMS[head].words


def _ends(reasons: list[Reason]) -> tuple[tuple[int, int], tuple[int, int]]:
    for reason in reasons:
        if reason.start is not None and reason.end is not None:
            return reason.start, reason.end
    return (0, 0), (0, 0)


def _hop(reasons: list[Reason], _: Fingering, __: int) -> str:
    (old, _fret), (new, fret) = _ends(reasons)
    hurry = " with no time" if any(reason.term == "hop" for reason in reasons) else ""
    return f"{reasons[0].finger} crosses from string {old} to string {new} at fret {fret}{hurry}"


def _guide(reasons: list[Reason], _: Fingering, __: int) -> str:
    (string, old), (_string, new) = _ends(reasons)
    heard = " and may squeak" if any(reason.term == "squeak" for reason in reasons) else ""
    return f"{reasons[0].finger} slides on string {string} from {old} to {new}{heard}"


def _keep(reasons: list[Reason], _: Fingering, __: int) -> str:
    (string, fret), _end = _ends(reasons)
    return f"{reasons[0].finger} stays on string {string} at fret {fret}"


def _place(reasons: list[Reason], way: Fingering, at: int) -> str:
    finger = reasons[0].finger
    lying = next((each for each in way.moves[at].hands if each.finger == finger), None)
    where = "" if lying is None else f" on string {lying.low_string} at fret {lying.fret}"
    return f"{finger} comes down{where}"


def _barre(reasons: list[Reason], way: Fingering, at: int) -> str:
    laid = any(reason.term == "barre" for reason in reasons)
    names = [f"{b.finger} at {roman(b.fret)}" for lying in way.moves[at].hands if (b := lying.barre) is not None]
    return f"{'lays' if laid else 'holds'} a barre by {' and '.join(names)}" if names else "a barre"


def _shift(reasons: list[Reason], way: Fingering, at: int) -> str:
    old = way.moves[at - 1].position if at else None
    new = way.moves[at].position
    hurry = " with no time" if any(reason.term == "shift bound" and reason.amount >= 1 for reason in reasons) else ""
    if old is None or new is None:
        return "the hand shifts"
    return f"the hand shifts {'up' if new > old else 'down'} from {roman(old)} to {roman(new)}{hurry}"


def _cut(reasons: list[Reason], _: Fingering, __: int) -> str:
    finger = reasons[0].finger
    return f"{finger} lets a note go before its time" if finger else "an open string is stopped before its time"


def _ring(reasons: list[Reason], _: Fingering, __: int) -> str:
    finger = reasons[0].finger
    return f"{finger} lets go a note that would ring on" if finger else "an open string that would ring on is stopped"


_SAY: MappingProxyType[str, Callable[[list[Reason], Fingering, int], str]] = MappingProxyType(
    {
        "hop": _hop,
        "guide": _guide,
        "keep": _keep,
        "place": _place,
        "shift": _shift,
        "cut": _cut,
        "ring": _ring,
        "barre": _barre,
    }
)
_PLAIN = MappingProxyType(
    {
        "fits": "how the fingers lie to each other",
        "low": "how high it lies",
        "stretch": "the fingers stretch beyond comfort",
        "weak": "finger 4 is used",
        "habit": "unlike what is set or was before",
    }
)
