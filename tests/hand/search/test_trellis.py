"""The layered search on small made-up steps, against the same search in plain loops over every state and grip."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product
from math import inf

import numpy as np
import pytest

from trainer.hand.search import trellis
from trainer.hand.search.parts import Part, Step
from trainer.hand.search.trellis import AT_REST, Trellis, change_costs, ends, least_to_go, search

State = tuple[int, ...]
GRIPS = (3, 4, 5, 3, 4)
"""How many grips each step has."""
SIZES = (1, 2, 3, 2, 3, 2)
"""How many values a part can have before each step and after the last."""
TIMES = 3
SEEDS = pytest.mark.parametrize("seed", range(4))


def made_up(seed: int) -> tuple[Step, ...]:
    """Return steps of parts that cost and become whatever is drawn."""
    rng = np.random.default_rng(seed)

    def part(at: int, *in_front: int) -> Part:
        shape = (SIZES[at], GRIPS[at])
        return Part(np.arange(SIZES[at]), rng.uniform(0, 9, (*in_front, *shape)), rng.integers(0, SIZES[at + 1], shape))

    return tuple(
        Step(
            rng.uniform(0, 9, GRIPS[at]),
            (part(at), part(at), part(at), part(at)),
            part(at, TIMES),
            part(at),
            tuple(rng.integers(0, TIMES, SIZES[at]) for _ in range(4)),  # type: ignore[arg-type]  # four of them
            np.arange(TIMES, dtype=np.float64),
        )
        for at in range(len(GRIPS))
    )


def cost_of(state: State, grip: int, step: Step) -> float:
    """Return what one state pays for one grip: all its parts, the position by the shortest time of any finger."""
    time = min(int(step.time[finger][state[finger]]) for finger in range(4))
    fingers = sum(float(step.fingers[finger].cost[state[finger], grip]) for finger in range(4))
    shift, opened = float(step.position.cost[time, state[4], grip]), float(step.opened.cost[state[5], grip])
    return float(step.grip[grip]) + fingers + shift + opened


def end_of(state: State, grip: int, step: Step) -> State:
    parts = (*step.fingers, step.position, step.opened)
    return tuple(int(part.to[value, grip]) for part, value in zip(parts, state, strict=True))


@dataclass(frozen=True, slots=True)
class Asked:
    """What a search is asked for, as `search` has it."""

    worst: bool = False
    width: int | None = None
    many: int | None = None
    ceiling: float = inf
    bound: float = inf
    guided: bool = False


Layer = dict[State, float]
Ways = list[tuple[State, int, State, float]]


def plainly(steps: tuple[Step, ...], asked: Asked) -> tuple[list[Layer], list[Ways], bool]:
    """Return every layer's states with their costs, every way followed, and whether nothing was cut off."""
    to_go = [[float(rest) for rest in each] for each in least_to_go(steps, worst=asked.worst)]
    before: Layer = {(0,) * 6: 0.0}
    layers, followed, exact = [], [], True
    for at, step in enumerate(steps):
        ways = []
        for (state, spent), grip in product(before.items(), range(GRIPS[at])):
            cost = cost_of(state, grip, step)
            total = max(spent, cost) if asked.worst else spent + cost
            rest = to_go[at][grip]
            if cost <= asked.ceiling and (max(total, rest) if asked.worst else total + rest) <= asked.bound:
                ways.append(
                    (total + rest if asked.guided else total, total, state, grip, end_of(state, grip, step), cost)
                )
        if asked.width is not None and asked.many is not None and len(ways) > asked.many * asked.width:
            ways, exact = sorted(ways)[: asked.many * asked.width], False
        cheapest: dict[State, tuple[float, float]] = {}
        for whole, total, _, _, end, _ in ways:
            if end not in cheapest or total < cheapest[end][0]:
                cheapest[end] = (total, whole)
        if asked.width is not None and len(cheapest) > asked.width:
            kept, exact = sorted(cheapest, key=lambda end: cheapest[end][1])[: asked.width], False
        else:
            kept = list(cheapest)
        before = {end: cheapest[end][0] for end in kept}
        layers.append(before)
        followed.append([(state, grip, end, cost) for _, _, state, grip, end, cost in ways])
    return layers, followed, exact


def searched(steps: tuple[Step, ...], asked: Asked) -> Trellis:
    to_go = least_to_go(steps, worst=asked.worst) if asked.guided or asked.bound < inf else None
    return search(
        steps,
        asked.width,
        worst=asked.worst,
        ceiling=asked.ceiling,
        to_go=to_go,
        bound=asked.bound,
        keep=True,
        many=asked.many,
    )


def agree(found: Trellis, steps: tuple[Step, ...], asked: Asked) -> None:
    """Hold a trellis against the plain search: states, costs, the way to each of them, and every way followed."""
    layers, followed, exact = plainly(steps, asked)
    assert found.exact is exact
    assert len(found.layers) == len(steps)
    before: list[State] = [(0,) * 6]
    for at, (layer, plain, ways) in enumerate(zip(found.layers, layers, followed, strict=True)):
        states = [tuple(map(int, row)) for row in layer.rows]
        assert dict(zip(states, layer.cost, strict=True)) == pytest.approx(plain)
        assert len(states) == len(plain)
        for row, state in enumerate(states):
            came, grip = before[layer.parent[row]], int(layer.grip[row])
            assert end_of(came, grip, steps[at]) == state
            assert _spent(found, row, at, steps, worst=asked.worst) == pytest.approx(plain[state])
        assert layer.ways is not None
        kept: list[tuple[State, int, object, object]] = [
            (before[start], int(grip), None if end < 0 else states[end], pytest.approx(cost))
            for start, grip, end, cost in zip(
                layer.ways.start, layer.ways.grip, layer.ways.end, layer.ways.cost, strict=True
            )
        ]
        expected = [(start, grip, end if end in plain else None, cost) for start, grip, end, cost in ways]
        assert len(kept) == len(expected)
        for way, plain_way in zip(sorted(kept, key=_start_and_grip), sorted(expected), strict=True):
            assert way == plain_way
        before = states
    assert found.cost == pytest.approx(min(layers[-1].values()))
    assert found.layers[-1].cost[found.best()[-1]] == found.cost
    assert found.best() == found.back(found.best()[-1], len(steps) - 1)


def _start_and_grip(way: tuple[State, int, object, object]) -> tuple[State, int]:
    return way[:2]


def _spent(found: Trellis, row: int, at: int, steps: tuple[Step, ...], *, worst: bool) -> float:
    """Return what the way to one state costs, walked along."""
    path = found.back(row, at)
    assert (len(path), path[-1]) == (at + 1, row)
    state: State = (0,) * 6
    costs = []
    for number, here in enumerate(path):
        grip = int(found.layers[number].grip[here])
        costs.append(cost_of(state, grip, steps[number]))
        state = end_of(state, grip, steps[number])
    return max(costs) if worst else sum(costs)


@SEEDS
def test_costs_and_ends_are_the_sums_of_the_parts(seed: int) -> None:
    step = made_up(seed)[3]
    states = list(product(range(SIZES[3]), repeat=6))
    costs = change_costs(np.array(states), step)
    assert costs.shape == (len(states), GRIPS[3])
    for grip in range(GRIPS[3]):
        led = ends(np.array(states), np.full(len(states), grip), step)
        for row, state in enumerate(states):
            assert costs[row, grip] == pytest.approx(cost_of(state, grip, step))
            assert tuple(map(int, led[row])) == end_of(state, grip, step)


def test_a_hand_at_rest_is_the_first_value_of_every_part() -> None:
    assert AT_REST.tolist() == [[0] * 6]


WAYS = {
    "all of them": Asked(),
    "few states": Asked(width=3),
    "few states, those that promise most": Asked(width=3, guided=True),
    "few states and few ways": Asked(width=4, many=2),
    "few ways, those that promise most": Asked(width=4, many=1, guided=True),
    "no dear change": Asked(ceiling=44),
    "none but the dearest change counts": Asked(worst=True),
    "none but the dearest counts, and that has its limit": Asked(worst=True, ceiling=44),
}
"""Where few are kept the sum counts: no two sums are alike, so it is plain which are the cheapest."""


@SEEDS
@pytest.mark.parametrize("asked", WAYS.values(), ids=WAYS)
def test_the_search_finds_what_plain_loops_find(seed: int, asked: Asked) -> None:
    steps = made_up(seed)
    found = searched(steps, asked)
    assert found.exact is (asked.width is None)
    agree(found, steps, asked)


@SEEDS
@pytest.mark.parametrize("worst", [False, True])
def test_ways_that_cannot_stay_within_the_bound_are_left_out(seed: int, worst: bool) -> None:
    steps = made_up(seed)
    best = search(steps, worst=worst).cost
    whole, asked = Asked(worst=worst), Asked(worst=worst, bound=best + 1)
    agree(searched(steps, asked), steps, asked)
    assert sum(map(len, plainly(steps, asked)[0])) < sum(map(len, plainly(steps, whole)[0]))
    none = searched(steps, Asked(worst=worst, bound=best - 1))
    assert (none.layers, none.exact) == ((), True)


@SEEDS
@pytest.mark.parametrize("worst", [False, True])
def test_the_least_to_go_is_that_of_each_part_by_itself(seed: int, worst: bool) -> None:
    steps = made_up(seed)
    found = least_to_go(steps, worst=worst)
    assert [len(each) for each in found] == list(GRIPS)
    assert found[-1].tolist() == [0] * GRIPS[-1]
    for at, (before, step) in enumerate(pairwise(steps)):
        for grip in range(GRIPS[at]):
            rest = []
            for following in range(GRIPS[at + 1]):
                least = float(step.grip[following]) + min(step.opened.cost[:, following])
                for part, ahead in zip(before.fingers, step.fingers, strict=True):
                    least += min(ahead.cost[value, following] for value in part.to[:, grip])
                left = before.position.to[:, grip]
                least += min(step.position.cost[time, value, following] for time in range(TIMES) for value in left)
                after = float(found[at + 1][following])
                rest.append(max(least, after) if worst else least + after)
            assert found[at][grip] == pytest.approx(min(rest))


@pytest.mark.parametrize("spare", [0, -1])
def test_a_width_is_too_small_only_where_a_state_is_left_over(spare: int) -> None:
    steps = made_up(0)
    most = max(len(layer.cost) for layer in search(steps).layers)
    found = search(steps, most + spare, many=None)
    assert found.exact is (spare == 0)
    # A proof must not cut off anything: it gives up instead.
    bound = sum(
        float(change_costs(np.array(list(product(range(SIZES[at]), repeat=6))), step).max())
        for at, step in enumerate(steps)
    )
    proof = search(steps, most + spare, to_go=least_to_go(steps), bound=2 * bound, many=None)
    assert (bool(proof.layers), proof.exact) == ((True, True) if spare == 0 else (False, False))


@pytest.mark.parametrize("spare", [0, -1])
def test_ways_are_too_many_only_where_one_is_left_over(spare: int) -> None:
    steps = made_up(0)[:1]
    assert search(steps, GRIPS[0] + spare, many=1).exact is (spare == 0)


@pytest.mark.parametrize("spare", [0, -1])
def test_a_proof_gives_up_where_a_layer_has_more_changes_than_there_is_room_for(
    spare: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = made_up(0)
    before = [1, *(len(layer.cost) for layer in search(steps).layers)]
    changes = max(states * grips for states, grips in zip(before, GRIPS, strict=False))
    monkeypatch.setattr(trellis, "ROOM", changes + spare)
    proof = search(steps, to_go=least_to_go(steps), bound=1e6)
    assert (bool(proof.layers), proof.exact) == ((True, True) if spare == 0 else (False, False))
    assert search(steps).layers, "without a bound there is always room"


def test_the_sum_counts_unless_asked_otherwise() -> None:
    steps = made_up(2)
    assert search(steps).cost == search(steps, worst=False).cost > search(steps, worst=True).cost
    for asked, least, dearest in zip(
        *(least_to_go(steps, **how) for how in ({}, {"worst": False}, {"worst": True})), strict=True
    ):
        assert asked.tolist() == least.tolist()
        assert (asked >= dearest).all()


def _level(*grips: float) -> Step:
    """Return the one step of a hand that pays for nothing but its grip and stays as it is."""
    count = len(grips)
    part, start = Part(np.array([0]), np.zeros((1, count)), np.zeros((1, count), dtype=np.int64)), np.array([0])
    position = Part(start, np.zeros((1, 1, count)), part.to)
    return Step(np.array(grips), (part, part, part, part), position, part, (start, start, start, start), np.zeros(1))


def test_of_ways_that_cost_the_same_the_first_is_kept() -> None:
    found = search((_level(2, 1, 1),), keep=True)
    (layer,) = found.layers
    assert (found.cost, layer.grip.tolist(), found.best()) == (1.0, [1], [0])
    assert layer.ways is not None
    assert layer.ways.end.tolist() == [0, 0, 0]


def test_what_is_exactly_at_a_limit_is_within_it() -> None:
    step = _level(3, 1, 2)
    rest = [np.zeros(3)]
    for found in (
        search((step,), keep=True, ceiling=2.0),
        search((step,), keep=True, to_go=rest, bound=2.0),
        search((step,), keep=True, to_go=rest, bound=2.0, worst=True),
    ):
        ways = found.layers[0].ways
        assert ways is not None
        assert ways.grip.tolist() == [1, 2]


@pytest.mark.parametrize("many", [8, 9])
def test_eight_ways_are_followed_for_a_state_that_may_be_held(many: int) -> None:
    step = _level(*range(many))
    found = search((step,), 1, keep=True)
    assert found.exact is (many == 8)
    ways = found.layers[0].ways
    assert ways is not None
    assert ways.grip.tolist() == list(range(8))


def test_ways_are_kept_only_where_asked_for() -> None:
    assert all(layer.ways is None for layer in search(made_up(1)).layers)
