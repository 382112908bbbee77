"""Onsets, durations, sounding pitches and ties as music21 reads them from the same files."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from tests.scores.building import DATA
from tests.scores.reference import notes, parsed
from trainer.scores.score import Score, Tie
from trainer.scores.source import load

FILES = sorted((DATA / "lilypond-suite").glob("*.xml"))
TIES_DIFFER = {"34b-Colors"}
"""Its ties are drawn (`tied`) and not said to sound (`tie`): we join them, music21 does not."""


def ours(score: Score) -> list[list[tuple[Fraction, Fraction, int, int]]]:
    """Return a score's notes as `reference.notes` does, staff by staff as music21 makes each a part."""
    starts = [sum((bar.length for bar in score.bars[:index]), Fraction(0)) for index in range(len(score.bars))]
    return [
        sorted(
            (starts[n.bar] + n.at, n.duration, n.pitch + (part.transpose or 0), int(n.tie in {Tie.STOP, Tie.MIDDLE}))
            for n in part.notes
            if n.staff == staff and not n.grace
        )
        for part in score.parts
        for staff in sorted({n.staff for n in part.notes})
    ]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_same_notes(file: Path) -> None:
    mine, theirs = ours(load(file)), notes(parsed(file))
    assert sum(map(len, mine)) > 0
    told = 3 if file.stem in TIES_DIFFER else 4
    assert [[note[:told] for note in part] for part in mine] == [[note[:told] for note in part] for part in theirs]
