"""The click for real: through a JACK server without hardware, recorded on the other side and counted in frames."""

from __future__ import annotations

import ctypes
import threading
import time
from collections.abc import Generator
from contextlib import contextmanager

import numpy as np
import pytest

from tests.system import require
from trainer.sound import device
from trainer.sound.beat import train
from trainer.sound.clicks import render
from trainer.sound.stream import Stream

miniaudio = pytest.importorskip("miniaudio", reason="the extra `sound` is not installed")

SECONDS = 4.0
TEMPO = 140.0


def _library() -> ctypes.CDLL:
    lib = ctypes.CDLL("libjack.so.0")
    lib.jack_client_open.restype = ctypes.c_void_p
    lib.jack_client_open.argtypes = [ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p]
    lib.jack_client_close.argtypes = [ctypes.c_void_p]
    lib.jack_get_ports.restype = ctypes.POINTER(ctypes.c_char_p)
    lib.jack_get_ports.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_char_p, ctypes.c_ulong]
    lib.jack_connect.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_char_p]
    return lib


def _ports(lib: ctypes.CDLL, client: int, flags: int) -> list[bytes]:
    found = lib.jack_get_ports(client, None, b"audio", flags)
    names: list[bytes] = []
    while found and found[len(names)]:
        names.append(found[len(names)])
    return [name for name in names if not name.startswith(b"system:")]


def connect_all() -> int:
    """Connect every program's audio output with every program's audio input; return how many connections there are."""
    lib = _library()
    client = lib.jack_client_open(b"joiner", 1, None)  # 1: start no server of its own
    try:
        pairs = [(out, into) for out in _ports(lib, client, 2) for into in _ports(lib, client, 1)]
        for out, into in pairs:
            lib.jack_connect(client, out, into)
        return len(pairs)
    finally:
        lib.jack_client_close(client)


@contextmanager
def recording() -> Generator[list[bytes], None, None]:
    got: list[bytes] = []

    def take() -> Generator[None, bytes, None]:
        while True:
            data = yield
            got.append(bytes(data))

    capture = miniaudio.CaptureDevice(
        input_format=miniaudio.SampleFormat.FLOAT32,
        nchannels=2,
        sample_rate=device.RATE,
        buffersize_msec=device.BUFFER_MS,
        backends=[miniaudio.Backend.JACK],
    )
    taker = take()
    next(taker)
    capture.start(taker)
    try:
        yield got
    finally:
        capture.close()


@pytest.mark.usefixtures("jack")
def test_what_comes_out_of_jack_is_the_click_to_the_frame() -> None:
    require("jackd", "jackd2")
    beat = train(TEMPO, device.RATE, start=device.RATE // 2)
    stream = Stream(lambda first, count: render(beat, first, count), device.RATE, time.monotonic)
    with recording() as got, device.playing(stream, "JACK") as opened:
        assert opened.backend == "JACK"
        assert connect_all() > 0
        deadline = time.monotonic() + 30
        while stream.handed < SECONDS * device.RATE and time.monotonic() < deadline:
            threading.Event().wait(0.02)
        clock = stream.clock
    heard = np.frombuffer(b"".join(got), np.float32)[::2]
    sounding = np.flatnonzero(heard)
    # The first of all, and each that comes after more silence than a click has in it.
    onsets = sounding[np.diff(sounding, prepend=-device.RATE) > device.RATE // 20]
    assert len(onsets) >= SECONDS * TEMPO / 60 - 4
    steps = np.diff(onsets)
    wanted = 60 * device.RATE / TEMPO
    # A busy machine without real-time scheduling may have JACK drop a period; what it plays is in its place.
    assert np.mean(np.abs(steps - wanted) <= 1) >= 0.7
    assert clock is not None
    assert clock.rate == pytest.approx(device.RATE, rel=0.002)
