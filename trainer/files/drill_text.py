"""Drill files written: a new one with comments that explain it, or single values of an old one, comments kept."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import Path as FilePath

from trainer.errors import ChangeoverError, grave, plain, wrong
from trainer.files import atomic
from trainer.files.drills import parse, usual_texture
from trainer.files.lines import Path
from trainer.files.pluck import print_beat, print_strokes
from trainer.files.toml import Document, updated
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import print_barres, print_shape
from trainer.practice.drill import FORMAT, Drill, Segment, Step

_HEAD = """\
# A drill: shapes to change between, in order. `changeover check` says what is wrong with a file like this one.
# A shape is a name ("Am") or one token a string, from the last string to string 1, the one nearest the floor:
#   x not played, 0 open, 3 fret 3, 3/2 fret 3 by finger 2, (3/2) held but silent
"""
_EXPLAINED = {
    "about": "one sentence: what it is for",
    "trains": "what it trains, as the list of drills sorts by it",
    "tempo": "beats per minute to begin with",
    "order": '"ring": from the last shape back to the first; "once": the way back is no change',
    "tuning": "low to high",
    "wound": "strings that squeak under a slide",
    "pluck": "beat: strings, each with a finger of the right hand where it matters",
    "barre": "fret/finger, from the bass end to the treble end",
}
"""Comments, each written where its key comes first."""


def save(path: FilePath, drill: Drill, *, force: bool = False) -> None:
    """Write `drill` to a file at `path`: a new one, or with `force` in place of an old one.

    ChangeoverError where one lies there, or no file could hold the drill.
    """
    if not force:
        atomic.check_free(path)
    text = print_drill(drill)
    again, problems = parse(text, str(path))
    if errors := grave(problems):
        raise ChangeoverError(*errors)
    if again != drill:
        raise wrong("would not be the same when it is read again", file=str(path), hint="shorten or simplify its texts")
    atomic.write_text(path, text)


def update(path: FilePath, changes: Mapping[str | Path, object]) -> None:
    """Change single values of the drill file at `path` and keep everything else, comments included.

    `changes` maps a key, or a path of keys and 0-based indices as ("shapes", 2, "beats"), to its new value as the
    file says it; None takes the key out. ChangeoverError, and the old file, where the new one would not be a drill.
    """
    document, problems = Document.load(path)
    if document is not None:
        text = updated(document.text, changes)
        _, found = parse(text, str(path))
        problems = list(grave(found))
        if not problems:
            atomic.write_text(path, text)
            return
    raise ChangeoverError(*problems)


def print_drill(drill: Drill) -> str:
    """Return the text of a drill file that reads as `drill`, keys with their usual value left out."""
    explained: set[str] = set()
    parts = [_HEAD + _table(_top(drill), explained)]
    parts += ["[[shapes]]\n" + _table(_step(step, drill), explained) for step in drill.steps]
    parts += ["[[segments]]\n" + _table(_segment(segment), explained) for segment in drill.segments]
    return "\n".join(parts)


def _top(drill: Drill) -> Iterator[tuple[str, object]]:
    yield "format", FORMAT
    yield "title", drill.title
    yield "about", drill.about
    yield "trains", list(drill.trains)
    yield from _instrument(drill.instrument)
    yield "meter", "/".join(map(str, drill.meter))
    yield "tempo", drill.tempo
    yield "order", str(drill.order)
    yield from _given(credits=drill.credits, caution=drill.caution)


def _instrument(instrument: Instrument) -> Iterator[tuple[str, object]]:
    """Yield what differs from the usual guitar."""
    usual = Instrument()
    if instrument.tuning != usual.tuning:
        yield "tuning", " ".join(instrument.tuning_names)
    for key in ("capo", "scale_mm", "nut_mm", "saddle_mm", "frets"):
        value = getattr(instrument, key)
        if value != getattr(usual, key):
            yield key, value
    if instrument.wound is not None:
        yield "wound", sorted(instrument.wound)


def _step(step: Step, drill: Drill) -> Iterator[tuple[str, object]]:
    shape = print_shape(step.shape)
    named = STOCK.get(step.label) == shape and drill.instrument.tuning == Instrument().tuning
    yield "shape", step.label if named else shape
    yield from _given(barre=print_barres(step.shape), label="" if named else step.label)
    if step.beats != drill.meter[0]:
        yield "beats", _beats(step.beats)
    yield from _given(pluck=print_strokes(step.strokes))
    if step.texture is not usual_texture(step.strokes):
        yield "texture", str(step.texture)
    yield from _given(melody=step.melody, sounding_slide=step.sounding_slide, note=step.note)


def _segment(segment: Segment) -> Iterator[tuple[str, object]]:
    yield from (("name", segment.name), ("from", segment.first), ("to", segment.last))


def _given(**values: object) -> Iterator[tuple[str, object]]:
    return ((key, value) for key, value in values.items() if value)


def _beats(beats: Fraction) -> object:
    text = print_beat(beats)
    return text if "/" in text else float(text)


def _table(pairs: Iterator[tuple[str, object]], explained: set[str]) -> str:
    return "".join(_line(key, value, explained) for key, value in pairs)


def _line(key: str, value: object, explained: set[str]) -> str:
    comment = "" if key in explained else _EXPLAINED.get(key, "")
    explained.add(key)
    return f"{key} = {_value(value)}" + (f"  # {comment}\n" if comment else "\n")


def _value(value: object) -> str:
    """Return a value in TOML; texts in the form that JSON and TOML share, controls made plain."""
    if isinstance(value, str):
        return json.dumps(plain(value), ensure_ascii=False)
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() else repr(value)
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    return json.dumps(value)
