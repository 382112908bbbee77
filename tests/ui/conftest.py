"""After a key the tests wait until the loop has nothing left to do, and not until the processor has."""

from __future__ import annotations

import asyncio
import time

import pytest

_TURNS = 3
"""Turns of the loop on end in which nothing else was waiting for its turn."""
_FRAME_S = 1 / 50
"""A little more than Textual draws a frame in; it puts off some of its work by one."""


async def _quiet(min_sleep: float = 0.0, max_sleep: float = 1.0) -> None:
    """Wait until the loop has nothing left to do but to wait for a moment, a file or a thread."""
    loop = asyncio.get_running_loop()
    give_up = time.monotonic() + max_sleep
    turns = 0
    while turns < _TURNS and time.monotonic() < give_up:
        await asyncio.sleep(0)
        turns = 0 if loop._ready else turns + 1  # type: ignore[attr-defined]  # told nowhere else


async def _quiet_after_a_frame(min_sleep: float = 0.0, max_sleep: float = 1.0) -> None:
    await asyncio.sleep(_FRAME_S)
    await _quiet(min_sleep, max_sleep)


@pytest.fixture(autouse=True)
def _no_wait_for_the_processor(monkeypatch: pytest.MonkeyPatch) -> None:
    """Textual waits until the processor rests: 40 ms a key at least, and two seconds where a clock runs on the screen.

    What it sees depends on the machine; whether the loop has something to do does not.
    """
    monkeypatch.setattr("textual.app.wait_for_idle", _quiet)
    monkeypatch.setattr("textual.pilot.wait_for_idle", _quiet_after_a_frame)
