"""A drill in time: how long its shapes and beats last, and when each shape begins."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from trainer.practice.quick import from_shapes

DRILL = from_shapes(["C", "F", "G"])


def test_in_a_meter_of_quarters_a_beat_is_a_quarter_note() -> None:
    assert DRILL.beat == 1
    assert list(map(float, DRILL.lengths)) == [4, 4, 4]
    assert list(map(float, DRILL.onsets)) == [0, 4, 8, 12]


def test_in_a_meter_of_eighths_beats_are_half_as_long() -> None:
    lengths = (Fraction(3), Fraction(3, 2), Fraction(3, 2))
    steps = tuple(replace(step, beats=beats) for step, beats in zip(DRILL.steps, lengths, strict=True))
    drill = replace(DRILL, meter=(6, 8), steps=steps)
    assert drill.beat == Fraction(1, 2)
    assert drill.lengths == lengths
    assert list(map(float, drill.onsets)) == [0, 1.5, 2.25, 3]
