"""The drill screen's click for real: through a JACK server without hardware, recorded on the other side.

The beat row, the grading and the recording have to agree on when each beat was.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.sound.test_jack import connect_all, recording
from tests.ui.app_fakes import app, services, until
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice import events
from trainer.practice.phases import Mode, Phase
from trainer.practice.quick import from_shapes
from trainer.sound import device
from trainer.sound.ways import Way
from trainer.ui.drilling.ticker import Tick
from trainer.ui.screens.drill import DrillScreen

pytest.importorskip("miniaudio", reason="the extra `sound` is not installed")

BEAT_S = 60 / 240


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


@pytest.mark.usefixtures("jack")
async def test_what_is_heard_is_what_the_beat_row_and_the_grading_go_by(log: Log) -> None:
    given = services(log, mode=Mode.PACED, bell=False)
    given.opening = None
    with recording() as got:
        async with app(given, "drill", drill=from_shapes(["C", "F"]), tempo=240).run_test(size=(80, 24)) as pilot:
            screen = pilot.app.screen
            assert isinstance(screen, DrillScreen)
            click = screen.rig.sounding._click
            await until(pilot, lambda: click.choice is not None)
            assert click.choice is not None
            assert click.choice.way is Way.SOUND
            assert connect_all() > 0
            beats: list[float] = []
            send = screen.conductor._pacing._ticker._send

            def watch(event: Tick) -> None:
                if isinstance(event, events.Beat):
                    beats.append(event.at)
                send(event)

            screen.conductor._pacing._ticker._send = watch
            await pilot.press("space")
            await until(pilot, lambda: len(beats) > 6)
            await pilot.press("s")  # a chord is worked out meanwhile
            await pilot.press("l")
            assert screen.conductor.session.settings.target is not None
            await until(pilot, lambda: len(beats) > 13)
            await pilot.press("p")
            assert screen.conductor.session.phase is Phase.PAUSED
        given.close()
    heard = np.frombuffer(b"".join(got), np.float32)[::2]
    sounding = np.flatnonzero(np.abs(heard) > 0.1)
    onsets = sounding[np.diff(sounding, prepend=-device.RATE) > device.RATE // 20]
    before_the_chord = onsets[:6]
    assert np.all(np.abs(np.diff(before_the_chord) / device.RATE - BEAT_S) <= 0.001)
    # The fitted clock may move by a little; a beat is where the stream has it.
    assert np.all(np.abs(np.diff(beats) - BEAT_S) <= 0.02)
    # By the middle one: a server without real time stalls now and then, and the beats stall with it.
    assert abs(float(np.median(np.diff(beats))) - BEAT_S) <= 0.002
