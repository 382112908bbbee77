"""The plot of change times carries its own numbers and stays within its room."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from trainer.ui.progress.plots import plot


def test_slowest_on_top_fastest_below_and_the_count() -> None:
    assert [row.rstrip() for row in plot([2000.0, 1500.0, 1000.0], 20, 5, fine=False)] == [
        " 2.00 s |*",
        "        |    *",
        " 1.00 s |        *",
        "        +-----------",
        "         1       3",
    ]


def test_one_time_is_labelled_once() -> None:
    rows = plot([840.0], 30, 6)
    assert sum("0.84 s" in row for row in rows) == 1


def test_nothing_to_show_or_no_room() -> None:
    assert plot([], 40, 9) == []
    assert plot([1.0], 5, 9) == []
    assert plot([1.0], 40, 3) == []


@given(st.lists(st.floats(1, 1e6), min_size=1, max_size=300), st.integers(12, 120), st.integers(4, 30))
def test_it_stays_within_its_room_and_shows_a_dot_a_time(times: list[float], width: int, height: int) -> None:
    rows = plot(times, width, height, fine=False)
    assert len(rows) <= height
    assert max(map(len, rows)) <= width
    assert sum(row.count("*") for row in rows) == min(len(times), width - 9)
