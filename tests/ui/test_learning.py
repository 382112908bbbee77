"""The learning drawn through the times it was fitted to, and told in words that say how sure it is."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

import pytest

from tests.ui.app_fakes import app, rows, services, shows, until
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice.curve_fit import FEWEST, fit
from trainer.practice.record import Attempt, Run, Timing
from trainer.ui.progress.learning import learning
from trainer.ui.progress.plots import plot

KEY = "E2 A2 D3 G3 B3 E4 | 0 | 0 2/1 2/2 0 0 0 | x 0 2/2 2/3 1/1 0"


def times(level: float, gain: float, rate: float, count: int, spread: float = 40.0, seed: int = 5) -> list[float]:
    rng = random.Random(seed)
    return [level + gain * math.exp(-rate * n) + rng.gauss(0, spread) for n in range(count)]


def test_too_few_times_say_so_and_have_no_curve() -> None:
    assert learning([], 500.0).words == ""
    few = learning(times(500, 1000, 0.05, FEWEST - 1), 500.0)
    assert (few.curve, few.words) == (None, "not enough yet for a curve, 14 times of 15")


def test_a_falling_change_says_how_many_tries_its_goal_takes() -> None:
    learned = learning(times(450, 1500, 0.03, 60), 600.0)
    assert learned.words.startswith("still falling; 0.60 s in about ")
    assert " more tries (" in learned.words
    assert "levels off at 0." in learned.words
    assert learned.curve is not None
    # A is 450 ms; how often the range holds it is tested with the curve itself.
    assert learned.curve.level.middle == pytest.approx(450, abs=40)


def test_a_plateau_above_its_goal_says_that_more_of_the_same_is_no_help() -> None:
    words = learning(times(700, 0, 0.1, 80, 20.0), 500.0).words
    assert words.startswith("plateau, more of the same brings next to nothing; 0.50 s is not in sight by going on ")


def test_a_goal_that_is_reached_says_so() -> None:
    assert "0.50 s is reached" in learning(times(350, 900, 0.2, 40), 500.0).words


def test_the_curve_runs_through_its_times_and_hides_none() -> None:
    shown = times(450, 1500, 0.06, 60, 0.0)
    curve = fit(shown)
    assert curve is not None
    bare, drawn = plot(shown, 80, 12, fine=False), plot(shown, 80, 12, fine=False, curve=curve)
    assert [row.replace(".", " ") for row in drawn] == [row.replace(".", " ") for row in bare]
    # Without scatter it would lie under every time: within a row of it everywhere.
    spare = [curve.fitted(n) - time for n, time in enumerate(shown)]
    assert max(map(abs, spare)) < (max(shown) - min(shown)) / 20


def test_a_curve_of_the_newest_begins_where_it_was_fitted() -> None:
    newest = times(500, 1500, 0.05, 20, 10.0)
    older = [3000.0] * 20
    curve = fit(newest)
    assert curve is not None
    body = [row[9:] for row in plot([*older, *newest], 49, 12, fine=False, curve=curve)[:-2]]
    columns = [column for row in body for column, sign in enumerate(row) if sign == "."]
    assert columns
    assert min(columns) >= 20


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_progress_shows_the_curve_and_its_words(log: Log, size: tuple[int, int]) -> None:
    log.begin(Run("run", "Two chords", 1000.0, Timing.LEAVE))
    for n, ms in enumerate(times(450, 1500, 0.03, 60)):
        log.add(Attempt(f"a{n}", "run", KEY, 1000.0 + n, Timing.LEAVE, "keys", ms)).result(5)
    given = services(log, goal_tempo=50)
    async with app(given, "progress").run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, "still falling; 0.60 s in about", "Em → Am"))
        plotted = [row for row in rows(pilot) if "│" in row]
        assert any("·" in row for row in plotted)
        assert max(map(len, rows(pilot))) <= size[0]
