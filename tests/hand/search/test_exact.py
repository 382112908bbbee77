"""The search finds the best way there is: against trying every way, and against a graph library on the same graph."""

from __future__ import annotations

from fractions import Fraction

import networkx as nx  # type: ignore[import-untyped]  # it ships no types
import numpy as np
import pytest

from tests.hand.search.building import START, every_way, found, laid_open, onward, passage
from trainer.hand.search.solve import SLACK
from trainer.hand.search.trellis import AT_REST, change_costs, ends, least_to_go, search

SMALL = (
    "F4@1 G4@1 A4@1",
    "C4@2+E3@4 D4@2 B3@3",
    "F4@1+C4@2 G4@1.3+D4@2",
    "F3@4 A3@3 C4@2",
    "A2 C3@5+E3@4 B2@5",
)
"""Small enough to try every way: a line, two voices, a barre in thirds, a broken chord, an open bass."""


@pytest.mark.parametrize("text", SMALL)
def test_no_way_that_can_be_tried_is_cheaper(text: str) -> None:
    small = passage(text)
    ways = every_way(laid_open(small))
    assert len(ways) > 20
    easiest = found(small)
    assert easiest.exact
    assert easiest.best.cost == pytest.approx(min(total for total, _ in ways))
    least_worst = found(small, worst=True)
    dearest = min(worst for _, worst in ways)
    assert least_worst.exact
    assert least_worst.best.cost == pytest.approx(dearest)
    assert least_worst.best.total == pytest.approx(min(total for total, worst in ways if worst <= dearest + SLACK))


LONGER = (
    "A2 A3@3 C4@2 E4@1 G4@1 A4@1 E4@1 C4@2",
    "C3@5+E4@1 F4@1 D3@4+F4@1 E4@1 G4@1 G3@4+D4@2 E4@1",
    "E2+E4@1 F#4@1 G#4@1 A4@1 B4@1 A2+C5@1 B4@1",
)


@pytest.mark.parametrize("text", LONGER)
def test_a_graph_library_finds_the_same_cost_on_the_same_graph(text: str) -> None:
    laid = laid_open(passage(text))
    graph = nx.DiGraph()
    layer = {tuple(map(int, AT_REST[0]))}
    for at, step in enumerate(laid.steps):
        rows = np.array(sorted(layer))
        costs = change_costs(rows, step)
        start, grip = (each.ravel() for each in np.indices(costs.shape))
        reached = list(map(tuple, ends(rows[start], grip, step).tolist()))
        for before, after, cost in zip(map(tuple, rows[start].tolist()), reached, costs.ravel().tolist(), strict=True):
            edge = ((at, before), (at + 1, after))
            if not graph.has_edge(*edge) or graph.edges[edge]["cost"] > cost:
                graph.add_edge(*edge, cost=cost)
        layer = set(reached)
    for state in layer:
        graph.add_edge((len(laid.steps), state), "end", cost=0.0)
    assert graph.number_of_edges() > 800
    theirs = nx.shortest_path_length(
        graph, (0, tuple(map(int, AT_REST[0]))), "end", weight="cost", method="bellman-ford"
    )
    ours = search(laid.steps)
    assert ours.exact
    assert ours.cost == pytest.approx(theirs)


@pytest.mark.parametrize("text", LONGER)
@pytest.mark.parametrize("worst", [False, True])
def test_leaving_out_what_cannot_win_changes_nothing(text: str, worst: bool) -> None:
    laid = laid_open(passage(text, Fraction(1, 2)))
    whole = search(laid.steps, worst=worst)
    to_go = least_to_go(laid.steps, worst=worst)
    pruned = search(laid.steps, worst=worst, to_go=to_go, bound=whole.cost + SLACK)
    assert pruned.exact
    assert pruned.cost == pytest.approx(whole.cost)
    assert sum(len(layer.cost) for layer in pruned.layers) < sum(len(layer.cost) for layer in whole.layers)
    assert min(to_go[0] + laid.steps[0].grip) <= whole.cost or worst


def test_a_width_too_small_is_said_and_costs_no_less() -> None:
    laid = laid_open(passage(LONGER[0]))
    narrow, whole = search(laid.steps, 5), search(laid.steps)
    assert not narrow.exact
    assert all(len(layer.cost) <= 5 for layer in narrow.layers)
    assert narrow.cost >= whole.cost - SLACK


def test_the_cost_of_a_way_is_the_sum_of_its_named_reasons() -> None:
    laid = laid_open(passage(LONGER[1]))
    trellis = search(laid.steps, 50)
    result = found(passage(LONGER[1]))
    assert result.best.cost == pytest.approx(result.best.total)
    state, total = START, 0.0
    for at, row in enumerate(trellis.best()):
        state, cost = onward(state, at, int(trellis.layers[at].grip[row]), laid)
        total += cost
        assert trellis.layers[at].cost[row] == pytest.approx(total)
        parts = (*laid.steps[at + 1].fingers, laid.steps[at + 1].position) if at + 1 < len(laid.steps) else ()
        for column, part in enumerate(parts):
            assert int(part.start[trellis.layers[at].rows[row, column]]) == state[column]
    assert np.isfinite(total)
