"""The drill screen's click for real: through a JACK server without hardware, recorded on the other side.

The beat row, the grading and the recording have to agree on when each beat was. The server has no real time: on a busy
machine its stream falls behind the clock on the wall, and nobody can tell beforehand by how much. So a beat is measured
by the stream's own time: where it was to be expected as the stream had run until the beat was foretold.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
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
from trainer.sound import device, metronome
from trainer.sound.beat import Train
from trainer.sound.clock import WINDOW
from trainer.sound.stream import Stream
from trainer.sound.ways import Way
from trainer.ui.drilling.ticker import Tick
from trainer.ui.screens.drill import DrillScreen

pytest.importorskip("miniaudio", reason="the extra `sound` is not installed")

BEAT_S = 60 / 240
NEAR_S = 0.01
"""The fitted clock may differ by so much from the middle of what it is fitted to."""


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


class Course:
    """Where a stream was at each moment at which it was asked for frames."""

    def __init__(self, stream: Stream) -> None:
        """Note it from here on."""
        self.asked: list[tuple[int, float]] = []
        now = stream._now

        def noted() -> float:
            at = now()
            self.asked.append((stream.handed, at))
            return at

        stream._now = noted

    def off(self, beat: Train, fell: list[tuple[float, float]]) -> list[float]:
        """Return how many seconds each beat but the first fell after the moment at which its frame was to be expected.

        Of each beat is given when it fell and when that was taken in, which is when the next one is foretold: from how
        far behind the stream was, in the middle, at its last `WINDOW` requests.
        """
        frames, moments = np.array(self.asked).T
        behind = moments - frames / device.RATE
        off = []
        for number, ((_, foretold), (at, _)) in enumerate(pairwise(fell), start=1):
            now = int(np.searchsorted(moments, foretold))
            expected = float(beat.place(Fraction(number))) / device.RATE + float(np.median(behind[now - WINDOW : now]))
            off.append(at - expected)
        return off


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
            assert isinstance(click._metronome, metronome.Sounding)
            stream = click._metronome._stream
            course = Course(stream)
            fell: list[tuple[float, float]] = []
            send = screen.conductor._pacing._ticker._send

            def watch(event: Tick) -> None:
                if isinstance(event, events.Beat):
                    fell.append((event.at, time.monotonic()))
                send(event)

            screen.conductor._pacing._ticker._send = watch
            await until(pilot, lambda: len(course.asked) > WINDOW)
            await pilot.press("space")
            beat = click._metronome._beat
            assert beat is not None
            await until(pilot, lambda: len(fell) > 6 and stream.handed > beat.place(Fraction(6)))
            await pilot.press("s")  # a chord is worked out meanwhile
            await pilot.press("l")
            assert screen.conductor.session.settings.target is not None
            await until(pilot, lambda: len(fell) > 13 and stream.handed > beat.place(Fraction(13)))
            await pilot.press("p")
            assert screen.conductor.session.phase is Phase.PAUSED
        given.close()
    heard = np.frombuffer(b"".join(got), np.float32)[::2]
    sounding = np.flatnonzero(np.abs(heard) > 0.1)
    onsets = sounding[np.diff(sounding, prepend=-device.RATE) > device.RATE // 20]
    before_the_chord = onsets[:6]
    assert np.all(np.abs(np.diff(before_the_chord) / device.RATE - BEAT_S) <= 0.001)
    late_s = given.settings.click_late_ms / 1000
    off = [seconds - late_s for seconds in course.off(beat, fell)]
    assert len(off) >= 13
    # A stall of the machine that falls between two requests moves one beat, and none by so much that it is another.
    assert np.quantile(np.abs(off), 0.9) <= NEAR_S, off
    assert np.all(np.abs(off) <= BEAT_S / 4), off
    # From one to the next, by the middle one.
    assert float(np.median(np.abs(np.diff(off)))) <= 0.002, off
