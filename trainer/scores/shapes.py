"""From placed notes to shapes: what can be held at once and sounds together is one, cut where the metre is strong.

A run of notes is one shape where no string and no finger is asked for twice in different ways and the hand
reaches. Of all ways to cut an excerpt into runs the one with the fewest is taken, and among those the one that cuts
at bar lines rather than within bars, at beats rather than between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Barre, Shape, Stop
from trainer.hand.hold import trouble
from trainer.hand.reach import Hand
from trainer.scores.excerpt import Excerpt
from trainer.scores.hands import Hands, PlacedTone, held_shape

_RUN = 1.0
"""What each run costs."""
_IN_BAR, _OFF_BEAT = 0.2, 0.2
"""What a cut costs more within a bar, and more again between beats."""
_CHANGED = 0.01
"""What a cut costs less that falls where a bass is struck: harmonies begin with it."""
_AHEAD = 4
"""Shapes looked at, this one included, for a string that comes again before its finger moves."""
_LONGEST = 32
"""Strokes looked at ahead; a longer run is cut in two."""
_ADULT = Hand()


@dataclass(frozen=True, slots=True)
class Run:
    """Notes played from one shape."""

    onset: Fraction
    """Quarters from the start of the excerpt."""
    end: Fraction
    """When the next one begins, or the excerpt ends."""
    taken: tuple[PlacedTone, ...]
    """In order; empty where only a diagram says what is held."""
    shape: Shape
    """What is held."""
    diagram: bool = False
    """True where a printed diagram says so."""
    added: tuple[int, ...] = ()
    """Fingers that a diagram does not give and the program does."""

    @property
    def fingers(self) -> tuple[int, ...]:
        """The fingers that somebody has given here; what only stays down from the shape before is none of them."""
        if self.diagram:
            return tuple(self.shape.placings)
        return tuple(sorted({each.finger for each in self.taken if each.finger}))

    @property
    def chosen(self) -> tuple[int, ...]:
        """The fingers that the player has set."""
        return tuple(sorted({each.finger for each in self.taken if each.chosen and each.finger}))

    @property
    def ours(self) -> tuple[int, ...]:
        """The fingers that are the program's; one printed or set by the player once in a shape stands for all of it."""
        printed = {each.finger for each in self.taken if not each.ours}
        return tuple(sorted({*self.added, *(each.finger for each in self.taken if each.finger)} - printed))


@dataclass(slots=True)
class _Held:
    """What a run of notes asks of the hand so far."""

    stops: dict[int, Stop]
    barres: dict[int, Barre]

    def also(self, group: Sequence[PlacedTone], barres: Sequence[Barre], strings: int) -> _Held | None:
        """Return what is asked with `group` too; None where it cannot be one shape."""
        stops, wide = dict(self.stops), dict(self.barres)
        for each in group:
            stop = Stop(each.fret, each.finger)
            if stops.setdefault(each.string, stop) != stop:
                return None
        for barre in barres:
            old = wide.get(barre.finger)
            if old is not None and old.fret != barre.fret:
                return None
            low, high = (
                (barre.low_string, barre.high_string)
                if old is None
                else (
                    max(old.low_string, barre.low_string),
                    min(old.high_string, barre.high_string),
                )
            )
            wide[barre.finger] = Barre(barre.finger, barre.fret, low, high)
        together = _Held(stops, wide)
        return together if together.shape(strings) is not None and not _hops(stops, wide, self.stops, group) else None

    def shape(self, strings: int) -> Shape | None:
        return held_shape(self.stops, self.barres, strings)


def _hops(
    stops: dict[int, Stop], barres: dict[int, Barre], before: dict[int, Stop], group: Sequence[PlacedTone]
) -> bool:
    """Tell whether a fingertip would have to hop to another string: one finger, two strings, and no barre over both."""
    fresh = {each.string for each in group}
    for string in fresh:
        finger = stops[string].finger
        if finger is None or finger in barres:
            continue
        if any(old.finger == finger for other, old in before.items() if other not in fresh and other != string):
            return True
    return False


def runs(
    excerpt: Excerpt,
    hands: Hands,
    *,
    split: frozenset[Fraction] = frozenset(),
    join: frozenset[Fraction] = frozenset(),
) -> tuple[Run, ...]:
    """Return the shapes of `excerpt` in order.

    At the onsets in `split` a shape begins whatever the notes say; at those in `join` none does where the notes can
    be held together.
    """
    groups = _groups(hands)
    onsets = [group[0].tone.onset for group in groups]
    lying = {onset: [barre for at, barre in hands.barres if at == onset] for onset in onsets}
    strings = excerpt.instrument.strings
    count = len(groups)
    best: list[tuple[float, int]] = [(0.0, 0)] + [(float("inf"), 0)] * count
    for start in range(count):
        cost = best[start][0] + _RUN + _cut_cost(excerpt, groups[start], start, join)
        held: _Held | None = _Held({}, {})
        for end in range(start, min(count, start + _LONGEST)):
            if held is None or (end > start and onsets[end] in split):
                break
            longer = held.also(groups[end], lying[onsets[end]], strings)
            # One stroke that is no shape by itself is kept for the caller to see.
            if end > start and (
                longer is None
                or _too_late(held, longer, onsets[start], onsets[end], excerpt)
                or not _reached(longer, held, excerpt.instrument)
            ):
                break
            held = longer
            if cost < best[end + 1][0] - 1e-9:
                best[end + 1] = (cost, start)
    return _carried(_spans(best, groups, lying, excerpt), excerpt)


def _groups(hands: Hands) -> list[list[PlacedTone]]:
    groups: dict[Fraction, list[PlacedTone]] = {}
    for each in hands.taken:
        groups.setdefault(each.tone.onset, []).append(each)
    return [groups[onset] for onset in sorted(groups)]


def _cut_cost(excerpt: Excerpt, group: list[PlacedTone], index: int, join: frozenset[Fraction]) -> float:
    onset = group[0].tone.onset
    if index == 0:
        return 0.0
    if onset in join:
        return 100.0
    bar, _ = excerpt.bar_at(onset)
    beat = Fraction(4, excerpt.meter[1])
    cost = 0.0 if onset == bar else _IN_BAR
    if (onset - bar) % beat:
        cost += _OFF_BEAT
    bass = max(each.string for each in group)
    return cost - (_CHANGED if bass >= 4 else 0.0)


def _too_late(held: _Held, longer: _Held, start: Fraction, onset: Fraction, excerpt: Excerpt) -> bool:
    """Tell whether a finger would be put down more than a bar before its note."""
    bar = Fraction(4 * excerpt.meter[0], excerpt.meter[1])
    return onset - start >= bar and any(stop.fret for string, stop in longer.stops.items() if string not in held.stops)


def _reached(longer: _Held, held: _Held, instrument: Instrument) -> bool:
    """Tell whether what came last keeps the shape within an adult's hand, as far as it was within it."""
    if longer.stops == held.stops:
        return True
    shape = longer.shape(instrument.strings)
    if shape is None:
        return False
    frets = [fret for fret in shape.frets if fret]
    if not shape.fingered and frets and max(frets) - min(frets) > 3:
        return False
    before = held.shape(instrument.strings)
    known = 0 if before is None else len(trouble(before, instrument, _ADULT))
    return len(trouble(shape, instrument, _ADULT)) <= known


@dataclass(frozen=True, slots=True)
class _Span:
    """Notes that are taken from one shape."""

    notes: list[PlacedTone]
    """At least one, in order."""
    barres: dict[int, Barre]
    """The barres over them, by finger."""

    @property
    def onset(self) -> Fraction:
        return self.notes[0].tone.onset


def _spans(
    best: list[tuple[float, int]], groups: list[list[PlacedTone]], lying: dict[Fraction, list[Barre]], excerpt: Excerpt
) -> list[_Span]:
    """Return the spans of the cheapest way to cut, which `best` holds from its end."""
    cuts = []
    at = len(groups)
    while at > 0:
        cuts.append((best[at][1], at))
        at = best[at][1]
    spans = []
    for start, end in reversed(cuts):
        held = _Held({}, {})
        for group in groups[start:end]:
            held = held.also(group, lying[group[0].tone.onset], excerpt.instrument.strings) or held
        spans.append(_Span([each for group in groups[start:end] for each in group], held.barres))
    return spans


def _carried(spans: list[_Span], excerpt: Excerpt) -> tuple[Run, ...]:
    """Return the runs with what stays down from one to the next: strings that sound on, fingers that come back."""
    strings = excerpt.instrument.strings
    ends = [*(span.onset for span in spans[1:]), excerpt.length]
    found: list[Run] = []
    sounding: dict[int, PlacedTone] = {}
    for index, (span, end) in enumerate(zip(spans, ends, strict=False)):
        stops = {each.string: Stop(each.fret, each.finger) for each in span.notes}
        coming = spans[index : index + _AHEAD]
        for string, stop in found[-1].shape if found else ():
            if string in stops or not _stays(string, stop, sounding.get(string), coming):
                continue
            longer = {**stops, string: stop}
            reused = stop.finger is not None and any(other.finger == stop.finger for other in stops.values())
            if not reused and held_shape(longer, span.barres, strings) is not None:
                stops = longer
        shape = held_shape(stops, span.barres, strings) or held_shape(stops, {}, strings) or _bare(stops, strings)
        sounding |= {each.string: each for each in span.notes}
        found.append(Run(span.onset, end, tuple(span.notes), shape))
    return tuple(found)


def _stays(string: int, stop: Stop, last: PlacedTone | None, coming: Sequence[_Span]) -> bool:
    """Tell whether a string is left as it is: it sounds on as written, or comes again before its finger moves.

    `last` is the note that it sounded last, `coming` are the spans from here on.
    """
    if last is not None and last.tone.end > coming[0].onset and last.fret == stop.fret:
        return True
    if not stop.stopped:
        return False
    for each in (each for span in coming for each in span.notes):
        if each.string == string:
            return (each.fret, each.finger) == (stop.fret, stop.finger)
        if each.finger is not None and each.finger == stop.finger:
            return False
    return False


def _bare(stops: dict[int, Stop], strings: int) -> Shape:
    """Return the shape without the fingers that contradict it."""
    bare = {string: Stop(stop.fret) for string, stop in stops.items()}
    return Shape(tuple(bare.get(string) for string in range(strings, 0, -1)))
