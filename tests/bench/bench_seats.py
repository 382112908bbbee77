"""Sixteen guitars in a room, each on a port of its own: is every landing graded, how soon, and does memory stay flat?

Run `python tests/bench/bench_seats.py [MINUTES]` from the top of the repository; it needs jackd (JACK 2) and takes ten
minutes unless told otherwise. The whole app runs, without a terminal: the room view at 200x60, its beat, a class of
sixteen seats. Every guitar strums a six-note shape each second, all of them at once, the strings 3 ms apart; a round
has sixty changes and is marked by what was heard. From note to grade is from right before another process sends the
last note of a strum to the moment at which its landing has come out of the seat's ear; it holds JACK's period (1.33
ms), the listener's millisecond and whatever else the machine does. Times are of one run on one machine.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

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
from trainer.practice.rounds import Round
from trainer.practice.wiring import Wiring, in_order
from trainer.ui.room import ears
from trainer.ui.room.desk import Group
from trainer.ui.screens.room import RoomScreen

SEATS, LAPS = 16, 15
AIM_P99_S = 0.005
SHAPES = (E, G, "1/1 3/3 3/4 2/2 1/1 1/1", "5/1 7/3 7/4 6/2 5/1 5/1")
APART_S, LET_GO_S = 0.003, 0.05
AHEAD_S = 4.0
"""How long before its first strum a script is handed over: it is large, and the beat does not wait."""
DRILL = Drill("sixteen", tuple(step(shape, beats=Fraction(1)) for shape in SHAPES), meter=(1, 4), tempo=60.0)
CHANGES = LAPS * len(SHAPES)


class Long(Room):
    """A room whose round goes through the drill several times."""

    @property
    def course(self) -> Course:
        return Course(self.part.pairs, LAPS, tuple(one.beats for one in self.drill.steps), self.drill.meter[0])


class Timed(Ear):
    """An ear that says when each landing came out of it."""

    graded: defaultdict[int, list[float]] = defaultdict(list)
    """By which wiring was heard: the moment of each landing's grade."""
    busy: list[float]
    """Seconds that each message took."""
    busy = []

    def __init__(self, drill: Drill, wiring: Wiring, **given: Any) -> None:
        super().__init__(drill, wiring, **given)
        self._whose = id(wiring)

    def hear(self, at: float, data: bytes) -> Heard:
        began = time.perf_counter()
        heard = super().hear(at, data)
        Timed.busy.append(time.perf_counter() - began)
        if any(change.landed and not change.done for change in heard.changes):
            Timed.graded[self._whose].append(time.monotonic())
        return heard


def script() -> tuple[list[tuple[float, int, bytes]], list[list[int]]]:
    """Return what all guitars send, and for each of them which message is the last note of each landing."""
    found = []
    for number in range(CHANGES + 1):
        pitches = frets(SHAPES[number % len(SHAPES)])
        for place, string in enumerate((6, 5, 4, 3, 2, 1)):
            on = number + APART_S * place
            for port in range(SEATS):
                found.append((on, port, bytes((0x90 + string - 1, pitches[string], 90))))
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


async def lesson(minutes: int, log: Log) -> None:
    given = services(log, click="none", bell=False)
    kept: list[Round] = []

    def keep(_: Drill, done: Round, __: float) -> str:
        kept.append(done)
        return ""

    with ScriptedGuitar("Bench guitar", ports=SEATS) as guitar:
        names = ["Bench guitar:strings", *(f"Bench guitar:strings #{number}" for number in range(2, SEATS + 1))]
        for name in names:
            given.guitars[name] = Guitar(Wiring(strings=in_order(1), latency_ms=dict.fromkeys(range(1, 7), 0.0)))
        chairs = tuple(Chair(f"s{number}", number, port=name) for number, name in enumerate(names, start=1))
        group = Group("sixteen", chairs, keep)
        waits: list[float] = []
        lost, late, memory = 0, [], []
        async with app(given, "room", drill=DRILL, group=group).run_test(size=(200, 60)) as pilot:
            screen = pilot.app.screen
            assert isinstance(screen, RoomScreen)
            desk = screen.desk
            desk.room = Long(DRILL, Scope.WHOLE)
            await until(pilot, lambda: desk.ears.there == (SEATS, SEATS))
            busy, start = time.process_time(), time.monotonic()
            for minute in range(minutes):
                messages, last = script()
                first = given.clock() + AHEAD_S
                await asyncio.to_thread(guitar.start, messages, first)
                await asyncio.sleep(first - 1.0 - given.clock())
                desk.again()
                while desk.room.phase is not Phase.OVER:
                    await asyncio.sleep(0.25)
                sent = await asyncio.to_thread(guitar.wait)
                guitar.sent.clear()
                ports = (Timed.graded[id(given.guitars[name].wiring)] for name in names)
                # Which client JACK numbered how does not matter: all strum at once and are graded alike.
                for places, grades in zip(last, ports, strict=True):
                    lost += len(places) - len(grades)
                    if len(places) == len(grades):
                        waits += [grade - sent[place] for place, grade in zip(places, grades, strict=True)]
                Timed.graded.clear()
                await until(pilot, lambda: pilot.app.screen is not screen)
                await pilot.press("enter")
                await until(pilot, lambda: pilot.app.screen is screen)
                desk.aim = replace(desk.aim, exact=60.0)
                late += [one.heard.late_ms for one in kept[-1].results if one.heard and one.heard.late_ms is not None]
                memory.append(resident_kib())
                heard = sum(one.heard is not None for one in kept[-1].results)
                print(
                    f"  minute {minute + 1}: {heard} of {SEATS} seats heard, {kept[-1].had} had it, {lost} landings lost,"
                    f" memory {memory[-1]} KiB",
                    flush=True,
                )
            used = (time.process_time() - busy) / (time.monotonic() - start)
    print(
        f"\n{len(waits)} landings graded of {SEATS * CHANGES * minutes}; {len(Timed.busy)} messages, {used:.0%} of a core"
    )
    if waits:
        told = " ".join(f"{1e3 * share(waits, part):.2f}" for part in (0.5, 0.9, 0.99, 0.999, 1.0))
        print(f"note to grade, ms at 50 / 90 / 99 / 99.9 / 100 %: {told}; aim at 99 %: {1e3 * AIM_P99_S:.0f}")
    told = " ".join(f"{1e3 * share(Timed.busy, part):.3f}" for part in (0.5, 0.99, 1.0))
    print(f"of it the ear's own work on a message, ms at 50 / 99 / 100 %: {told}")
    print(f"memory {memory[0]} KiB after a minute, {memory[-1]} at the end; latest {max(late, default=0.0):.0f} ms")


def main() -> None:
    minutes = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    ears.Ear = Timed  # type: ignore[misc]  # the bench listens in where a room makes its ears
    with running_jack() as server, tempfile.TemporaryDirectory() as home:
        os.environ.update(environment(server) | {paths.HOME: home})
        print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores before it begins")
        with Log.open(paths.log_file()) as log:
            asyncio.run(lesson(minutes, log))
        print(f"load average {os.getloadavg()[0]:.1f} at the end")


if __name__ == "__main__":
    main()
