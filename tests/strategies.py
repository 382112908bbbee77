"""Hypothesis strategies for what a drill and a log are made of; everything they draw is valid."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from trainer.errors import plain
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.shape import FINGERS, Barre, Shape, Stop
from trainer.practice.drill import SKILLS, Drill, Order, Segment, Step
from trainer.practice.measures import Answer, Direction, Measures
from trainer.practice.record import Texture

_HIGHEST_FRET = 12
BEATS = st.builds(Fraction, st.integers(1, 64), st.sampled_from([1, 2, 3, 4, 5, 6, 7, 8, 16, 64]))
"""Numbers of beats that a drill file can say."""
MILLISECONDS = st.none() | st.integers(-20, 2000).map(float)
"""Times in whole milliseconds, or none."""
_STRINGS_AND_NOTES = st.lists(st.tuples(st.none() | st.integers(1, 6), st.integers(0, 127)), max_size=2).map(tuple)
_ANSWERS = st.dictionaries(st.integers(1, 4), st.sampled_from(Answer))
MEASURES = st.builds(
    Measures,
    device=st.sampled_from(["six strings", "one channel"]),
    calibration=st.sampled_from(["", "two periods"]),
    expected=st.booleans(),
    change_ms=MILLISECONDS,
    delay_ms=MILLISECONDS,
    lateness_ms=MILLISECONDS,
    gap_ms=MILLISECONDS,
    spread_ms=st.none() | st.integers(0, 99).map(float),
    direction=st.none() | st.sampled_from(Direction),
    kept_down=_ANSWERS,
    guides=_ANSWERS,
    wrong=st.lists(st.integers(0, 127), max_size=2).map(tuple),
    octaves=_STRINGS_AND_NOTES,
    missing=_STRINGS_AND_NOTES,
    balance=MILLISECONDS,
)
"""Whatever may have been heard of a change."""


def texts(longest: int, shortest: int = 0) -> st.SearchStrategy[str]:
    """Texts as reading leaves them: no controls, no line breaks, no blanks at the ends; markup and quotes included."""
    letters = st.characters(codec="utf-8") | st.sampled_from("[]\\\"'#=/*:·♯é弦")

    def tidy(text: str) -> str:
        return plain(" ".join(text.splitlines()).replace("\t", " ")).strip()

    return st.text(letters, max_size=longest).map(tidy).filter(lambda text: shortest <= len(text) <= longest)


@st.composite
def instruments(draw: st.DrawFn, fewest: int = 4, most: int = 10) -> Instrument:
    """Instruments of any tuning and size."""
    count = draw(st.integers(fewest, most))
    return Instrument(
        tuning=tuple(draw(st.lists(st.integers(20, 80), min_size=count, max_size=count))),
        capo=draw(st.integers(0, 6)),
        scale_mm=draw(st.floats(400, 900)),
        nut_mm=draw(st.none() | st.floats(20, 100)),
        saddle_mm=draw(st.none() | st.floats(20, 120)),
        frets=draw(st.integers(18, 24)),
        wound=draw(st.none() | st.frozensets(st.integers(1, count))),
    )


@st.composite
def shapes(draw: st.DrawFn, strings: int = 6, *, fingered: bool = False) -> Shape:
    """Shapes up to fret 12 with muted, open, silent and barred strings; with `fingered`, no fret without a finger.

    At least one string sounds. Reach is not thought of: many could not be held.
    """
    frets = {finger: draw(st.integers(1, _HIGHEST_FRET)) for finger in FINGERS}
    by_finger = [Stop(frets[finger], finger, silent) for finger in FINGERS for silent in (False, True)]
    choices: list[st.SearchStrategy[Stop | None]] = [
        st.none(),
        st.just(Stop(0)),
        st.sampled_from(by_finger),
        *([] if fingered else [st.builds(Stop, st.integers(1, _HIGHEST_FRET), silent=st.booleans())]),
    ]
    stops = draw(st.lists(st.one_of(choices), min_size=strings, max_size=strings))
    declared = draw(st.none() | st.sampled_from(FINGERS))
    barres: tuple[Barre, ...] = ()
    if declared is not None:
        low = draw(st.integers(2, strings))
        barres = (Barre(declared, frets[declared], low, draw(st.integers(1, low - 1))),)
    _mute_what_cannot_sound(stops, barres)
    if not any(stop is not None and not stop.silent for stop in stops):
        stops, barres = [*stops[:-1], Stop(0)], ()
        _mute_what_cannot_sound(stops, barres)
        stops[-1] = stops[-1] or Stop(0)
    return Shape(tuple(stops), barres)


def _mute_what_cannot_sound(stops: list[Stop | None], barres: tuple[Barre, ...]) -> None:
    """Mute every string that would lie open, or at a lower fret, under a finger that lies across it."""
    for finger in FINGERS:
        places = [(len(stops) - index, stop.fret) for index, stop in enumerate(stops) if stop and stop.finger == finger]
        places += [(string, barre.fret) for barre in barres if barre.finger == finger for string in barre.strings]
        if not places:
            continue
        fret = places[0][1]
        ends = [string for string, _ in places]
        for string in range(min(ends), max(ends) + 1):
            stop = stops[len(stops) - string]
            if stop is not None and stop.fret < fret:
                stops[len(stops) - string] = None


@st.composite
def strokes(draw: st.DrawFn, shape: Shape, beats: Fraction) -> tuple[Stroke, ...]:
    """None to five strokes on sounding strings of `shape`, in order, before its `beats` are over."""
    at = st.builds(Fraction, st.integers(0, 63), st.just(64)).map(lambda part: 1 + part * beats)
    written = []
    for beat in sorted(draw(st.sets(at.filter(lambda beat: beat.denominator <= 64), max_size=5))):
        plucked = draw(st.lists(st.sampled_from(shape.sounding), min_size=1, max_size=4, unique=True))
        right = tuple(draw(st.sampled_from([None, *"pima"])) for _ in plucked)
        written.append(Stroke(beat, tuple(plucked), right if any(right) else ()))
    return tuple(written)


@st.composite
def steps(draw: st.DrawFn, strings: int = 6, *, fingered: bool = False) -> Step:
    """Shapes with everything that says how they are played."""
    shape, beats = draw(shapes(strings, fingered=fingered)), draw(BEATS)
    played = draw(strokes(shape, beats))
    step = Step(
        shape=shape,
        label=draw(texts(24) | st.sampled_from(["Am", "C", "F"])),
        beats=beats,
        strokes=played,
        texture=draw(st.sampled_from(Texture)),
        sounding_slide=draw(st.booleans()),
        note=draw(texts(30)),
    )
    melody = draw(st.none() | st.sampled_from(sorted(step.plucked.strings)))
    return Step(shape, step.label, beats, played, step.texture, melody, step.sounding_slide, step.note)


@st.composite
def drills(draw: st.DrawFn, *, fingered: bool = False) -> Drill:
    """Drills of two to six shapes for instruments of four to ten strings."""
    instrument = draw(st.just(Instrument()) | instruments())
    passage = draw(st.lists(steps(instrument.strings, fingered=fingered), min_size=2, max_size=6))
    names = draw(st.lists(texts(20, shortest=1), max_size=3, unique=True))
    runs = [sorted(draw(st.permutations(range(1, len(passage) + 1)))[:2]) for _ in names]
    return Drill(
        title=draw(texts(40, shortest=1)),
        steps=tuple(passage),
        about=draw(texts(40)),
        trains=tuple(draw(st.lists(st.sampled_from(sorted(SKILLS)), max_size=3))),
        instrument=instrument,
        meter=(draw(st.integers(1, 16)), draw(st.sampled_from([2, 4, 8]))),
        tempo=draw(st.integers(10, 400).map(float) | st.floats(10, 400)),
        order=draw(st.sampled_from(Order)),
        segments=tuple(Segment(name, first, last) for name, (first, last) in zip(names, runs, strict=True)),
        credits=draw(texts(20)),
        caution=draw(texts(20)),
    )
