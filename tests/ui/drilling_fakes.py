"""A scheduler whose clock is turned by hand, and a log whose answers are given by hand."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any

from trainer.errors import Problem
from trainer.hand.reach import Hand
from trainer.practice.clock import Reading
from trainer.practice.course import Course, whole
from trainer.practice.drill import Drill
from trainer.practice.events import Press
from trainer.practice.measures import Measures
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.practice.record import Attempt, Run
from trainer.practice.state import Session
from trainer.sound.beat import Moments, Pattern
from trainer.sound.clicks import Samples
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.logbook import Logbook
from trainer.ui.drilling.memory import ByHeart
from trainer.ui.drilling.passings import Passings
from trainer.ui.drilling.ports import Click, Ports

DRIFT = 1.002
"""A card that runs this much slower than it says …"""
LATE_S = 0.25
"""… and lets what it plays be heard so much later."""
Receipt = Future[Problem | None]
_IDS = count(1)


class HandClock:
    """Runs what is due when the clock is turned on."""

    def __init__(self, now: float = 100.0) -> None:
        self.now = now
        self.asleep = 0.0
        self._due: list[tuple[float, int, Callable[[], None]]] = []
        self._called_off: set[int] = set()
        self._number = count()

    def at(self, moment: float, then: Callable[[], None]) -> Callable[[], None]:
        number = next(self._number)
        heapq.heappush(self._due, (max(moment, self.now), number, then))
        return lambda: self._called_off.add(number)

    def soon(self, then: Callable[[], None]) -> None:
        self.at(self.now, then)

    def aside(self, work: Callable[[], Any], then: Callable[[Any], None]) -> None:
        self.soon(lambda: then(work()))

    def turn(self, seconds: float) -> None:
        """Let `seconds` pass; everything due in them runs at its moment, in order."""
        end = self.now + seconds
        while self._due and self._due[0][0] <= end:
            moment, number, then = heapq.heappop(self._due)
            self.now = max(self.now, moment)
            if number not in self._called_off:
                then()
        self.now = end

    def stall(self, seconds: float, asleep: float = 0.0) -> None:
        """Let `seconds` pass in which nothing runs; the machine sleeps `asleep` seconds on top."""
        self.now += seconds
        self.asleep += asleep

    def read(self) -> Reading:
        return Reading(self.now, self.now + self.asleep)

    @property
    def waiting(self) -> int:
        """How many things are still to be run."""
        return sum(number not in self._called_off for _, number, _ in self._due)


class Card:
    """A metronome on a sound card: what it plays is heard late, and slower than it should be."""

    def __init__(self, now: Callable[[], float]) -> None:
        self._now = now
        self.played: list[tuple[float, Pattern]] = []
        self.sounded: list[Samples] = []
        self.stopped = 0

    def play(self, tempo: float, pattern: Pattern, start: float | None = None) -> Moments:
        self.played.append((tempo, pattern))
        begin = self._now() + LATE_S if start is None else start
        return lambda beats: begin + float(beats) * 60 / tempo * DRIFT

    def stop(self) -> None:
        self.stopped += 1

    def sound(self, samples: Samples) -> bool:
        self.sounded.append(samples)
        return True


class HandLog:
    """Keeps entries in a list; answers each at once, or when told to."""

    def __init__(self, path: Path, *, prompt: bool = True, problem: Problem | None = None) -> None:
        self.path = path
        self.entries: list[tuple[Any, ...]] = []
        self.prompt = prompt
        self.problem = problem
        self.open: list[Receipt] = []

    def begin(self, run: Run) -> Receipt:
        return self._take("begin", run)

    def add(self, attempt: Attempt) -> Receipt:
        return self._take("add", attempt)

    def mark(self, attempt: str, *, clean: bool | None) -> Receipt:
        return self._take("mark", attempt, clean)

    def measure(self, attempt: str, measures: Measures, clean: bool | None) -> Receipt:
        return self._take("measure", attempt, measures, clean)

    def take_back(self, attempt: str) -> Receipt:
        return self._take("take back", attempt)

    def finish(
        self, run: str, *, asked: int | None = None, landed: int | None = None, remark: str | None = None
    ) -> Receipt:
        return self._take("finish", run, asked, landed, remark)

    def answer(self) -> None:
        """Answer every receipt that is open."""
        waiting, self.open = self.open, []
        for receipt in waiting:
            receipt.set_result(self.problem)

    def kinds(self) -> list[str]:
        return [entry[0] for entry in self.entries]

    def attempts(self) -> list[Attempt]:
        return [entry[1] for entry in self.entries if entry[0] == "add"]

    def _take(self, *entry: Any) -> Receipt:
        self.entries.append(entry)
        receipt: Receipt = Future()
        self.open.append(receipt)
        if self.prompt:
            self.answer()
        return receipt


@dataclass
class Stage:
    """A conductor with everything around it in the test's hands."""

    conductor: Conductor
    clock: HandClock
    log: HandLog
    bells: list[bool] = field(default_factory=list)
    shows: list[Session] = field(default_factory=list)

    def press(self, after: float = 1.0) -> None:
        """Let time pass, then press."""
        self.clock.turn(after)
        self.conductor.send(Press(self.clock.now))
        self.clock.turn(0)


def stage(
    path: Path,
    mode: Mode = Mode.PRESSES,
    *,
    drill: Drill | None = None,
    course: Course | None = None,
    tempo: float | None = None,
    log: HandLog | None = None,
    wait: float = 2.0,
    clock: HandClock | None = None,
    click: Click | None = None,
    by_heart: ByHeart | None = None,
) -> Stage:
    """Return a conductor on a drill of C and F, or on `drill`, before its first change."""
    drill = drill or from_shapes(["C", "F"])
    clock = clock or HandClock()
    log = log or HandLog(path)
    logbook = Logbook(log, drill, Passings(drill, Hand()), lambda: f"id {next(_IDS)}", lambda at: 1_000_000 + at)
    bells: list[bool] = []
    shows: list[Session] = []

    def show() -> None:
        shows.append(conductor.shown)

    ports = Ports(clock, lambda: clock.now, lambda low, high: wait, bells.append, show, clock.read, click)
    conductor = Conductor(course or whole(drill), mode, logbook, ports, tempo, by_heart=by_heart)
    return Stage(conductor, clock, log, bells, shows)
