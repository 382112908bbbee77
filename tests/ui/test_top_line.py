"""The top line: what gives way first where not all of it fits."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.ui.app_fakes import app, rows, services, shows, until
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.ui.fitting import squeezed

PARTS = ("A drill with a long title", "all of it", "to the beat at 60")


@pytest.mark.parametrize(
    ("width", "line"),
    [
        (57, "A drill with a long title - all of it - to the beat at 60"),
        (50, "A drill with a ... - all of it - to the beat at 60"),
        (40, "A dri... - all of it - to the beat at 60"),
        (39, "all of it - to the beat at 60"),
        (28, "all o... - to the beat at 60"),
        (27, "to the beat at 60"),
        (10, "to the ..."),
    ],
)
def test_the_title_gives_way_first_then_what_is_practised_and_how_last(width: int, line: str) -> None:
    assert squeezed(PARTS, " - ", width) == line


@given(st.lists(st.text("ab ", max_size=30), min_size=1, max_size=4), st.integers(3, 90))
def test_it_never_takes_more_room_than_there_is(parts: list[str], width: int) -> None:
    assert len(squeezed(parts, " · ", width)) <= width


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_the_way_and_the_tempo_stay_in_sight_beside_a_long_title(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    drill = from_shapes(["x 3/3 2/2 0 1/1 0", "1/1 3/3 3/4 2/2 1/1 1/1", "3/3 2/2 0 0 0 1/1"])
    with Log.open(paths.log_file()) as log:
        async with app(services(log), "drill", drill=drill, mode=Mode.PACED).run_test(size=size) as pilot:
            await until(pilot, lambda: shows(pilot, "all of it · to the beat at 60", "change 1 of"))
            assert "..." in rows(pilot)[0]
