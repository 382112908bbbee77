"""A passage's fingerings in plain lines, and as the JSON that others rely on."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import Any

from trainer.fretboard.text import print_barres, print_shape
from trainer.hand.search.fingering import Fingering, Moved
from trainer.hand.search.impossible import Impossible
from trainer.hand.search.solve import Alternative, Found
from trainer.hand.search.wording import clauses
from trainer.hand.words import beat_text, roman

_CLAUSES = 3
"""Reasons told of a change."""
_SPARED = 0.5
"""What the hardest change must cost less in another way for it to be said."""


def told(found: Impossible) -> str:
    """Return why a passage cannot be fingered as one line."""
    where = "" if found.bar is None else f"bar {found.bar}, "
    names = " ".join(found.notes)
    return f"{where}quarter {beat_text(found.onset + 1)}, {names}: {found.why} ({found.nearest})"


def lines(title: str, found: Found, said: tuple[str, ...] = ()) -> list[str]:
    """Return the best fingering change by change, and the others by what makes them others, as plain lines."""
    best = found.best
    sure = "no way is better" if found.exact else f"the best of {found.width} hands followed at once"
    out = [title, *(f"note: {text}" for text in said), f"cost {best.cost:.1f}; {sure}", ""]
    shapes = [print_shape(best.shape(at)) for at in range(len(best.moves))]
    width = max(map(len, shapes))
    for at, move in enumerate(best.moves):
        barres = print_barres(best.shape(at))
        bar = best.passage.notes[best.passage.slices[at].struck[0]].bar
        number = "-" if bar is None else bar
        place = "" if move.position is None else roman(move.position)
        beat = beat_text(move.onset + 1)
        barred = f"  barre {barres}" if barres else ""
        mark = " <- the hardest" if at == best.worst and len(best.moves) > 1 else ""
        out.append(
            f"bar {number:>3}  quarter {beat:>5}  {shapes[at]:<{width}}  {place:>4}  {move.cost:5.1f}{barred}{mark}"
        )
        out += [f"{'':24}{clause.words} ({clause.cost:+.1f})" for clause in clauses(best, at)[:_CLAUSES]]
    for number, other in enumerate(found.alternatives, start=2):
        out += ["", f"way {number}: cost {other.fingering.cost:.1f}", *(f"  {text}" for text in differing(best, other))]
    return out


def differing(best: Fingering, other: Alternative) -> list[str]:
    """Return in what another way differs, each with when, and whether it spares the hardest change."""
    found = []
    for difference in other.differs:
        first, last = (best.passage.slices[at].onset + 1 for at in (difference.first, difference.last))
        when = f"quarter {beat_text(first)}" if first == last else f"quarters {beat_text(first)} to {beat_text(last)}"
        found.append(f"{difference.words}, {when}")
    here, there = best.moves[best.worst].cost, other.fingering.moves[best.worst].cost
    if there < here - _SPARED:
        hardest = clauses(best, best.worst)
        what = f": {hardest[0].words}" if hardest else ""
        found.append(f"spares the hardest change ({there:.1f} for {here:.1f}{what})")
    return found


def document(title: str, found: Found, said: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return the fingerings as the JSON that others rely on."""
    best = found.best
    return {
        "title": title,
        "said": list(said),
        "exact": found.exact,
        "width": found.width,
        "cost": _cost(best.cost),
        "notes": _notes(best),
        "resting": [
            {"onset": str(move.onset), "string": lying.low_string, "fret": lying.fret, "finger": lying.finger}
            for move in best.moves
            for lying in move.hands
            if not lying.sounding
        ],
        "barres": _barres(best),
        "changes": [_change(best, at) for at in range(len(best.moves))],
        "alternatives": [
            {
                "cost": _cost(other.fingering.cost),
                "notes": _notes(other.fingering),
                "barres": _barres(other.fingering),
                "differs": differing(best, other),
            }
            for other in found.alternatives
        ],
    }


def _change(way: Fingering, at: int) -> dict[str, Any]:
    move = way.moves[at]
    return {
        "onset": str(move.onset),
        "position": move.position,
        "cost": _cost(move.cost),
        "terms": [
            {"term": r.term, "finger": r.finger, "amount": round(r.amount, 4), "cost": _cost(r.cost)}
            for r in move.reasons
        ],
        "words": [{"words": clause.words, "cost": _cost(clause.cost)} for clause in clauses(way, at)],
    }


def _cost(value: float) -> float:
    return round(value, 4)


def _notes(way: Fingering) -> list[dict[str, Any]]:
    return [
        {
            "bar": note.bar,
            "onset": str(note.onset),
            "midi": note.midi,
            "string": taken.string,
            "fret": taken.fret,
            "finger": taken.finger,
        }
        for note, taken in zip(way.passage.notes, way.notes, strict=True)
    ]


def _barres(way: Fingering) -> list[dict[str, Any]]:
    """Return each barre with how long it lies: from its slice to the slice at which it is gone or lies otherwise."""
    found: list[dict[str, Any]] = []
    lying: dict[tuple[int, int, int, int], Fraction] = {}
    last = max(note.end for note in way.passage.notes)
    states = [(move.onset, _laid(move)) for move in way.moves]
    for (onset, now), (end, later) in pairwise([*states, (last, set())]):
        for barre in sorted(now):
            lying.setdefault(barre, onset)
        for barre in sorted(now - later):
            fret, finger, low, high = barre
            found.append(
                {
                    "fret": fret,
                    "finger": finger,
                    "low_string": low,
                    "high_string": high,
                    "from_onset": str(lying.pop(barre)),
                    "to_onset": str(end),
                }
            )
    return found


def _laid(move: Moved) -> set[tuple[int, int, int, int]]:
    return {(b.fret, b.finger, b.low_string, b.high_string) for hand in move.hands if (b := hand.barre) is not None}
