"""The player never keeps its caller waiting, whatever the device does."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction
from queue import SimpleQueue

import numpy as np
import pytest

from trainer.sound.beat import Moments, Pattern
from trainer.sound.clicks import Samples
from trainer.sound.metronome import Metronome
from trainer.sound.player import Player
from trainer.sound.ways import Choice, Way

PATIENCE_S = 20


class Device:
    """A sound device that opens when it is let, and hears half a second late."""

    def __init__(self) -> None:
        self.let = threading.Event()
        self.closed = threading.Event()
        self.played: list[tuple[float, float | None]] = []
        self.sounded: list[int] = []
        self.stopped = 0

    def play(self, tempo: float, _: Pattern, start: float | None = None) -> Moments:
        self.played.append((tempo, start))
        return lambda beats: 1000.5 + float(beats)

    def stop(self) -> None:
        self.stopped += 1

    def sound(self, samples: Samples) -> bool:
        self.sounded.append(len(samples))
        return True

    @contextmanager
    def open(self, wanted: Way, *_: object, **__: object) -> Iterator[tuple[Metronome, Choice]]:
        assert self.let.wait(PATIENCE_S)
        yield self, Choice(wanted, "opened")
        self.closed.set()


class Loop:
    """What a program runs on its own thread."""

    def __init__(self) -> None:
        self.todo: SimpleQueue[Callable[[], None]] = SimpleQueue()
        self.told: list[Choice] = []

    def player(self, opening: object) -> Player:
        return Player(self.todo.put, self.told.append, lambda: 1000.0, opening)  # type: ignore[arg-type]  # a fake

    def run_one(self) -> None:
        self.todo.get(timeout=PATIENCE_S)()


def test_a_beat_begins_before_the_device_is_open_and_is_joined_by_it() -> None:
    loop, device = Loop(), Device()
    player = loop.player(device.open)
    player.open(Way.SOUND, bell=True, late_s=0.5)
    moments = player.play(120, Pattern())
    assert [moments(Fraction(beats)) for beats in (0, 3)] == [1000.0, 1001.5]
    assert player.sound(np.zeros(7, np.float32))
    assert device.played == []
    device.let.set()
    loop.run_one()
    assert device.played == [(120, 1000.0)]
    assert device.sounded == [7]
    assert moments(Fraction(3)) == 1003.5
    assert loop.told == [Choice(Way.SOUND, "opened")]
    player.stop()
    assert device.stopped == 1
    player.close()
    assert device.closed.wait(PATIENCE_S)


def test_once_it_is_open_the_beat_is_the_devices_own() -> None:
    loop, device = Loop(), Device()
    device.let.set()
    player = loop.player(device.open)
    player.open(Way.SOUND, bell=True, late_s=0.0)
    player.open(Way.SOUND, bell=True, late_s=0.0)
    loop.run_one()
    assert player.play(60, Pattern())(Fraction(2)) == 1002.5
    assert device.played == [(60, None)]
    player.close()
    player.wait(PATIENCE_S)
    assert device.closed.is_set()
    assert loop.todo.empty()


@pytest.mark.parametrize(("bell", "way"), [(True, Way.BELL), (False, Way.NONE)])
def test_a_driver_that_fails_takes_nothing_along(bell: bool, way: Way) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OSError("no such card")

    loop = Loop()
    player = loop.player(fail)
    player.open(Way.SOUND, bell=bell, late_s=0.0)
    loop.run_one()
    assert loop.told == [Choice(way, "no such card", "no such card")]
    assert player.play(60, Pattern())(Fraction(2)) == 1002.0
    assert not player.sound(np.zeros(7, np.float32))
    player.stop()


def test_a_device_that_never_opens_keeps_nobody() -> None:
    loop, device = Loop(), Device()
    player = loop.player(device.open)
    player.open(Way.SOUND, bell=True, late_s=0.0)
    player.play(60, Pattern())
    player.stop()
    player.close()
    player.wait(0.01)
    assert not device.closed.is_set()
    device.let.set()
    loop.run_one()
    assert loop.told == []  # nobody is there any more
    assert device.closed.wait(PATIENCE_S)
