"""One MIDI port that is listened to: its queue emptied, its messages stamped, what is of no use left out."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeAlias

from trainer.listen.arrival import Arrival, Report, Trouble
from trainer.listen.driver import QUEUE, Input
from trainer.listen.names import Port
from trainer.listen.stamps import Stamps
from trainer.listen.wire import RESET

_QUIET_S = 10.0
"""A gap in the driver's stamps is told once in this time: a driver that has them all the time tells nothing new."""
_SYSEX = 0xF0
_CHANNEL_STATUS = re.compile(rb"[\x80-\xef]")
_Taken: TypeAlias = list[tuple[bytes, float]]
"""Messages, each with the seconds since the one before it."""


class OpenPort:
    """One port that is listened to."""

    def __init__(self, port: Port, source: Input, clock: Callable[[], float]) -> None:
        """Take the messages of `port` from `source`, which listens to it; `clock` is monotonic."""
        self.name = port.name
        """What the system calls it."""
        self.heard = clock()
        """When anything was drained last."""
        self._key = port.key
        self._source = source
        self._clock = clock
        self._stamps = Stamps()
        self._empty = self.heard
        self._told = float("-inf")

    @property
    def connected(self) -> bool:
        """Tell whether anybody can still be heard on it."""
        return self._source.connected

    def close(self) -> None:
        """Stop listening."""
        self._source.close()

    def drain(self) -> list[Report]:
        """Take what waits and return it with its stamps."""
        taken: _Taken = []
        drained = self._clock()
        while len(taken) < QUEUE:
            message = self._source.next()
            if message is None:
                break
            taken.append((bytes(message[0]), message[1]))
            drained = self._clock()
        empty, self._empty = self._empty, drained
        if not taken:
            return []
        self.heard = drained
        found = self._stamped(taken, empty, drained)
        if len(taken) >= QUEUE - 1:
            # Of a full queue the next messages are dropped, and their part of the time with them.
            self._stamps.restart()
            found.append(Trouble(self._key, drained, f"{len(taken)} messages at once, more may be lost"))
        return found

    def _stamped(self, taken: _Taken, empty: float, drained: float) -> list[Report]:
        """Stamp messages; after each system exclusive one the driver's clock cannot be relied upon."""
        found: list[Report] = []
        run: _Taken = []
        for data, delta in taken:
            run.append((data, delta))
            if data[:1] == bytes([_SYSEX]):
                found += self._run_stamped(run, empty, drained)
                run = []
                self._stamps.restart()
        return found + self._run_stamped(run, empty, drained)

    def _run_stamped(self, run: _Taken, empty: float, drained: float) -> list[Report]:
        stamped = self._stamps.take(empty, drained, [delta for _, delta in run])
        found: list[Report] = [
            Arrival(self._key, at, kept)
            for at, (data, _) in zip(stamped.times, run, strict=True)
            if (kept := _of_use(data))
        ]
        if stamped.lost_s and drained - self._told > _QUIET_S:
            self._told = drained
            what = f"the driver's clock fell back by {stamped.lost_s:.1f} s; times go on from here"
            found.append(Trouble(self._key, drained, what))
        return found


def _of_use(data: bytes) -> bytes:
    """Return a message from its first channel status on, or a reset; nothing where it holds neither.

    System exclusive messages are of no use, but a JACK driver that was never told the end of one goes on adding what
    follows to it: that comes late, and is not to be lost.
    """
    if data[:1] == bytes([RESET]):
        return data
    status = _CHANNEL_STATUS.search(data)
    return data[status.start() :] if status else b""
