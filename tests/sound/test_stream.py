"""The stream never waits, never loses its place, and plays through a device that is not there."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.sound import device
from trainer.sound.beat import train
from trainer.sound.clicks import Samples, render
from trainer.sound.stream import AHEAD_S, BLOCK, Filler, Stream

RATE = 8_000


def counted(first: int, count: int) -> Samples:
    """Return samples that say which frame each of them is."""
    return np.arange(first, first + count, dtype=np.float32)


def ticking() -> Iterator[float]:
    number = 0.0
    while True:
        yield number
        number += 0.01


def stream(source: object = counted) -> Stream:
    moments = ticking()
    return Stream(source, RATE, lambda: next(moments))  # type: ignore[arg-type]  # whatever a test renders with


def filled(one: Stream) -> Stream:
    while one.fill():
        pass
    return one


@given(st.lists(st.integers(1, BLOCK), min_size=1, max_size=30))
def test_whatever_is_asked_for_comes_in_order_and_whole(counts: list[int]) -> None:
    one = stream()
    hand_out = one.frames()
    got = []
    for count in counts:
        filled(one)
        got.append(hand_out.send(count).copy())
    assert np.array_equal(np.concatenate(got), counted(0, sum(counts)))
    assert (one.handed, one.missed) == (sum(counts), 0)


def test_what_is_not_there_in_time_is_silence_and_what_follows_is_in_its_place() -> None:
    one = stream()
    hand_out = one.frames()
    assert not hand_out.send(BLOCK + 100).any()
    assert one.missed == BLOCK + 100
    filled(one)
    assert np.array_equal(hand_out.send(500), counted(BLOCK + 100, 500))
    assert one.missed == BLOCK + 100


def test_it_renders_so_far_ahead_and_forgets_what_was_played() -> None:
    rendered = []

    def noted(first: int, count: int) -> Samples:
        rendered.append(first)
        return counted(first, count)

    one = filled(stream(noted))
    assert rendered == list(range(0, int(AHEAD_S * RATE) + BLOCK, BLOCK))
    hand_out = one.frames()
    for _ in range(50):
        hand_out.send(BLOCK)
        filled(one)
    assert rendered == sorted(set(rendered))
    assert len(one._blocks) <= AHEAD_S * RATE / BLOCK + 2  # nothing else tells how much is kept


def test_a_tempo_change_is_heard_in_its_place_without_a_break() -> None:
    slow = train(90, RATE)
    one = filled(stream(lambda first, count: render(slow, first, count)))
    hand_out = one.frames()
    got = [hand_out.send(3_000).copy()]
    fast = slow.changed(4, 150)
    began = one.replace(lambda first, count: render(fast, first, count), fast.frame(4))
    assert began == fast.frame(4)
    for _ in range(20):
        filled(one)
        got.append(hand_out.send(2_000).copy())
    heard = np.concatenate(got)
    before, after = render(slow, 0, began), render(fast, began, len(heard) - began)
    assert np.array_equal(heard, np.concatenate([before, after]))
    assert one.missed == 0


def test_what_is_replaced_too_late_begins_with_the_next_frame() -> None:
    one = filled(stream())
    hand_out = one.frames()
    hand_out.send(1_000)
    assert one.replace(lambda first, count: -counted(first, count), 10) == 1_000
    assert np.array_equal(hand_out.send(5), -counted(1_000, 5))
    assert one.replace(counted, 1_500) == 1_500
    assert one.replace(counted, 1_200) == 1_200
    assert np.array_equal(hand_out.send(500), np.concatenate([-counted(1_005, 195), counted(1_200, 305)]))


def test_the_clock_follows_the_moments_at_which_frames_are_asked_for() -> None:
    one = stream()
    assert one.clock is None
    hand_out = one.frames()
    for _ in range(60):
        hand_out.send(80)  # 80 frames each 10 ms is 8,000 a second
    assert one.clock is not None
    assert one.clock.rate == pytest.approx(RATE)
    assert one.clock.time(8_000) == pytest.approx(1.0)


def test_a_thread_renders_ahead_while_another_asks() -> None:
    beat = train(200, RATE)
    one = stream(lambda first, count: render(beat, first, count))
    hand_out = one.frames()
    got = []
    with Filler(one):
        for _ in range(200):
            # Ask only for what is there: how fast a shared machine renders is not what is tested.
            while not _next_is_there(one):
                threading.Event().wait(0.001)
            got.append(hand_out.send(400).copy())
    assert one.missed == 0
    assert np.array_equal(np.concatenate(got), render(beat, 0, 80_000))


def _next_is_there(one: Stream) -> bool:
    return {one.handed // BLOCK * BLOCK, (one.handed + 399) // BLOCK * BLOCK} <= one._blocks.keys()


def test_a_device_that_plays_to_nobody_asks_for_frames() -> None:
    pytest.importorskip("miniaudio", reason="the extra `sound` is not installed")
    import time

    beat = train(120, device.RATE)
    one = Stream(lambda first, count: render(beat, first, count), device.RATE, time.monotonic)
    asked = threading.Event()

    def noted(first: int, count: int) -> Samples:
        if one.handed > device.RATE // 5:
            asked.set()
        return render(beat, first, count)

    one.replace(noted, 0)
    with device.playing(one, "NULL") as opened:
        assert asked.wait(20)
    assert opened.backend == "Null"
    assert one.clock is not None
    assert one.clock.rate == pytest.approx(device.RATE, rel=0.01)


@pytest.mark.parametrize("backend", ["WEBAUDIO", "no such backend"])
def test_no_device_is_one_line_with_what_there_is_instead(backend: str) -> None:
    pytest.importorskip("miniaudio", reason="the extra `sound` is not installed")
    with pytest.raises(ChangeoverError, match="no sound device"), device.playing(stream(), backend):
        pass


def test_a_search_for_a_device_prints_nothing() -> None:
    pytest.importorskip("miniaudio", reason="the extra `sound` is not installed")
    # In a process of its own: what C libraries print passes by whatever a test looks through.
    code = (
        "import time; from trainer.errors import ChangeoverError; from trainer.sound import device, metronome\n"
        "from trainer.sound.stream import Stream\n"
        "for backend in ('ALSA', 'JACK'):\n"
        "    try:\n"
        "        with device.playing(Stream(metronome.silence, device.RATE, time.monotonic), backend): pass\n"
        "    except ChangeoverError: pass\n"
    )
    environment = {**os.environ, "JACK_DEFAULT_SERVER": "nobody", "JACK_NO_START_SERVER": "1"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment)
    assert done.stdout + done.stderr == ""


def test_without_miniaudio_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "miniaudio", None)
    assert device.missing() == "no sound without miniaudio (pip install 'changeover[sound]')"
    with pytest.raises(ChangeoverError, match="miniaudio"), device.playing(stream()):
        pass
