"""Repeats and endings in played order, against music21's expansion of the same bars."""

from __future__ import annotations

import warnings

import pytest

from tests.scores.building import HEAD, document, measure, note
from tests.scores.reference import parsed
from trainer.errors import ChangeoverError
from trainer.scores.musicxml.reader import read
from trainer.scores.order import bar_span, played

OPENS = "<barline location='left'><repeat direction='forward'/></barline>"
CLOSES = "<barline location='right'><repeat direction='backward'/></barline>"


def ending(number: str, *, closes: bool) -> tuple[str, str]:
    repeat = "<repeat direction='backward'/>" if closes else ""
    kind = "stop" if closes else "discontinue"
    return (
        f"<barline location='left'><ending number='{number}' type='start'/></barline>",
        f"<barline location='right'><ending number='{number}' type='{kind}'/>{repeat}</barline>",
    )


FIRST, SECOND = ending("1", closes=True), ending("2", closes=False)
NONE = ("", "")
LAYOUTS = {
    "no repeats": [NONE, NONE, NONE],
    "from the start": [NONE, ("", CLOSES), NONE],
    "a run within": [NONE, (OPENS, ""), ("", CLOSES), NONE],
    "two runs": [(OPENS, ""), ("", CLOSES), (OPENS, CLOSES), NONE],
    "two endings": [(OPENS, ""), FIRST, SECOND, NONE],
    "two endings from the start": [NONE, FIRST, SECOND],
    "endings, then a run": [(OPENS, ""), FIRST, SECOND, (OPENS, CLOSES)],
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_played_as_music21_plays_it(name: str) -> None:
    bars = [
        measure(left + note("E4", 16) + right, number, HEAD if number == 1 else "")
        for number, (left, right) in enumerate(LAYOUTS[name], start=1)
    ]
    data = document(*bars).encode()
    score = read(data, "x")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = [bar.number for bar in parsed(data).parts[0].expandRepeats().getElementsByClass("Measure")]
    assert [int(score.bars[index].number) for index in played(score.bars, 0, len(score.bars) - 1)] == theirs


def test_a_run_may_be_played_oftener_and_an_ending_more_than_once() -> None:
    """music21 10.5 counts `times` otherwise where endings follow, so these are the signs' plain meaning; no source."""
    thrice = measure(note("E4", 16) + CLOSES.replace("'backward'", "'backward' times='3'"), 1, HEAD)
    score = read(document(thrice, measure(note("E4", 16), 2)).encode(), "x")
    assert played(score.bars, 0, 1) == [0, 0, 0, 1]
    first, second = ending("1, 2", closes=True), ending("3", closes=False)
    bars = [
        measure(note("E4", 16), 1, HEAD),
        *(measure(a + note("E4", 16) + b, n) for n, (a, b) in ((2, first), (3, second))),
    ]
    score = read(document(*bars).encode(), "x")
    assert played(score.bars, 0, 2) == [0, 1, 0, 1, 0, 2]


def test_bars_are_named_by_what_is_printed() -> None:
    bars = read(document(*(measure(note("E4", 16), n, HEAD if n == 0 else "") for n in range(5))).encode(), "x").bars
    assert bar_span(bars, None, "x") == (0, 4)
    assert bar_span(bars, "0", "x") == (0, 0)
    assert bar_span(bars, " 2 - 4 ", "x") == (2, 4)
    for text in ("5", "4-2", "", "-", "1-2-3", "one"):
        with pytest.raises(ChangeoverError):
            bar_span(bars, text, "x")
