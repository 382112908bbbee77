"""Sixteen guitars in a room, each on a port of its own: is every landing graded, how soon, and does memory stay flat?

Run `python tests/bench/bench_seats.py [MINUTES]` from the top of the repository; it needs jackd (JACK 2) and takes ten
minutes unless told otherwise. The whole app runs, without a terminal: the room view at 200x60, its beat, a class of
sixteen seats. Every guitar strums a six-note shape each second, the strings 3 ms apart, each hand up to 25 ms before or
after the beat; in one minute more all of them strum in the same millisecond, which no class does. A round has sixty
changes and is marked by what was heard. From note to grade is from right before another process sends the
last note of a strum to the moment at which its landing has come out of the seat's ear; it holds JACK's period (1.33
ms), the listener's millisecond and whatever else the machine does. Times are of one run on one machine.
"""

from __future__ import annotations

import asyncio
import gc
import os
import random
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeAlias

from textual.pilot import Pilot

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.listen.building import E, G, frets, step
from tests.listen.jack import ScriptedGuitar, environment, running_jack
from tests.ui.app_fakes import app, services, until
from tests.ui.room.scenes import Chair
from trainer.files import paths
from trainer.files.guitars import Guitar
from trainer.listen.ear import Ear, Heard
from trainer.log.writer import Log
from trainer.practice.course import Course
from trainer.practice.drill import Drill
from trainer.practice.room import Phase, Room, Scope
from trainer.practice.rounds import Aim, Round
from trainer.practice.wiring import Wiring, in_order
from trainer.ui.room import round_heard
from trainer.ui.room.desk import Group
from trainer.ui.screens.room import RoomScreen
from trainer.ui.services import Services

SEATS, LAPS = 16, 15
AIM_P99_S = 0.005
SHAPES = (E, G, "1/1 3/3 3/4 2/2 1/1 1/1", "5/1 7/3 7/4 6/2 5/1 5/1")
APART_S, LET_GO_S, SCATTER_S = 0.003, 0.06, 0.025
AHEAD_S = 4.0
"""How long before its first strum a script is handed over: it is large, and the beat does not wait."""
Script: TypeAlias = list[tuple[float, int, bytes]]
"""Seconds from its start, port and message, in order of time."""
DRILL = Drill("sixteen", tuple(step(shape, beats=Fraction(1)) for shape in SHAPES), meter=(1, 4), tempo=60.0)
CHANGES = LAPS * len(SHAPES)


class Long(Room):
    """A room whose round goes through the drill several times."""

    @property
    def course(self) -> Course:
        return Course(self.part.pairs, LAPS, tuple(one.beats for one in self.drill.steps), self.drill.meter[0])


GRADED: defaultdict[int, list[float]] = defaultdict(list)
"""By which wiring was heard: the moment of each landing's grade."""
WORK: Counter[int] = Counter()
"""How many messages took an ear so many hundredths of a millisecond."""


class Timed(Ear):
    """An ear that says when each landing came out of it."""

    def __init__(self, drill: Drill, wiring: Wiring, **given: Any) -> None:
        super().__init__(drill, wiring, **given)
        self._whose = id(wiring)

    def hear(self, at: float, data: bytes) -> Heard:
        began = time.perf_counter()
        heard = super().hear(at, data)
        WORK[round(1e5 * (time.perf_counter() - began))] += 1
        if any(change.landed and not change.done for change in heard.changes):
            GRADED[self._whose].append(time.monotonic())
        return heard


def script(draw: random.Random, scatter_s: float) -> tuple[Script, list[list[int]]]:
    """Return what all guitars send, and for each of them which message is the last note of each landing."""
    found = []
    for number in range(CHANGES + 1):
        pitches = frets(SHAPES[number % len(SHAPES)])
        for port in range(SEATS):
            at = number + draw.uniform(-scatter_s, scatter_s)
            for place, string in enumerate((6, 5, 4, 3, 2, 1)):
                found.append((at + APART_S * place, port, bytes((0x90 + string - 1, pitches[string], 90))))
                found.append((number + 1 - LET_GO_S, port, bytes((0x80 + string - 1, pitches[string], 0))))
    found.sort(key=lambda one: one[0])
    last: list[list[int]] = [[] for _ in range(SEATS)]
    for place, (_, port, data) in enumerate(found):
        if data[0] == 0x90:
            last[port].append(place)
    return found, [places[1:] for places in last]


def resident_kib() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") // 1024


def share(values: Sequence[float], part: float) -> float:
    return sorted(values)[min(len(values) - 1, int(part * len(values)))]


class Class:
    """Sixteen seats in the running app, and what came of their rounds."""

    def __init__(self, given: Services, pilot: Pilot[None], guitars: ScriptedGuitar, names: Sequence[str]) -> None:
        screen = pilot.app.screen
        assert isinstance(screen, RoomScreen)
        self.given, self.pilot, self.guitars, self.names, self.screen = given, pilot, guitars, names, screen
        self.screen.desk.room = Long(DRILL, Scope.WHOLE)

    async def play(self, messages: Script, last: Sequence[Sequence[int]]) -> tuple[list[float], Round]:
        """Play a round; return each landing's time from note to grade, and the round as it was marked."""
        desk, clock = self.screen.desk, self.given.clock
        first = clock() + AHEAD_S
        await asyncio.to_thread(self.guitars.start, messages, first)
        await asyncio.sleep(first - 1.0 - clock())
        desk.again()
        while desk.room.phase is not Phase.OVER:
            await asyncio.sleep(0.25)
        sent = await asyncio.to_thread(self.guitars.wait)
        self.guitars.sent.clear()
        waits = []
        for name, places in zip(self.names, last, strict=True):
            grades = GRADED.pop(id(self.given.guitars[name].wiring), [])
            waits += [grade - sent[place] for place, grade in zip(places, grades, strict=False)]
        await until(self.pilot, lambda: self.pilot.app.screen is not self.screen)
        await self.pilot.press("enter")
        await until(self.pilot, lambda: self.pilot.app.screen is self.screen)
        assert desk.last is not None
        desk.aim = Aim(DRILL.tempo)
        return waits, desk.last

    async def tell(self, minutes: int, scatter_s: float) -> None:
        """Play so many rounds and tell what came of them."""
        # One script for all minutes, so that what is made of them is not taken for what the app takes.
        messages, last = script(random.Random(16), scatter_s)
        waits: list[float] = []
        memory: list[int] = []
        busy, start = time.process_time(), time.monotonic()
        print(
            f"\nhands up to {1e3 * scatter_s:.0f} ms off the beat;"
            " minute, seats heard, had it, landings so far, KiB, live objects"
        )
        for minute in range(1, minutes + 1):
            more, done = await self.play(messages, last)
            waits += more
            gc.collect()
            memory.append(resident_kib())
            heard = sum(one.heard is not None for one in done.results)
            print(
                f"  {minute:3} {heard:4} {done.had:4} {len(waits):6} {memory[-1]:8} {len(gc.get_objects()):7}",
                flush=True,
            )
        used = (time.process_time() - busy) / (time.monotonic() - start)
        print(f"{len(waits)} landings graded of {SEATS * CHANGES * minutes}, {used:.0%} of a core", end=", ")
        print(f"memory {memory[-1] - memory[0]:+} KiB since the first minute")
        told = " ".join(f"{1e3 * share(waits, part):.2f}" for part in (0.5, 0.9, 0.99, 0.999, 1.0))
        print(f"note to grade, ms at 50 / 90 / 99 / 99.9 / 100 %: {told}; aim at 99 %: {1e3 * AIM_P99_S:.0f}")


async def lesson(minutes: int, log: Log) -> None:
    given = services(log, click="none", bell=False)
    names = [f"Bench guitar:strings{f' #{number}' if number > 1 else ''}" for number in range(1, SEATS + 1)]
    for name in names:
        given.guitars[name] = Guitar(Wiring(strings=in_order(1), latency_ms=dict.fromkeys(range(1, 7), 0.0)))
    chairs = tuple(Chair(f"s{number}", number, port=name) for number, name in enumerate(names, start=1))
    group = Group("sixteen", chairs, lambda *_: "")
    with ScriptedGuitar("Bench guitar", ports=SEATS) as guitars:
        async with app(given, "room", drill=DRILL, group=group).run_test(size=(200, 60)) as pilot:
            sixteen = Class(given, pilot, guitars, names)
            await until(pilot, lambda: sixteen.screen.desk.ears.there == (SEATS, SEATS))
            await sixteen.tell(minutes, SCATTER_S)
            await sixteen.tell(1, 0.0)
    taken = sorted(WORK.elements())
    told = " ".join(f"{share(taken, part) / 100:.2f}" for part in (0.5, 0.99, 1.0))
    print(f"\nof it an ear's own work on one of {len(taken)} messages, ms at 50 / 99 / 100 %: {told}")


def main() -> None:
    minutes = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    # The bench listens in where a round makes its ears.
    setattr(round_heard, "Ear", Timed)  # noqa: B010 - a name that the module does not offer to others
    with running_jack() as server, tempfile.TemporaryDirectory() as home:
        os.environ.update(environment(server) | {paths.HOME: home})
        print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores before it begins")
        with Log.open(paths.log_file()) as log:
            asyncio.run(lesson(minutes, log))
        print(f"load average {os.getloadavg()[0]:.1f} at the end")


if __name__ == "__main__":
    main()
