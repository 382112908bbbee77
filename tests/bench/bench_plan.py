"""What the plan is worth: thirty days of a simulated player, by the plan and by two simpler ways to choose.

Run `python tests/bench/bench_plan.py`. The player is a model and so is the answer. Each change has a level, a gain and
a rate of its own (T = A + B exp(-aN) with scatter and slips). Later tries of a sitting teach less. How much a night
takes is not known, so there are three worlds. Three of the changes level off above the target. All ways get the same
tries a day, in visits of the same length, and are told nothing but the times.

Counted is how many tries it takes until every change that can get to the target is there (its true expected time, at
the start of a day): the middle player, and those of whom one in ten is faster and one in ten slower. And how many of
the changes are there after thirty days.
"""

from __future__ import annotations

import math
import random
import statistics
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import count, islice

from trainer.log.due import due_day
from trainer.practice.plan import VISIT, look, plan
from trainer.practice.record import Attempt, Timing
from trainer.practice.reviews import reviews

DAYS = 30
MINUTES = 12.0
TRIES = 120
CHANGES = 16
TARGET = 500.0
IN_REACH, OUT_OF_REACH = (250.0, 450.0), (520.0, 600.0)
FIRST_DAY = 738_000


@dataclass(frozen=True)
class World:
    """What a night takes of all that was learned of a change."""

    name: str
    nightly: float
    """After a day on which it was practised."""
    idle: float
    """After one on which it was not."""


WORLDS = (
    World("nothing is forgotten", 0.0, 0.0),
    World("each night takes 1 %", 0.01, 0.01),
    World("a night takes 2 %, but not after practice", 0.0, 0.02),
)


@dataclass
class Hand:
    """One change as the player's hand knows it."""

    key: str
    level: float
    gain: float
    half: float
    learned: float = 0.0
    today: int = 0
    attempts: list[Attempt] = field(default_factory=list)
    days: list[int] = field(default_factory=list)

    @property
    def expected(self) -> float:
        return self.level + self.gain * float(0.5 ** (self.learned / self.half))

    @property
    def reachable(self) -> bool:
        return self.level < TARGET

    def play(self, day: int, chance: random.Random) -> None:
        slip = 2.0 if chance.random() < 0.05 else 1.0
        ms = max(self.expected * slip * chance.lognormvariate(0, 0.12), 80.0)
        self.attempts.append(Attempt("a", "r", self.key, float(day), Timing.LEAVE, "keys", ms))
        self.days.append(day)
        # A day's first tries teach most: half as much after 25 of them.
        self.learned += 0.5 ** (self.today / 25)
        self.today += 1

    def night(self, world: World) -> None:
        self.learned *= 1 - (world.nightly if self.today else world.idle)
        self.today = 0


Way = Callable[[list[Hand], int], Iterator[Hand]]


def fixed_order() -> Way:
    """Return the way of going through the drill again and again, each day from where the last one ended."""
    place = count()

    def choose(hands: list[Hand], _: int) -> Iterator[Hand]:
        while True:
            yield hands[next(place) % len(hands)]

    return choose


def slowest_first() -> Way:
    """Return the way of always playing what was slowest lately."""

    def slowness(hand: Hand) -> float:
        return statistics.median(attempt.change_ms or 0.0 for attempt in hand.attempts[-20:])

    def choose(hands: list[Hand], _: int) -> Iterator[Hand]:
        while True:
            yield next((hand for hand in hands if not hand.attempts), None) or max(hands, key=slowness)

    return choose


def by_plan() -> Way:
    """Return the way of the plan; what it has not seen comes first, what it leaves of the time is not played."""

    def choose(hands: list[Hand], day: int) -> Iterator[Hand]:
        new = [hand for hand in hands if not hand.attempts]
        yield from new
        seen = {hand.key: hand for hand in hands if hand.attempts}
        looks = [
            look(hand.attempts[-200:], hand.days[-1], due_day(reviews(hand.attempts, hand.days, TARGET)), TARGET)
            for hand in seen.values()
            if hand not in new
        ]
        made = plan(looks, day, MINUTES - len(new) * VISIT * 6 / 60)
        yield from (seen[item.look.series.change] for item in made.turns)

    return choose


def player(seed: int) -> list[Hand]:
    chance = random.Random(seed)
    return [
        Hand(f"change {number}", chance.uniform(*level), chance.uniform(300, 1100), chance.uniform(15, 60))
        for number, level in enumerate([OUT_OF_REACH] * 3 + [IN_REACH] * (CHANGES - 3))
    ]


def practise(way: Way, world: World, seed: int) -> tuple[int | None, int, int, int]:
    """Return tries until all were there (None: not in time), how many are there in the end, of how many, and tries."""
    hands, chance = player(seed), random.Random(seed + 1)
    tries, all_there = 0, None
    for day in range(FIRST_DAY, FIRST_DAY + DAYS):
        for hand in islice(way(hands, day), TRIES // VISIT):
            for _ in range(VISIT):
                hand.play(day, chance)
                tries += 1
        for hand in hands:
            hand.night(world)
        if all_there is None and all(hand.expected <= TARGET for hand in hands if hand.reachable):
            all_there = tries
    able = [hand for hand in hands if hand.reachable]
    return all_there, sum(hand.expected <= TARGET for hand in able), len(able), tries


def main() -> None:
    seeds = range(500, 500 + (int(sys.argv[1]) if len(sys.argv) > 1 else 24))
    print(
        f"{CHANGES} changes, {TARGET:.0f} ms wanted, {DAYS} days, {TRIES} tries a day, seeds {seeds[0]} to {seeds[-1]}"
    )
    for world in WORLDS:
        print(f"\n{world.name}")
        print(f"{'':16}{'tries until all there':>30}{'in time':>10}{'there on day 30':>18}{'tries played':>14}")
        for name, make in (("fixed order", fixed_order), ("slowest first", slowest_first), ("the plan", by_plan)):
            line(name, [practise(make(), world, seed) for seed in seeds])


def line(name: str, found: list[tuple[int | None, int, int, int]]) -> None:
    done = [tries for tries, *_ in found if tries is not None]
    # Who is not there in time is there later than all that are: to leave them out would flatter a way that fails often.
    ordered = sorted(math.inf if tries is None else tries for tries, *_ in found)
    low, middle, high = (told(ordered[round(part * (len(ordered) - 1))]) for part in (0.1, 0.5, 0.9))
    share = sum(there for _, there, _, _ in found) / sum(able for _, _, able, _ in found)
    played = statistics.mean(tries for *_, tries in found)
    print(f"{name:<16}{f'{middle} ({low} to {high})':>30}{len(done):>6} / {len(found)}{share:>17.0%}{played:>14,.0f}")


def told(tries: float) -> str:
    return f"{tries:,.0f}" if math.isfinite(tries) else "never"


if __name__ == "__main__":
    main()
