"""Drill files read: TOML with our own plain keys, every problem told with its line and key.

`drill_text` writes what this reads. The keys are the names in `_drill`, `_INSTRUMENT`, `_step` and `_segment`;
everything but the title and the shapes has a default.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path as FilePath
from typing import Any

from trainer.errors import ChangeoverError, Problem, grave
from trainer.files.kinds import FLAG, Fault, Kind, UnfitError, choice, integer, list_of, number, parsed, shown, words
from trainer.files.pluck import parse_beat, parse_meter, parse_strokes, print_beat
from trainer.files.toml import Document, Table, spelt, take_format
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import midi
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.shape import Shape
from trainer.fretboard.text import parse_shape, print_shape
from trainer.hand.hold import trouble
from trainer.hand.reach import Hand
from trainer.practice.drill import FASTEST, FORMAT, MOST_BEATS, SKILLS, SLOWEST, Drill, Order, Segment, Step
from trainer.practice.quick import check_tuning, read_shape
from trainer.practice.record import Texture

MOST_SHAPES = 2000
"""Shapes a drill may have; a passage of more is a mistake, and each costs analysis."""
_UNKNOWN_METER = (MOST_BEATS, 4)
"""Stands in for a wrong meter, so that no stroke is then told to lie outside its shape."""
_NOTHING = Shape((None,))
"""Stands in for a shape that is wrong while the rest of its table is read."""
_ADULT = Hand()


def load(path: FilePath, hand: Hand = _ADULT) -> tuple[Drill | None, tuple[Problem, ...]]:
    """Return the drill in the file at `path` and every problem of the file; None where one is more than a warning.

    A warning says what `hand` cannot reach without a stretch.
    """
    document, problems = Document.load(path)
    return (None, tuple(problems)) if document is None else read(document, hand)


def parse(text: str, file: str, hand: Hand = _ADULT) -> tuple[Drill | None, tuple[Problem, ...]]:
    """Return the drill that `text` says, as `load` does; `file` names it in problems."""
    document, problems = Document.parse(text, file)
    return (None, tuple(problems)) if document is None else read(document, hand)


def read(document: Document, hand: Hand = _ADULT) -> tuple[Drill | None, tuple[Problem, ...]]:
    """Return the drill in `document`, as `load` does."""
    if not take_format(document.top, FORMAT):
        return None, grave(document.finish())
    reader = _Reader(document, hand)
    drill = _drill(document.top, reader)
    # A key nobody knows is a slip that would change the drill without a word, so it is no mere warning here.
    errors = [replace(problem, warning=False) for problem in document.finish()]
    problems = sorted(errors + reader.warnings, key=lambda problem: problem.line or 0)
    return (None if errors else drill), tuple(problems)


def _beats(value: object) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise UnfitError(Fault(f"must be a number of beats, not {shown(value)}"))
    try:
        beats = parse_beat(str(value))
    except ChangeoverError as error:
        raise UnfitError.of(error) from error
    if not 0 < beats <= MOST_BEATS:
        raise UnfitError(Fault(f"must be more than 0 and at most {MOST_BEATS} beats, not {print_beat(beats)}"))
    return beats


def _tuning(text: str) -> tuple[int, ...]:
    return tuple(midi(word) for word in text.split())


_NAME, _LABEL, _SENTENCE, _NOTE = words(100, needed=True), words(24), words(400), words(200)
_SHAPE, _BARRE = words(200, needed=True), words(100, needed=True)
_METER, _TEMPO, _ORDER = parsed("a meter", parse_meter), number(SLOWEST, FASTEST), choice(*Order)
_TRAINS = list_of(choice(*SKILLS), most=len(SKILLS))
_BEATS, _STROKES, _TEXTURE = Kind("a number of beats", _beats), parsed("strokes", parse_strokes, 4000), choice(*Texture)
_STRING, _NUMBER = integer(1, 10), integer(1, MOST_SHAPES)

_INSTRUMENT: dict[str, Kind[Any]] = {
    "tuning": parsed("notes from low to high", _tuning),
    "capo": integer(0, 35),
    "scale_mm": number(200, 1200),
    "nut_mm": number(10, 200),
    "saddle_mm": number(10, 200),
    "frets": integer(1, 36),
    "wound": Kind("a list of strings", lambda value: frozenset(list_of(_STRING, most=10).read(value))),
}
"""The keys that say what the drill is written for, named as in `Instrument`."""
KEYS = frozenset(
    ("format", "title", "about", "trains", "meter", "tempo", "order", "segments", "credits", "caution", "shapes")
) | set(_INSTRUMENT)
"""Every key at the top of a drill file."""


@dataclass(slots=True)
class _Reader:
    """What the reading of one file shares."""

    document: Document
    hand: Hand
    warnings: list[Problem] = field(default_factory=list)

    def warn(self, table: Table, key: str, problem: Problem) -> None:
        path = (*table.path, key)
        line = self.document.line(path)
        self.warnings.append(Problem(problem.what, self.document.file, line, spelt(path), problem.hint, warning=True))


def _drill(top: Table, reader: _Reader) -> Drill:
    """Return the drill, which is whole only where nothing of it was wrong."""
    title = top.need("title", _NAME, 'write title = "…"')
    meter = top.take("meter", _METER, _UNKNOWN_METER if "meter" in top else (4, 4))
    instrument = _instrument(top)
    tables = top.tables("shapes")
    steps = [_step(table, instrument, Fraction(meter[0]), reader) for table in tables]
    if not 2 <= len(tables) <= MOST_SHAPES:
        count = f"{len(tables)} shape{'' if len(tables) == 1 else 's'}"
        top.wrong("shapes", f"{count}, 2 to {MOST_SHAPES} make a drill", "write [[shapes]] before each")
    return Drill(
        title=title or "",
        steps=tuple(step for step in steps if step is not None),
        about=top.take("about", _SENTENCE, ""),
        trains=top.take("trains", _TRAINS, ()),
        instrument=instrument or Instrument(),
        meter=meter,
        tempo=top.take("tempo", _TEMPO, 60.0),
        order=top.take("order", _ORDER, Order.RING),
        segments=_segments(top, len(tables)),
        credits=top.take("credits", _SENTENCE, ""),
        caution=top.take("caution", _SENTENCE, ""),
    )


def _instrument(top: Table) -> Instrument | None:
    """Return the instrument, None where a key of it is wrong: then no shape can be held against it."""
    taken: dict[str, Any] = {key: top.take(key, kind, None) for key, kind in _INSTRUMENT.items()}
    given = {key: value for key, value in taken.items() if value is not None}
    if any(key in top for key in taken if key not in given):
        return None
    try:
        return Instrument(**given)
    except ChangeoverError as error:
        top.blame(error, "tuning")
        return None


def _step(table: Table, instrument: Instrument | None, bar: Fraction, reader: _Reader) -> Step | None:
    shape, name = _shape(table, instrument, reader)
    strokes = table.take("pluck", _STROKES, ())
    step = Step(
        shape=shape or _NOTHING,
        label=table.take("label", _LABEL, name),
        beats=table.take("beats", _BEATS, Fraction(MOST_BEATS) if "beats" in table else bar),
        strokes=strokes,
        texture=table.take("texture", _TEXTURE, usual_texture(strokes)),
        melody=table.take("melody", _STRING, None),
        sounding_slide=table.take("sounding_slide", FLAG, False),
        note=table.take("note", _NOTE, ""),
    )
    if shape is None:
        return None
    _check_strokes(table, step)
    return step


def usual_texture(strokes: tuple[Stroke, ...]) -> Texture:
    """Return how a shape is struck where its file does not say."""
    return Texture.FIGURE if len(strokes) > 1 else Texture.BLOCK


def _shape(table: Table, instrument: Instrument | None, reader: _Reader) -> tuple[Shape | None, str]:
    """Return the shape, None where it is wrong, and its name where it is one of the stock's."""
    written = table.need("shape", _SHAPE, 'a name as "Am", or one token a string, "x 0 2/2 2/3 1/1 0"')
    barre = table.take("barre", _BARRE, "")
    if written is None:
        return None, ""
    key = "shape"
    try:
        shape, name = read_shape(written)
        if name and instrument is not None:
            check_tuning(shape, instrument)
        if barre:
            key = "barre"
            shape = parse_shape(print_shape(shape), barre)
    except ChangeoverError as error:
        table.blame(error, key)
        return None, ""
    return (shape if _fits(table, shape, instrument, reader) else None), name


def _fits(table: Table, shape: Shape, instrument: Instrument | None, reader: _Reader) -> bool:
    problems = () if instrument is None else trouble(shape, instrument, reader.hand)
    for problem in problems:
        if problem.warning:
            reader.warn(table, "shape", problem)
        else:
            table.wrong("shape", problem.what, problem.hint)
    return not grave(problems)


def _check_strokes(table: Table, step: Step) -> None:
    """Note what the strokes and the shape have against each other."""
    if not step.shape.sounding:
        table.wrong("shape", "no string of it is played", "one string at least must sound")
        return
    for stroke in step.strokes:
        _check_stroke(table, step, stroke)
    if step.melody is not None and step.melody not in step.plucked.strings:
        table.wrong("melody", f"string {step.melody} is not plucked", _known_strings(sorted(step.plucked.strings)))


def _check_stroke(table: Table, step: Step, stroke: Stroke) -> None:
    beat = print_beat(stroke.beat)
    if not 1 <= stroke.beat < step.plucked.end:
        lasts = f"beat 1 to before beat {print_beat(step.plucked.end)}"
        table.wrong("pluck", f"beat {beat} lies outside the shape", f"it lasts from {lasts}")
    for string in stroke.strings:
        if string not in step.shape.sounding:
            why = _why_silent(step.shape, string)
            table.wrong("pluck", f"string {string} on beat {beat} {why}", _known_strings(sorted(step.shape.sounding)))


def _why_silent(shape: Shape, string: int) -> str:
    if not 1 <= string <= shape.strings:
        return f"is not there: the shape has {shape.strings} strings"
    return "is muted (x)" if shape[string] is None else "is held but silent"


def _known_strings(strings: list[int]) -> str:
    noun = "string" if len(strings) == 1 else "strings"
    return f"{noun} {', '.join(map(str, strings))} can be"


def _segments(top: Table, shapes: int) -> tuple[Segment, ...]:
    segments: list[Segment] = []
    for table in top.tables("segments"):
        name = table.need("name", _NAME)
        first, last = table.need("from", _NUMBER), table.need("to", _NUMBER)
        if first is not None and last is not None:
            _check_run(table, first, last, shapes)
        if name in {segment.name for segment in segments}:
            table.wrong("name", "is the name of an earlier segment too", "give each its own")
        if name is not None and first is not None and last is not None:
            segments.append(Segment(name, first, last))
    return tuple(segments)


def _check_run(table: Table, first: int, last: int, shapes: int) -> None:
    for key, shape in (("from", first), ("to", last)):
        if shape > shapes:
            table.wrong(key, f"there is no shape {shape}", f"the drill has {shapes}, counted from 1")
    if last <= first:
        table.wrong("to", f"shape {last} does not come after shape {first}", "a segment has two shapes or more")
