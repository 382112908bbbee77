"""Other ways through a passage that a player would call other ways: another position, string, barre or guide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from trainer.fretboard.shape import Barre
from trainer.hand.search.costs import Body, Moment
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.places import Bools, Floats, Ints
from trainer.hand.search.tracing import Way
from trainer.hand.search.trellis import Trellis, Ways
from trainer.hand.words import roman

FAR = 2
"""Frets between two positions from which they are two."""
ALIKE = 0.5
"""Share of their differences in common from which two ways are the same alternative."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing in which two ways differ, over a run of slices."""

    kind: str
    """`position`, `string`, `barre` or `guide`."""
    first: int
    """First slice of the run."""
    last: int
    """Last slice of the run."""
    words: str
    """The same as a player would say it."""


def ranked(trellis: Trellis, moments: Sequence[Moment], body: Body, best: Way, most: int) -> Iterator[Way]:
    """Yield ways in order of cost, each the cheapest one that takes some slice another way than `best` does.

    Another way is another position, another string for a note, another barre, or another finger for a note. At most
    `most` are yielded. The trellis must have kept its ways.
    """
    after = _to_go(trellis)
    found: list[tuple[float, int, int]] = []
    before = np.zeros(1)
    for at, layer in enumerate(trellis.layers):
        ways = _ways(layer.ways)
        whole = np.where(ways.end >= 0, before[ways.start] + ways.cost + after[at + 1][ways.end], np.inf)
        for other in _others(moments[at], body, best.grips[at]):
            masked = np.where(other[ways.grip], whole, np.inf)
            cheapest = int(np.argmin(masked))
            if np.isfinite(masked[cheapest]):
                found.append((float(masked[cheapest]), at, cheapest))
        before = layer.cost
    seen: set[tuple[int, ...]] = {best.grips}
    for _, at, number in sorted(found):
        chosen = _through(trellis, after, at, number)
        if chosen.grips not in seen:
            seen.add(chosen.grips)
            yield chosen
        if len(seen) > most:
            return


def _ways(ways: Ways | None) -> Ways:
    if ways is None:
        raise ValueError("the trellis has not kept its ways")
    return ways


def _to_go(trellis: Trellis) -> list[Floats]:
    """Return the least cost from each state of each layer to the end; first of the hand at rest."""
    found = [np.zeros(len(trellis.layers[-1].cost))]
    sizes = [1, *(len(layer.cost) for layer in trellis.layers)]
    for at in range(len(trellis.layers) - 1, -1, -1):
        ways = _ways(trellis.layers[at].ways)
        onward = np.where(ways.end >= 0, ways.cost + found[-1][ways.end], np.inf)
        least = np.full(sizes[at], np.inf)
        np.minimum.at(least, ways.start, onward)
        found.append(least)
    return found[::-1]


def _others(moment: Moment, body: Body, best: int) -> Iterator[Bools]:
    """Yield flags of the grips that differ from grip `best` in one way that a player cares about."""
    grips, table = moment.grips, body.table
    yield (grips.position > 0) & (np.abs(grips.position - grips.position[best]) >= FAR)
    yield (grips.strings != grips.strings[best]).any(axis=1)
    flat = np.where(table.low[grips.place] > table.high[grips.place], table.fret[grips.place], 0)
    yield (flat != flat[best]).any(axis=1)
    for column in range(grips.fingers.shape[1]):
        yield (grips.fingers[:, column] != grips.fingers[best, column]) & (grips.fingers[:, column] > 0)


def _through(trellis: Trellis, after: Sequence[Floats], at: int, number: int) -> Way:
    """Return the cheapest way that makes change `number` of layer `at`."""
    ways = _ways(trellis.layers[at].ways)
    grips, states = [int(ways.grip[number])], [int(ways.end[number])]
    for later in range(at + 1, len(trellis.layers)):
        onward = _ways(trellis.layers[later].ways)
        mine = np.flatnonzero((onward.start == states[-1]) & (onward.end >= 0))
        chosen = mine[np.argmin(onward.cost[mine] + after[later + 1][onward.end[mine]])]
        grips.append(int(onward.grip[chosen]))
        states.append(int(onward.end[chosen]))
    if at:
        path = trellis.back(int(ways.start[number]), at - 1)
        states = path + states
        grips = [int(layer.grip[row]) for layer, row in zip(trellis.layers, path, strict=False)] + grips
    rows: list[Ints] = [np.zeros(6, dtype=np.int64)]
    rows += [layer.rows[row] for layer, row in zip(trellis.layers, states, strict=True)]
    return Way(tuple(grips), tuple(rows))


def differences(best: Fingering, other: Fingering) -> tuple[Difference, ...]:
    """Return what a player would call different in `other`, in order of time."""
    found: list[Difference] = []
    for kind, tell in _KINDS.items():
        count = len(best.moves)
        at = 0
        while at < count:
            words = tell(best, other, at)
            first = at
            while words and at + 1 < count and tell(best, other, at + 1) == words:
                at += 1
            if words:
                found.append(Difference(kind, first, at, words))
            at += 1
    return tuple(sorted(found, key=lambda difference: difference.first))


def _position(best: Fingering, other: Fingering, at: int) -> str:
    old, new = best.moves[at].position, other.moves[at].position
    if old is None or new is None or abs(old - new) < FAR:
        return ""
    return f"position {roman(new)} instead of {roman(old)}"


def _string(best: Fingering, other: Fingering, at: int) -> str:
    return ", ".join(
        f"{best.passage.notes[note].name} on string {other.notes[note].string} instead of {best.notes[note].string}"
        for note in best.passage.slices[at].struck
        if best.notes[note].string != other.notes[note].string
    )


def _barre(best: Fingering, other: Fingering, at: int) -> str:
    old, new = ({(b.finger, b.fret) for b in _barres(way, at)} for way in (best, other))
    if old == new:
        return ""
    if not new:
        return "no barre"
    return " and ".join(f"barre by {finger} at {roman(fret)}" for finger, fret in sorted(new - old)) or "one barre less"


def _barres(way: Fingering, at: int) -> list[Barre]:
    return [lying.barre for lying in way.moves[at].hands if lying.barre is not None]


def _guide(best: Fingering, other: Fingering, at: int) -> str:
    old, new = (_guides(way, at) for way in (best, other))
    if old == new:
        return ""
    if not new:
        return f"no guide by {' and '.join(str(finger) for finger, *_ in sorted(old))}"
    return " and ".join(
        f"{finger} slides on string {string} to fret {fret}" for finger, string, fret in sorted(new - old)
    )


def _guides(way: Fingering, at: int) -> set[tuple[int, int, int]]:
    """Return finger, string and new fret of every fingertip that slides along its string into a slice and sounds."""
    before = {(lying.finger, lying.low_string): lying.fret for lying in way.moves[at - 1].hands} if at else {}
    return {
        (lying.finger, lying.low_string, lying.fret)
        for lying in way.moves[at].hands
        if lying.sounding and before.get((lying.finger, lying.low_string), lying.fret) != lying.fret
    }


_KINDS = {"position": _position, "string": _string, "barre": _barre, "guide": _guide}


def same(one: Sequence[Difference], other: Sequence[Difference]) -> bool:
    """Tell whether two ways that differ from the best in these things are the same alternative to a player."""
    mine, theirs = _spread(one), _spread(other)
    return len(mine & theirs) >= ALIKE * len(mine | theirs)


def _spread(differences: Sequence[Difference]) -> set[tuple[str, str, int]]:
    return {(d.kind, d.words, at) for d in differences for at in range(d.first, d.last + 1)}
