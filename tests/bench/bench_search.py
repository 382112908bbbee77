"""How fast the fingering search is: `python tests/bench/bench_search.py`.

Every figure comes from one run and is set beside another of the same run: growth with length, the graph library's time
on the identical graph, the cost at twice the width, alternatives beside none. Passages are made of the published pieces
in tests/data/fingerings, pitches only.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).parents[2]))

import networkx as nx  # type: ignore[import-untyped]  # it ships no types
import numpy as np

from tests.fit.editions import read
from trainer.hand.reach import Hand
from trainer.hand.search.costs import Body
from trainer.hand.search.moments import Stuck, moments
from trainer.hand.search.parts import Step, steps
from trainer.hand.search.passage import Passage
from trainer.hand.search.solve import WIDTH, Found, proved_best, work_out
from trainer.hand.search.trellis import AT_REST, change_costs, ends, least_to_go, search
from trainer.hand.search.weights import SCHOOLS

DATA = Path(__file__).parents[1] / "data" / "fingerings"
LENGTHS = (250, 500, 1000, 2000)
Result = TypeVar("Result")


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Return the seconds that `work` takes, the better of two goes, and what it returns."""
    taken = []
    for _ in range(2):
        begun = time.perf_counter()
        result = work()
        taken.append(time.perf_counter() - begun)
    return min(taken), result


def first(passage: Passage, count: int) -> Passage:
    """Return the first `count` slices of a passage."""
    end = passage.slices[count].onset if count < len(passage.slices) else None
    return replace(passage, notes=tuple(note for note in passage.notes if end is None or note.onset < end))


def long(passage: Passage, count: int) -> Passage:
    """Return `count` slices of a passage played over and over."""
    length = max(note.end for note in passage.notes)
    rounds = count // len(passage.slices) + 1
    notes = [replace(note, onset=note.onset + number * length) for number in range(rounds) for note in passage.notes]
    return first(Passage.of(notes, passage.instrument), count)


def short_passages() -> None:
    print("32 slices from pitches only (aim 0.3 s), proved or not")
    for school, weights in SCHOOLS.items():
        for path in sorted(DATA.glob("*.json")):
            passage = first(read(path)[0].passage, 32)
            spent, result = timed(lambda passage=passage, weights=weights: work_out(passage, weights=weights()))  # type: ignore[misc]  # bound early on purpose
            if isinstance(result, Found):
                print(f"  {school:9} {path.stem[:40]:42} {spent:6.3f} s  proved {result.exact}, {result.best.cost:.1f}")


def growth(passage: Passage) -> None:
    print("\nlength (aim 8 s for 1,000 slices)")
    one = None
    for count in LENGTHS:
        spent, _ = timed(lambda count=count: work_out(long(passage, count)))  # type: ignore[misc]  # bound early on purpose
        one = one or spent / count
        print(
            f"  {count:5} slices {spent:7.2f} s  {1000 * spent / count:5.2f} ms a slice, {spent / count / one:4.2f} x"
        )


def parts_of(passage: Passage) -> tuple[Step, ...]:
    found = moments(passage, Hand())
    if isinstance(found, Stuck):
        raise SystemExit(f"slice {found.index} cannot be held")
    return steps(found, Body.of(passage.instrument, Hand()), next(iter(SCHOOLS.values()))())[0]


def graph_library(passage: Passage) -> None:
    parts = parts_of(passage)
    graph, layer = nx.DiGraph(), {tuple(AT_REST[0].tolist())}
    for at, step in enumerate(parts):
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
        graph.add_edge((len(parts), state), "end", cost=0.0)
    begin = (0, tuple(AT_REST[0].tolist()))
    theirs, length = timed(lambda: nx.bellman_ford_path_length(graph, begin, "end", weight="cost"))
    whole, trellis = timed(lambda: search(parts))
    ours, proved = timed(lambda: proved_best(parts))
    print(f"\nidentical graph, {graph.number_of_nodes()} nodes, {graph.number_of_edges()} edges (aim 30 x)")
    print(f"  graph library, the graph given       {theirs:7.3f} s")
    print(f"  ours, every state, the graph not given {whole:5.3f} s, {theirs / whole:.0f} x")
    print(f"  ours, what cannot win left out       {ours:7.3f} s, {theirs / ours:.0f} x")
    print(f"  costs differ by {max(abs(length - trellis.cost), abs(length - proved.cost)):.1e}")


def widths(passage: Passage) -> None:
    parts = parts_of(passage)
    to_go = least_to_go(parts)
    print(f"\nwidth, {len(parts)} slices (cost unchanged when it doubles)")
    for width in (WIDTH // 4, WIDTH // 2, WIDTH, 2 * WIDTH, 4 * WIDTH):
        spent, trellis = timed(lambda width=width: search(parts, width, to_go=to_go))  # type: ignore[misc]  # bound early on purpose
        print(f"  {width:5} states: cost {trellis.cost:.3f}, {1000 * spent / len(parts):.2f} ms a slice")


def alternatives(passage: Passage) -> None:
    one, _ = timed(lambda: work_out(passage))
    ten, result = timed(lambda: work_out(passage, alternatives=10))
    count = len(result.alternatives) if isinstance(result, Found) else 0
    print(f"\n{count} alternatives: {ten:.2f} s beside {one:.2f} s for the best alone, {ten / one:.2f} x (aim 2 x)")


def main() -> None:
    carcassi = read(DATA / "CarcassiM__O59__CarcassiMethodPreludes__CarcassiMethodPreludes.json")
    brahms = read(DATA / "BrahmsJ__O39__brahms-vals3__brahms-vals3.json")[0].passage
    short_passages()
    widths(brahms)
    alternatives(first(carcassi[2].passage, 32))
    growth(carcassi[2].passage)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nmost memory so far: {peak:.0f} MB")
    graph_library(first(carcassi[0].passage, 8))


if __name__ == "__main__":
    main()
