"""What is exported reads back as it was, every shipped drill and any that can be drawn, and is valid by the schema."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from io import BytesIO
from typing import Any

import pytest
import xmlschema
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from tests.scores.building import DATA
from tests.scores.reference import notes, parsed
from tests.strategies import drills
from trainer.files.drills import load
from trainer.files.paths import shipped
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.practice.drill import Drill, Step
from trainer.practice.record import Texture
from trainer.scores import smf_writer
from trainer.scores.drilling import drill_of
from trainer.scores.excerpt import excerpt
from trainer.scores.musicxml.reader import read
from trainer.scores.musicxml.writer import write
from trainer.scores.parts import chosen_part
from trainer.scores.score import Score
from trainer.scores.source import parse

SHIPPED = sorted(shipped("drills").glob("*.toml"))


@lru_cache(maxsize=1)
def schema() -> Any:
    """The MusicXML 4.0 schema; its imports (xml.xsd, xlink.xsd) come from the validator's own copies."""
    return xmlschema.XMLSchema(str(DATA / "w3c" / "musicxml-4.0.xsd"), allow="local")


def problems(data: bytes) -> list[str]:
    return [f"{error.path}: {error.reason}" for error in schema().iter_errors(BytesIO(data))]


def drill(path: Any) -> Drill:
    found, _ = load(path)
    assert found is not None
    return found


def imported(score: Score) -> Drill:
    part, _ = chosen_part(score, None, "x")
    return drill_of(score, excerpt(score, part, "x"), "x").drill


def played(step: Step) -> tuple[Any, ...]:
    """Return what of a step must survive: its shape with fingers and barres, its strokes in time, its melody."""
    strokes = tuple(
        (stroke.beat, tuple(sorted(zip(stroke.strings, stroke.right_hand or (None,) * 9, strict=False))))
        for stroke in step.plucked.strokes
    )
    return step.shape, step.shape.barres, step.beats, strokes, step.melody


def test_the_schema_finds_what_is_wrong() -> None:
    data = write(drill(SHIPPED[0]))
    assert problems(data.replace(b"<fingering>", b"<finger>").replace(b"</fingering>", b"</finger>"))
    assert problems(data.replace(b"<frame-frets>4", b"<frame-frets>many"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_drill_comes_back_whole(path: Any) -> None:
    before = drill(path)
    data = write(before)
    assert problems(data) == []
    after = imported(read(data, "x"))
    assert [played(step) for step in after.steps] == [played(step) for step in before.steps]
    assert [step.label for step in after.steps] == [step.label for step in before.steps]
    assert [step.texture for step in after.steps] == [step.texture for step in before.steps]
    assert (after.meter, after.tempo, after.order) == (before.meter, before.tempo, before.order)
    assert (after.instrument.tuning, after.instrument.capo) == (before.instrument.tuning, before.instrument.capo)
    assert after.about == "Fingered as printed."


def test_a_sounding_slide_is_written_and_read() -> None:
    before = drill(shipped("drills") / "slide-heard.toml")
    after = imported(read(write(before), "x"))
    assert [step.sounding_slide for step in after.steps] == [False, True, True, True]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_another_reader_hears_the_same(path: Any) -> None:
    """music21's onsets and pitches of what is written, each staff of it, against the drill's own strokes."""
    before = drill(path)
    struck = sorted(
        (start + (stroke.beat - 1) * Fraction(4, before.meter[1]), before.instrument.pitch(string, stop.fret))
        for start, step in zip(before.onsets, before.steps, strict=False)
        for stroke in step.plucked.strokes
        for string in stroke.strings
        if (stop := step.shape[string]) is not None
    )
    for staff in notes(parsed(write(before))):
        assert [(onset, midi) for onset, _, midi, tied in staff if not tied] == struck


@st.composite
def drawable(draw: st.DrawFn) -> Drill:
    """Drills that a score can hold: fingers on every fret, no barre beyond its strings, beats a note value can say."""
    found = draw(drills(fingered=True))
    return replace(
        found,
        steps=tuple(map(_within, found.steps)),
        tempo=float(round(found.tempo)),
        instrument=Instrument(tuning=found.instrument.tuning, capo=found.instrument.capo, frets=found.instrument.frets),
    )


@settings(max_examples=25)
@given(drawable())
def test_any_drill_that_can_be_drawn_comes_back(before: Drill) -> None:
    after = imported(read(written(before), "x"))
    assert [played(step) for step in after.steps] == [played(step) for step in before.steps]
    assert (after.meter, after.order) == (before.meter, before.order)
    assert after.tempo == pytest.approx(before.tempo, abs=1e-3)


@settings(max_examples=15)
@given(drawable())
def test_any_drill_is_written_by_the_schema(before: Drill) -> None:
    assert problems(written(before)) == []


def written(drill: Drill) -> bytes:
    """Return `drill` as a score; a drill with a stroke too short for any note value is none of ours to test."""
    try:
        return write(drill)
    except ValueError:
        reject()


def _within(step: Step) -> Step:
    """Return the step within twelve beats and with no barre that is declared beyond its strings."""
    step = replace(step, beats=min(step.beats, Fraction(12)), shape=Shape(step.shape.stops))
    strokes = tuple(stroke for stroke in step.strokes if stroke.beat < step.beats + 1)
    plucked = {string for stroke in strokes for string in stroke.strings} or set(step.shape.sounding)
    melody = step.melody if step.melody in plucked else None
    return replace(step, strokes=strokes, melody=melody, texture=Texture.BLOCK)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
@pytest.mark.parametrize("tempo", [None, 97.0])
def test_a_midi_file_has_a_channel_a_string_and_a_bar_before(path: Any, tempo: float | None) -> None:
    before = drill(path)
    score = parse(smf_writer.write(before, tempo), "x.mid")
    (part,) = score.parts
    lead = Fraction(4 * before.meter[0], before.meter[1])
    assert score.bars[0].length == lead
    assert score.tempos[0].quarters == pytest.approx((tempo or before.tempo) * 4 / before.meter[1], rel=1e-5)
    starts = [sum((bar.length for bar in score.bars[:index]), Fraction(0)) for index in range(len(score.bars))]
    heard = sorted((starts[n.bar] + n.at - lead, n.printed.string, n.pitch) for n in part.notes)
    assert heard == sorted(
        (start + (stroke.beat - 1) * Fraction(4, before.meter[1]), string, before.instrument.pitch(string, stop.fret))
        for start, step in zip(before.onsets, before.steps, strict=False)
        for stroke in step.plucked.strokes
        for string in stroke.strings
        if (stop := step.shape[string]) is not None
    )
    assert {u.what: u.count for u in score.unread} == {"percussion notes": before.meter[0]}
