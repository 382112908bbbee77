"""One sitting of setting guitars up: which ports there are, which is being set up, and how far each is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from trainer.errors import ChangeoverError
from trainer.files.guitars import Guitar
from trainer.listen import wire
from trainer.listen.arrival import Arrival, Found, Lost, Report
from trainer.listen.names import THROUGH
from trainer.listen.setup import flow
from trainer.listen.setup.flow import Setup
from trainer.listen.setup.plucks import FLOOR


class Sitting:
    """Takes what ports report and what the player asks for; a guitar is kept as soon as anything of it is known."""

    def __init__(
        self,
        known: Callable[[str], Guitar],
        keep: Callable[[str, Guitar], None],
        today: Callable[[], date],
        setups: dict[str, Setup],
    ) -> None:
        """`known` and `keep` read and write a guitar by its port; `setups` holds each port's steps between sittings."""
        self._known, self._keep, self._today = known, keep, today
        self._setups = setups
        self._wires: dict[str, wire.Wire] = {}
        self.ports: tuple[str, ...] = ()
        """The ports that are there, in the order in which they were found."""
        self.chosen: str | None = None
        """The port that is being set up; None while one is to be chosen."""
        self.line = 0
        """Which port is highlighted while one is to be chosen."""
        self.trouble = ""
        """What is wrong with the ports, or with keeping what was learned; empty where nothing is."""

    @property
    def setup(self) -> Setup | None:
        """How far the chosen guitar is; None while none is chosen."""
        return None if self.chosen is None else self._setups[self.chosen]

    def guitar(self, port: str) -> Guitar:
        """Return what is known of the guitar on a port."""
        return self._known(port)

    def take(self, report: Report) -> None:
        """Take what a port reports."""
        match report:
            case Arrival():
                for message in self._wires.setdefault(report.port, wire.Wire()).feed(report.data):
                    self._message(report.port, report.at, message)
            case Found():
                self._found(report.port)
            case Lost():
                self._lost(report.port)
            case _:
                self.trouble = f"{report.port}: {report.what}" if report.port else report.what

    def choose(self) -> None:
        """Set up the port that is highlighted."""
        if self.line < len(self.ports):
            self._choose(self.ports[self.line])

    def leave_port(self) -> None:
        """Have another port chosen."""
        if self.chosen in self.ports:
            self.line = self.ports.index(self.chosen)
        self.chosen = None

    def move_line(self, by: int) -> None:
        """Highlight another port."""
        self.line = (self.line + by) % max(len(self.ports), 1)

    def change(self, step: Callable[[Setup], Setup]) -> None:
        """Take the chosen guitar a step on, and keep what that brought."""
        setup = self.setup
        if setup is not None and self.chosen is not None:
            self._setups[self.chosen] = after = step(setup)
            self._keep_news(self.chosen, after)

    def tick(self, now: float) -> None:
        """Let time pass."""
        self.change(lambda setup: flow.tick(setup, now))

    def _message(self, port: str, at: float, message: wire.Message) -> None:
        if self.chosen is None and message.status == wire.NOTE_ON and message.second >= FLOOR:
            # The port that is plucked is the one that is meant; the note itself counts for no step.
            self._choose(port)
        elif port == self.chosen:
            self.change(lambda setup: flow.hear(setup, at, message))

    def _found(self, port: str) -> None:
        self.trouble = ""
        self._wires[port] = wire.Wire()
        if port not in self.ports:
            self.ports = (*self.ports, port)
        if port == self.chosen:
            self.change(flow.found)
        real = [one for one in self.ports if not one.startswith(THROUGH)]
        if self.chosen is None and real == [port]:
            self.line = self.ports.index(port)

    def _lost(self, port: str) -> None:
        self.ports = tuple(one for one in self.ports if one != port)
        self.line = min(self.line, max(len(self.ports) - 1, 0))
        if port == self.chosen:
            self.change(flow.lost)

    def _choose(self, port: str) -> None:
        known = self._known(port)
        before = self._setups.get(port)
        if before is None or before.wiring != known.wiring:
            before = flow.begin(known.wiring, known.spread_ms, measured=known.measured is not None)
        # Whatever was going on when it was left, it is there now.
        self._setups[port] = flow.move(replace(before, away=False), 0)
        self.chosen = port

    def _keep_news(self, port: str, setup: Setup) -> None:
        """Keep the guitar where anything of it is other than what is known."""
        known = self._known(port)
        guitar = replace(known, wiring=setup.wiring)
        if _latency(guitar) != _latency(known):
            day = self._today() if setup.measured else None
            guitar = replace(guitar, spread_ms=setup.margin_ms, measured=day)
        if guitar == known:
            return
        try:
            self._keep(port, guitar)
            self.trouble = ""
        except ChangeoverError as error:
            self.trouble = str(error.problems[0])


def _latency(guitar: Guitar) -> tuple[object, float]:
    """Return everything that is taken off what the guitar sends."""
    return guitar.wiring.latency_ms, guitar.wiring.latency_all_ms
