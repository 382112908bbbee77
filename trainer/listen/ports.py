"""MIDI ports: what there is, and a thread that listens to them."""

from __future__ import annotations

import atexit
import time
from collections.abc import Callable, Collection
from threading import Event, Thread

from trainer.errors import Problem
from trainer.listen.arrival import Found, Lost, Report, Trouble
from trainer.listen.driver import Driver
from trainer.listen.names import Port, ports
from trainer.listen.open_port import OpenPort

PAUSE_S = 0.001
"""Between two visits to the queues. It delays the news, not the stamps."""
RESCAN_S = 0.25
"""Between two looks at which ports there are."""
_CLOSE_S = 2.0
"""How long `close` waits for a driver that hangs; the thread is a daemon and does not keep the process."""


def port_names() -> tuple[Port, ...]:
    """Return the ports that something can be heard from; none where MIDI cannot be had."""
    driver = Driver.open()
    if isinstance(driver, Problem):
        return ()
    try:
        return tuple(port for port in ports(driver.names(), driver.api) if not port.own)
    finally:
        driver.close()


def missing() -> Problem | None:
    """Return why no MIDI can be had here, None where it can."""
    driver = Driver.open()
    if isinstance(driver, Problem):
        return driver
    driver.close()
    return None


class Listener:
    """A thread that listens to ports and delivers what comes in.

    Ports that are not there yet, or are lost, are heard as soon as they are there. A port lost is noticed within
    `RESCAN_S`, one found again likewise; its key stays.
    """

    def __init__(
        self,
        wanted: Collection[str] | None,
        deliver: Callable[[tuple[Report, ...]], None],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """Get ready to hear the ports with the keys `wanted`, or all there are where it is None.

        `deliver` is called in the listener's thread with what came in, in order of time; it must not wait.
        """
        self._wanted = None if wanted is None else frozenset(wanted)
        self._deliver = deliver
        self._clock = clock
        self._open_ports: dict[str, OpenPort] = {}
        self._troubled: dict[str, str] = {}
        self._ended = Event()
        self._thread = Thread(target=self._run, name="MIDI ports", daemon=True)

    def start(self) -> None:
        """Begin to listen; what nobody closes is closed when the program ends."""
        atexit.register(self.close)
        self._thread.start()

    def close(self) -> None:
        """Stop listening and close the ports; safe to call twice, and before `start`."""
        self._ended.set()
        atexit.unregister(self.close)
        if self._thread.is_alive():
            self._thread.join(_CLOSE_S)

    def _run(self) -> None:
        driver: Driver | Problem | None = None
        due = self._clock()
        try:
            while not self._ended.is_set():
                reports = self._drain()
                now = self._clock()
                if now >= due:
                    if not isinstance(driver, Driver):
                        driver = Driver.open()
                    if isinstance(driver, Driver) and not driver.alive:
                        reports += self._lose(tuple(self._open_ports), now)
                        driver.close()
                        driver = None
                    reports += self._look(driver, now)
                    due = self._clock() + RESCAN_S
                if reports:
                    self._deliver(tuple(reports))
                time.sleep(PAUSE_S)
        finally:
            for port in self._open_ports.values():
                port.close()
            if isinstance(driver, Driver):
                driver.close()

    def _drain(self) -> list[Report]:
        found: list[Report] = []
        for port in self._open_ports.values():
            found += port.drain()
        if len(self._open_ports) > 1:
            found.sort(key=lambda report: report.at)
        return found

    def _look(self, driver: Driver | Problem | None, now: float) -> list[Report]:
        """Lose the ports that are gone and find those that are there."""
        if isinstance(driver, Problem):
            return self._trouble("", str(driver), now)
        if driver is None:
            return []
        self._troubled.pop("", None)
        names = driver.names()
        gone = [key for key, each in self._open_ports.items() if each.name not in names or not each.connected]
        found = self._lose(gone, now)
        held = {each.name: key for key, each in self._open_ports.items()}
        for place, port in enumerate(ports(names, driver.api, held)):
            wanted = not port.own and (self._wanted is None or port.key in self._wanted)
            if port.key not in self._open_ports and wanted:
                found += self._open(driver, place, port)
        return found

    def _open(self, driver: Driver, place: int, port: Port) -> list[Report]:
        try:
            opened = driver.listen(place, port.name)
        except OSError as error:
            return self._trouble(port.key, f"cannot be opened: {error}", self._clock())
        if opened is None:
            return []
        self._troubled.pop(port.key, None)
        self._open_ports[port.key] = OpenPort(port, opened, self._clock)
        return [Found(port.key, self._clock(), port.name)]

    def _lose(self, keys: Collection[str], now: float) -> list[Report]:
        found: list[Report] = []
        for key in keys:
            port = self._open_ports.pop(key)
            found += port.drain()
            found.append(Lost(key, max(now, port.heard)))
            port.close()
        return found

    def _trouble(self, key: str, what: str, now: float) -> list[Report]:
        """Report trouble that goes on, once."""
        if self._troubled.get(key) == what:
            return []
        self._troubled[key] = what
        return [Trouble(key, now, what)]
