"""Numbers in attributes: what is no number that could be meant is told of, and never taken by its first digits."""

from __future__ import annotations

import pytest

from tests.scores.building import HEAD, STANDARD_TUNING, document, measure, note
from trainer.scores.musicxml.reader import read
from trainer.scores.score import Score

NONE = ["0", "11", "0019", "001" + "9" * 30, "001" + "9" * 5000, "-1", "1.5", "¹", "one", ""]
"""No string and no line of a staff: too small, too large, too long, or no whole number."""


def score(attributes: str = "", end: str = "", direction: str = "") -> Score:
    bar = measure(direction + note("E4", 16) + end, attributes=HEAD + attributes)
    return read(document(bar).encode(), "x")


@pytest.mark.parametrize("line", NONE)
def test_a_line_of_a_staff(line: str) -> None:
    tuning = (
        f'{STANDARD_TUNING}<staff-tuning line="{line}"><tuning-step>C</tuning-step><tuning-octave>2</tuning-octave>'
    )
    found = score(f"<staff-details>{tuning}</staff-tuning></staff-details>")
    assert found.parts[0].tuning == (40, 45, 50, 55, 59, 64)
    assert [unread.what for unread in found.unread] == ["staff-tuning without a line and pitch"]


@pytest.mark.parametrize("string", NONE)
def test_a_string_that_is_retuned(string: str) -> None:
    accord = f'<accord string="{string}"><tuning-step>D</tuning-step><tuning-octave>2</tuning-octave></accord>'
    mark = f"<direction><direction-type><scordatura>{accord}</scordatura></direction-type></direction>"
    found = score(direction=mark)
    assert found.parts[0].tuning is None
    assert [unread.what for unread in found.unread] == ["accord without a string and pitch"]


@pytest.mark.parametrize(
    ("times", "played"), [("3", 3), ("03", 3), ("20", 20), *((text, 2) for text in NONE if text not in {"11", "0019"})]
)
def test_how_often_a_run_is_played(times: str, played: int) -> None:
    end = f'<barline><repeat direction="backward" times="{times}"/></barline>'
    assert score(end=end).bars[0].closes == played


@pytest.mark.parametrize(("value", "marked", "quarters"), [("long", 40, 640), ("half", 60, 120), ("128th", 320, 10)])
def test_the_unit_of_a_metronome_mark(value: str, marked: int, quarters: float) -> None:
    mark = f"<metronome><beat-unit>{value}</beat-unit><per-minute>{marked}</per-minute></metronome>"
    found = score(direction=f"<direction><direction-type>{mark}</direction-type></direction>")
    assert [tempo.quarters for tempo in found.tempos] == [quarters]
