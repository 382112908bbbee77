"""A log that is merged by a command while the app has it open: the app shows it, and goes on keeping what is played."""

from __future__ import annotations

import sys
from asyncio.subprocess import PIPE, create_subprocess_exec
from pathlib import Path

import pytest

from tests.ui.app_fakes import app, services, shows, until
from trainer.files import paths
from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing

EM_AM = "E2 A2 D3 G3 B3 E4 | 0 | 0 2/1 2/2 0 0 0 | x 0 2/2 2/3 1/1 0"


def play(log: Log, name: str, ms: float) -> None:
    log.begin(Run(name, f"Played {name}", 1000.0, Timing.LEAVE))
    assert log.add(Attempt(name, name, EM_AM, 1000.0 + ms, Timing.LEAVE, "keys", ms)).result(30) is None


async def test_a_log_merged_by_a_command_while_the_app_runs_shows_when_progress_is_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    taken = tmp_path / "taken.sqlite3"
    with Log.open(taken) as at_school:
        play(at_school, "at school", 600.0)
    with Log.open(paths.log_file()) as log:
        play(log, "at home", 900.0)
        async with app(services(log)).run_test(size=(80, 24)) as pilot:
            await pilot.press("p")
            await until(pilot, lambda: shows(pilot, "Em → Am", "best 0.90 s"))
            await pilot.press("escape")
            merging = await create_subprocess_exec(
                *(sys.executable, "-m", "trainer.cli", "merge", str(taken)), stdout=PIPE, stderr=PIPE
            )
            assert await merging.communicate() == (
                b"Merged: 1 change new in 1 new run, 0 known already.\n  1  Played at school\n",
                b"",
            )
            await pilot.press("p")
            await until(pilot, lambda: shows(pilot, "Em → Am", "best 0.60 s, median 0.75 s"))
            await pilot.press("r")
            await until(pilot, lambda: shows(pilot, "Played at school"))
        play(log, "afterwards", 800.0)
    with reading(paths.log_file()) as history:
        assert {run.id for run in history.runs()} == {"at school", "at home", "afterwards"}
