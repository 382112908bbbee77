"""What the search has of a change, as the pricing has it: grips, places and tallies read cell by cell."""

from __future__ import annotations

import numpy as np

from tests.hand.search import pricing
from tests.hand.search.pricing import Grip, Key, Lies
from trainer.hand.search.costs import Detail
from trainer.hand.search.grips import Grips
from trainer.hand.search.places import AIR, Ints, Places
from trainer.hand.search.weights import TABLES


def lies_at(place: int, table: Places) -> Lies | None:
    return None if place == AIR else (int(table.fret[place]), int(table.low[place]), int(table.high[place]))


def fingers_at(places: Ints, table: Places) -> dict[int, Lies]:
    each = ((finger, lies_at(int(place), table)) for finger, place in enumerate(places, start=1))
    return {finger: lies for finger, lies in each if lies is not None}


def grip_at(found: Grips, row: int, table: Places) -> Grip:
    """Return one grip as the pricing has it; frets from the strings and pitches themselves."""
    columns = zip(found.strings[row], found.frets[row], found.fingers[row], strict=True)
    own = tuple((int(string), int(fret), int(finger)) for string, fret, finger in columns)
    return Grip(own, fingers_at(found.place[row], table), int(found.position[row]))


def only_rows(found: Grips, rows: Ints) -> Grips:
    return Grips(*(getattr(found, name)[rows] for name in Grips.__slots__))


def amounts_at(detail: Detail, start: int, grip: int, shape: tuple[int, int]) -> dict[Key, float]:
    """Return what a tally kept of one start and one grip."""
    found: list[tuple[Key, float]] = []
    for name, amount in detail.terms:
        found.append(((name,), float(np.broadcast_to(amount, shape)[start, grip])))
    for name, index, counts in detail.tables:
        at = np.unravel_index(int(np.broadcast_to(index, shape)[start, grip]), TABLES[name])
        found.append(((name, *map(int, at)), float(np.broadcast_to(counts, shape)[start, grip])))
    return pricing.total(found)


def strings_of(mask: int) -> frozenset[int]:
    return frozenset(string for string in range(1, 11) if mask >> (string - 1) & 1)


def mask_of(strings: frozenset[int]) -> int:
    return sum(1 << (string - 1) for string in strings)
