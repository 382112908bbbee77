"""From an excerpt to a drill: shapes with strokes, melody and names, and what of the fingering is ours."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from operator import attrgetter

from trainer.errors import plain, wrong
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.shape import Shape
from trainer.hand.hold import trouble
from trainer.hand.reach import Hand
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.passage import Passage
from trainer.practice.credits import credit, credits_of
from trainer.practice.drill import FASTEST, FINEST, MOST_BEATS, SLOWEST, Drill, Order, Segment, Step
from trainer.practice.record import Texture
from trainer.scores.chords import chord_name
from trainer.scores.diagrams import Framed, diagrammed, drawn
from trainer.scores.excerpt import Excerpt
from trainer.scores.hands import Hands, searched, taken
from trainer.scores.score import Score
from trainer.scores.shapes import Run, runs

_ADULT = Hand()


@dataclass(frozen=True, slots=True)
class Made:
    """A drill from a score, with where each of its shapes comes from."""

    drill: Drill
    """The drill."""
    runs: tuple[Run, ...]
    """One for each step."""
    said: tuple[str, ...]
    """What was decided on the way, a sentence each."""


def drill_of(
    score: Score,
    excerpt: Excerpt,
    file: str,
    *,
    split: frozenset[Fraction] = frozenset(),
    join: frozenset[Fraction] = frozenset(),
    finger: Callable[[Passage], Fingering] = searched,
) -> Made:
    """Return the drill of `excerpt`. Raises ChangeoverError where its notes make fewer than two shapes."""
    framed = diagrammed(excerpt, finger)
    hands = taken(framed.excerpt, file, finger) if framed.excerpt.tones else Hands((), (), ())
    found = runs(framed.excerpt, hands, split=split | framed.onsets, join=join - framed.onsets)
    return _made(score, excerpt, framed.with_shapes(found), [*excerpt.said, *framed.said, *hands.said], file)


def drill_as_taken(score: Score, excerpt: Excerpt, hands: Hands, file: str) -> Made:
    """Return the drill of `excerpt` with its notes as `hands` takes them; printed diagrams are not looked at.

    Raises ChangeoverError where they make fewer than two shapes.
    """
    return _made(score, excerpt, runs(excerpt, hands), [*excerpt.said, *hands.said], file)


def drill_as_drawn(score: Score, excerpt: Excerpt, file: str) -> Made:
    """Return the drill of the diagrams of `excerpt` with no finger but those printed; notes are not looked at.

    Raises ChangeoverError where there are fewer than two.
    """
    framed = Framed(replace(excerpt, tones=()), drawn(excerpt), {}, ())
    return _made(score, excerpt, framed.with_shapes(()), [*excerpt.said], file)


def _made(score: Score, excerpt: Excerpt, found: tuple[Run, ...], said: list[str], file: str) -> Made:
    if len(found) < 2:
        count = "only one shape" if found else "no notes"
        raise wrong(f"{excerpt.name}: {count}", file=file, hint="a drill needs two shapes: take more bars with --bars")
    strains = dict.fromkeys(words for run in found for words in _strains(run.shape, excerpt) if words not in said)
    title = plain(score.title or "A score")[:60]
    drill = Drill(
        title=f"{title}, {excerpt.name}"[:100],
        steps=tuple(_step(run, score, excerpt) for run in found),
        about=_about(found),
        instrument=excerpt.instrument,
        meter=_meter(excerpt),
        tempo=_tempo(excerpt),
        order=_order(excerpt, score),
        segments=_segments(found, excerpt, score),
        credits=f"From {title}" + (f" by {plain(score.composer)[:100]}" if score.composer else "") + ".",
    )
    return Made(drill, found, (*said, *strains))


def _about(found: tuple[Run, ...]) -> str:
    """Return whose fingers they are, counted shape by shape."""
    fingers, ours, chosen = (sum(map(len, each)) for each in zip(*map(_WHOSE, found), strict=True))
    if not ours and not chosen:
        return "Fingered as printed." if all(run.shape.fingered for run in found) else "Without fingers."
    return credits_of(fingers, ours, chosen, "as printed")


_WHOSE = attrgetter("fingers", "ours", "chosen")
"""The fingers of a run that somebody has given, those of the program, and those that the player has set."""


def _order(excerpt: Excerpt, score: Score) -> Order:
    """Return a ring where the bars stand between repeat signs, else once through."""
    first, last = score.bars[excerpt.bars[0][1]], score.bars[excerpt.bars[-1][1]]
    return Order.RING if first.opens and last.closes and len(excerpt.bars) <= len(score.bars) else Order.ONCE


def _tempo(excerpt: Excerpt) -> float:
    if excerpt.quarters is None:
        return 60.0
    tempo = round(excerpt.quarters * excerpt.meter[1] / 4, 3)
    return min(max(tempo, SLOWEST), FASTEST)


def _meter(excerpt: Excerpt) -> tuple[int, int]:
    """Return the meter of the drill; one whose beats no drill can count is taken as 4/4."""
    return excerpt.meter if excerpt.meter[1] <= 32 else (4, 4)


def _step(run: Run, score: Score, excerpt: Excerpt) -> Step:
    unit = Fraction(_meter(excerpt)[1], 4)
    beats = _counted((run.end - run.onset) * unit)
    strokes = _strokes(run, unit, beats)
    return Step(
        shape=run.shape,
        label=_label(run, excerpt),
        beats=min(beats, Fraction(MOST_BEATS)),
        strokes=() if _struck_as_usual(strokes, run.shape) else strokes,
        texture=_texture(run, strokes),
        melody=_melody(run, excerpt),
        sounding_slide=any("slide stop" in each.tone.printed.marks for each in run.taken),
        note=_note(run, score, excerpt),
    )


def _struck_as_usual(strokes: tuple[Stroke, ...], shape: Shape) -> bool:
    """Tell whether a shape is struck as one is whose strokes are not written: all of it at once on its first beat."""
    sounding = set(shape.sounding)
    return all(stroke.beat == 1 and set(stroke.strings) == sounding and not stroke.right_hand for stroke in strokes)


def _texture(run: Run, strokes: tuple[Stroke, ...]) -> Texture:
    if len(strokes) > 1:
        return Texture.FIGURE
    rolled = any(mark.startswith("arpeggiate") for each in run.taken for mark in each.tone.printed.marks)
    return Texture.ROLLED if strokes and rolled else Texture.BLOCK


def _counted(beats: Fraction) -> Fraction:
    """Return a number of beats that a drill can say: the nearest one where it is cut too finely."""
    return beats if beats.denominator <= FINEST else max(beats.limit_denominator(FINEST), Fraction(1, FINEST))


def _strokes(run: Run, unit: Fraction, beats: Fraction) -> tuple[Stroke, ...]:
    struck: dict[Fraction, dict[int, str | None]] = {}
    for each in run.taken:
        beat = 1 + _counted((each.tone.onset - run.onset) * unit)
        struck.setdefault(beat, {})[each.string] = each.tone.printed.pluck
    found = []
    for beat in sorted(struck):
        if beat >= beats + 1:
            continue
        strings = tuple(sorted(struck[beat], reverse=True))
        right = tuple(struck[beat][string] for string in strings)
        found.append(Stroke(beat, strings, right if any(right) else ()))
    return tuple(found)


def _melody(run: Run, excerpt: Excerpt) -> int | None:
    """Return the string of the upper voice's highest note; None where the part has one voice, or it rests."""
    if len(excerpt.voices) < 2:
        return None
    own = [each for each in run.taken if each.tone.voice == excerpt.voices[0]]
    return max(own, key=lambda each: each.tone.midi).string if own else None


def _label(run: Run, excerpt: Excerpt) -> str:
    """Return the printed chord symbol, else the chord's name, else nothing."""
    printed = [symbol for onset, symbol in excerpt.symbols if onset == run.onset and symbol.name]
    if printed:
        return plain(printed[0].name)[:24]
    return chord_name(excerpt.instrument.pitch(string, stop.fret) for string, stop in run.shape if not stop.silent)


def _note(run: Run, score: Score, excerpt: Excerpt) -> str:
    start, index = excerpt.bar_at(run.onset)
    place = f"Bar {plain(score.bars[index].number)}"
    if run.onset != start:
        beat = _counted((run.onset - start) * Fraction(excerpt.meter[1], 4)) + 1
        place += f", beat {float(beat):.3g}"
    whose = credit(run.ours, run.chosen)
    return f"{place}; {whose}." if whose else f"{place}."


def _strains(shape: Shape, excerpt: Excerpt) -> Iterator[str]:
    """Yield what an adult's hand overcomes with a stretch."""
    return (problem.what for problem in trouble(shape, excerpt.instrument, _ADULT) if problem.warning)


def _segments(found: tuple[Run, ...], excerpt: Excerpt, score: Score) -> tuple[Segment, ...]:
    """Return a segment for each two bars and the change out of them, where there are three bars or more."""
    if len(excerpt.bars) < 3:
        return ()
    by_bar: dict[int, list[int]] = {}
    order = {at: number for number, (at, _) in enumerate(excerpt.bars)}
    for number, run in enumerate(found, start=1):
        by_bar.setdefault(order[excerpt.bar_at(run.onset)[0]], []).append(number)
    segments: list[Segment] = []
    for bar in range(0, len(excerpt.bars), 2):
        inside = by_bar.get(bar, []) + by_bar.get(bar + 1, [])
        if not inside:
            continue
        first, last = inside[0], min(inside[-1] + 1, len(found))
        one = plain(score.bars[excerpt.bars[bar][1]].number)
        other = plain(score.bars[excerpt.bars[min(bar + 1, len(excerpt.bars) - 1)][1]].number)
        name = f"bar {one}" if one == other else f"bars {one} to {other}"
        if last > first and name not in {segment.name for segment in segments}:
            segments.append(Segment(name, first, last))
    return tuple(segments)
