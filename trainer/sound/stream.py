"""The sample stream: rendered ahead by one thread, handed out by another, and never waiting.

Blocks are kept by the frame they begin at. What was not rendered in time is silence, and the count goes on: a beat that
has been late once is right again with the next click. Of the two threads only the one that renders runs our arithmetic;
the one that hands out copies, counts, and notes the moment.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Generator, Sequence
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from trainer.sound.clicks import Samples
from trainer.sound.clock import WINDOW, Clock, Point, fit

Render: TypeAlias = Callable[[int, int], Samples]
"""From a first frame and a count to that many frames."""

BLOCK = 4_096
"""Frames rendered at a time: 85 ms at 48,000 a second."""
AHEAD_S = 1.0
"""So much is rendered ahead of what is handed out, a bar of four at 240 beats a minute: what a machine may stall."""


class Stream:
    """One stream of samples, one channel."""

    def __init__(self, render: Render, rate: int, now: Callable[[], float]) -> None:
        """Play what `render` returns at `rate` frames a second; `now` is the clock that times changes."""
        self.rate = rate
        self._now = now
        self._lock = threading.Lock()
        self._renders: tuple[tuple[int, Render], ...] = ((0, render),)
        self._blocks: dict[int, Samples] = {}
        self._handed = 0
        self._missed = 0
        self._points: deque[Point] = deque(maxlen=WINDOW)

    @property
    def handed(self) -> int:
        """How many frames have been handed out."""
        return self._handed

    @property
    def missed(self) -> int:
        """How many of them were silence because nothing had been rendered in time."""
        return self._missed

    @property
    def clock(self) -> Clock | None:
        """Which moment a frame is handed out at; None before the first has been asked for."""
        points = tuple(self._points)
        return fit(points, self.rate) if points else None

    def fill(self) -> bool:
        """Render one block ahead; False where enough is there already. Called by one thread only."""
        with self._lock:
            first = self._handed // BLOCK * BLOCK
            wanted = range(first, first + int(AHEAD_S * self.rate) + BLOCK, BLOCK)
            missing = next((start for start in wanted if start not in self._blocks), None)
            renders = self._renders
        if missing is None:
            return False
        block = _rendered(renders, missing)
        with self._lock:
            # What has been replaced meanwhile is not wanted any more.
            if renders is self._renders:
                self._blocks[missing] = block
            for start in [start for start in self._blocks if start + BLOCK <= self._handed]:
                del self._blocks[start]
        return True

    def replace(self, render: Render, begin: int) -> int:
        """Play something else from frame `begin` on, or from the next one handed out where that has gone by.

        Return the frame from which it plays. What has been rendered before stays.
        """
        begin = max(begin, self._handed)
        start = begin // BLOCK * BLOCK
        # What had begun before the first block that is kept, and was followed there, is never asked again.
        since = max(first for first, _ in self._renders if first <= start)
        renders = (*((first, old) for first, old in self._renders if since <= first < begin), (begin, render))
        # Rendered before the old one goes, for it may be the very block that is being handed out.
        block = _rendered(renders, start)
        with self._lock:
            self._renders = renders
            self._blocks = {first: old for first, old in self._blocks.items() if first < start} | {start: block}
        return begin

    def frames(self) -> Generator[Samples, int, None]:
        """Hand out as many frames as are sent in, each time; started and ready for a sound device."""
        generator = self._hand_out()
        next(generator)
        return generator

    def _hand_out(self) -> Generator[Samples, int, None]:
        out = np.zeros(0, np.float32)
        while True:
            count = yield out
            self._points.append((self._handed, self._now()))
            out = np.zeros(count, np.float32)
            with self._lock:
                blocks = self._blocks
                place = 0
                while place < count:
                    first, offset = divmod(self._handed + place, BLOCK)
                    length = min(BLOCK - offset, count - place)
                    block = blocks.get(first * BLOCK)
                    if block is None:
                        self._missed += length
                    else:
                        out[place : place + length] = block[offset : offset + length]
                    place += length
                self._handed += count


def _rendered(renders: Sequence[tuple[int, Render]], start: int) -> Samples:
    """Return the block that begins at `start`, each of its frames by the last of `renders` that has begun by then."""
    edges = [*(max(first, start) for first, _ in renders), start + BLOCK]
    pieces = [
        render(first, min(end, start + BLOCK) - first)
        for (_, render), (first, end) in zip(renders, pairwise(edges), strict=True)
        if first < min(end, start + BLOCK)
    ]
    return np.concatenate(pieces)


class Filler:
    """The thread that renders ahead for as long as it is entered."""

    def __init__(self, stream: Stream) -> None:
        """Render ahead for `stream`."""
        self._stream = stream
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name="sound", daemon=True)

    def __enter__(self) -> Filler:
        """Render enough to begin with, then go on by itself."""
        while self._stream.fill():
            pass
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop and wait until the thread has ended."""
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        # A twentieth of what is ahead: cheap, and never near the edge.
        while not self._over.wait(AHEAD_S / 20):
            while self._stream.fill() and not self._over.is_set():
                pass
