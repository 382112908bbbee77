"""Ports that a test plays by hand, in place of a listener's."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from tests.listen.setup.hands import Sent
from trainer.listen import wire
from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.ui.services import Services

Deliver = Callable[[tuple[Report, ...]], None]


class HandPorts:
    """Stands for a listener: what the test says is what it delivers."""

    def __init__(self, given: Services) -> None:
        self._deliver: Deliver | None = None
        self._clock = given.clock
        self.closed = False
        given.listen = self._listen

    def _listen(self, wanted: Collection[str] | None, deliver: Deliver, clock: Callable[[], float]) -> HandPorts:
        self._deliver = deliver
        self.closed = False
        return self

    def start(self) -> None:
        """Nothing to begin."""

    def close(self) -> None:
        self.closed = True

    def report(self, *reports: Report) -> None:
        assert self._deliver is not None
        self._deliver(reports)

    def found(self, port: str) -> None:
        self.report(Found(port, self._clock(), port))

    def lost(self, port: str) -> None:
        self.report(Lost(port, self._clock()))

    def trouble(self, what: str) -> None:
        self.report(Trouble("", self._clock(), what))

    def play(self, port: str, sent: Iterable[Sent]) -> None:
        """Deliver messages that all came in by now: their moments are counted back from now."""
        messages = list(sent)
        begin = self._clock() - messages[-1][0]
        self.play_at(port, ((begin + moment, message) for moment, message in messages))

    def play_at(self, port: str, sent: Iterable[Sent]) -> None:
        """Deliver messages that came in at these moments of the clock."""
        self.report(*(Arrival(port, moment, _bytes(message)) for moment, message in sent))


def _bytes(message: wire.Message) -> bytes:
    return bytes((message.status | message.channel - 1, message.first, message.second))
