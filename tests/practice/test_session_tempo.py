"""The tempo rule, against its table worked out by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.practice.tempo import FASTEST, SLOWEST, following_tempo, within_limits


@pytest.mark.parametrize(
    ("tempo", "landed", "asked", "following"),
    [
        (60.0, 8, 8, 64.0),  # 63.6
        (60.0, 7, 8, 60.0),
        (62.5, 6, 8, 62.5),
        (60.0, 5, 8, 56.0),  # 56.4
        (60.0, 4, 8, 56.0),
        (60.0, 3, 8, 51.0),
        (60.0, 0, 8, 51.0),
        (60.0, 1, 1, 64.0),
        (60.0, 0, 1, 51.0),
        (20.0, 9, 9, 21.0),
        (20.0, 0, 9, 20.0),
        (21.0, 5, 9, 20.0),
        (240.0, 9, 9, 240.0),
        (230.0, 9, 9, 240.0),
    ],
)
def test_following_tempo(tempo: float, landed: int, asked: int, following: float) -> None:
    assert following_tempo(tempo, landed, asked) == following


@given(st.floats(SLOWEST, FASTEST), st.integers(1, 9), st.data())
def test_more_landed_is_never_slower_and_the_limits_hold(tempo: float, asked: int, data: st.DataObject) -> None:
    fewer = data.draw(st.integers(0, asked))
    more = data.draw(st.integers(fewer, asked))
    low, high = following_tempo(tempo, fewer, asked), following_tempo(tempo, more, asked)
    assert SLOWEST <= low <= high <= FASTEST


@pytest.mark.parametrize(("tempo", "kept"), [(5.0, 20.0), (20.0, 20.0), (99.5, 99.5), (240.0, 240.0), (1e9, 240.0)])
def test_limits(tempo: float, kept: float) -> None:
    assert within_limits(tempo) == kept
