"""The sound device, through miniaudio, which is the extra `sound` and imported when a device is opened."""

from __future__ import annotations

import importlib
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from trainer.errors import ChangeoverError, wrong
from trainer.hush import hush
from trainer.sound.clicks import Samples
from trainer.sound.stream import Filler, Stream

Stereo: TypeAlias = NDArray[np.float32]
"""Samples of shape (frames, 2)."""

RATE = 48_000
"""Frames a second asked for; what the device makes of it is its own affair, the clock is fitted to what it takes."""
BUFFER_MS = 20
"""Length of a buffer asked for: short enough to follow a tempo change, long enough for Python to be asked in time."""
_CHANNELS = 2
"""Left and right, the same in both: JACK takes no other number than its ports have."""
_INSTALL = "pip install 'changeover[sound]'"


@dataclass(frozen=True, slots=True)
class Device:
    """An open sound device."""

    backend: str
    """What it goes through, as the system calls it: ALSA, JACK, WASAPI."""


@contextmanager
def playing(stream: Stream, backend: str | None = None) -> Iterator[Device]:
    """Play a stream for as long as the context is entered, through the named backend or the system's own choice.

    Raises ChangeoverError where miniaudio is not installed or there is no sound device.
    """
    audio = _miniaudio()
    hush(ahead=True)
    device = _opened(audio, stream.rate, backend)
    try:
        with Filler(stream):
            device.start(_both(stream.frames()))
            yield Device(device.backend)
            device.stop()
    finally:
        device.close()


def _opened(audio: Any, rate: int, backend: str | None) -> Any:
    """Return the device behind a backend. Raises ChangeoverError where there is none."""
    # Left to itself miniaudio takes the first library that is there, ALSA's, though only JACK may have a device.
    for one in (None, "JACK") if backend is None else (backend,):
        try:
            device = audio.PlaybackDevice(
                output_format=audio.SampleFormat.FLOAT32,
                nchannels=_CHANNELS,
                sample_rate=rate,
                buffersize_msec=BUFFER_MS,
                backends=None if one is None else [audio.Backend[one]],
                app_name="changeover",
            )
        except (audio.MiniaudioError, KeyError):
            continue
        # … or, last of all, one that plays to nobody.
        if backend is not None or device.backend != "Null":
            return device
        device.close()
    raise _no_device(backend)


def _both(frames: Generator[Samples, int, None]) -> Generator[Stereo, int, None]:
    """Hand out the same samples for both ears; started, as a sound device wants it."""

    def hand_out() -> Generator[Stereo, int, None]:
        out = np.zeros((0, _CHANNELS), np.float32)
        while True:
            count = yield out
            out = np.repeat(frames.send(count), _CHANNELS).reshape(-1, _CHANNELS)

    generator = hand_out()
    next(generator)
    return generator


def missing() -> str | None:
    """Return why there can be no sound, in one line; None where miniaudio is installed."""
    try:
        _miniaudio()
    except ChangeoverError as error:
        return str(error)
    return None


def _miniaudio() -> Any:
    try:
        return importlib.import_module("miniaudio")
    except ImportError as error:
        # In the words themselves: most who meet this ask for sound among other things, and pass on only what is wrong.
        raise wrong(f"no sound without miniaudio ({_INSTALL})") from error


def _no_device(backend: str | None) -> ChangeoverError:
    what = "there is no sound device" if backend is None else f"there is no sound device behind {backend}"
    return wrong(what, hint="the beat is on the screen, and on the terminal's bell where that is set")
