"""A model player with a model tracker, of whom the truth is known: precision and recall of what is heard."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.listen.building import BLOCKS, FIGURES
from tests.listen.player import TWO_PERIODS, Habits, Player
from tests.listen.scoring import Score, score
from trainer.fretboard.pitch import frequency
from trainer.listen.matcher import Filters, Settings, hear
from trainer.practice.drill import Drill

SEEDS, SHAPES = range(3), 250


def played(drill: Drill, habits: Habits, settings: Settings | None = None) -> dict[str, Score]:
    found: dict[str, Score] | None = None
    for seed in SEEDS:
        player = Player(drill, habits, seed)
        events = player.play(SHAPES)
        found = score(player.truth, hear(drill, events, settings or Settings()), found)
    assert found is not None
    assert found["landing"].hits > 500
    return found


def test_latencies_are_two_periods() -> None:
    # The physical least of a pitch tracker: 24.3 18.2 13.6 10.2 8.1 6.1 ms for strings 6 to 1.
    for string, seconds in TWO_PERIODS.items():
        assert seconds == pytest.approx(2 / frequency({6: 40, 5: 45, 4: 50, 3: 55, 2: 59, 1: 64}[string]), abs=5e-5)


@pytest.mark.parametrize(
    ("drill", "habits"),
    [
        pytest.param(BLOCKS, Habits(), id="blocks"),
        pytest.param(FIGURES, Habits(rolled=0), id="figures"),
        pytest.param(BLOCKS, Habits(strings=False), id="one channel"),
        pytest.param(BLOCKS, Habits(softest=15), id="softly"),
        pytest.param(BLOCKS, Habits(octaves=0.01), id="octaves"),
        pytest.param(BLOCKS, Habits(ghosts=0.1, dropped_ends=0.05, doubled=0.05), id="five times the faults"),
        pytest.param(BLOCKS, Habits(missed=0.05, wrong=0.05, skips=0.03, backs=0.03, again=0.3), id="a student"),
    ],
)
def test_landings(drill: Drill, habits: Habits) -> None:
    landing = played(drill, habits)["landing"]
    assert landing.recall >= 0.99
    assert landing.precision >= 0.995


def test_block_or_rolled_after_calibration() -> None:
    rolled = played(BLOCKS, Habits())["rolled"]
    assert rolled.recall >= 0.97
    assert rolled.precision >= 0.97


@pytest.mark.parametrize("kind", ["cut off", "came up", "slide broke"])
def test_fingers_and_gaps(kind: str) -> None:
    found = played(BLOCKS, Habits())[kind]
    assert found.hits + found.missed > 15
    # Little is held against the player that he did not do.
    assert found.precision >= 0.98
    assert found.recall >= 0.9


def test_planting_is_never_held_against_the_player() -> None:
    found = played(BLOCKS, Habits(planted=1.0, early=0.0, came_up=0.0, broken=0.0))
    assert [found[kind].false for kind in ("cut off", "came up", "slide broke")] == [0, 0, 0]


def test_without_filters_ghosts_do_harm() -> None:
    # The filters earn their place: the same playing is heard worse without them.
    habits = replace(Habits(), ghosts=0.2, doubled=0.2)
    none = Filters(floor=0, quiet=0, ghost_s=0.0, shortest_s=0.0, retrigger_s=0.0)
    bare = played(BLOCKS, habits, Settings(filters=none))["landing"]
    filtered = played(BLOCKS, habits)["landing"]
    assert filtered.recall > bare.recall
    assert filtered.recall >= 0.99
