"""The time model of a log: what it reads, and what it never puts together."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.practice.timemodel.player import CHANGES, KIND, Player
from trainer.hand.reach import Hand
from trainer.log import hands
from trainer.log.hands import time_model
from trainer.log.history import reading
from trainer.log.writer import Log
from trainer.practice.record import Attempt, How, Run, Series, Texture, Timing
from trainer.practice.timemodel.blocks import EARLY, NEWEST
from trainer.practice.timemodel.model import ENOUGH, TimeModel

PLAYED = CHANGES[:14]


def attempts(kind: Series, keys: Iterable[str], tries: int, *, start: float = 1000.0) -> list[Attempt]:
    """Return so many tries at each change, one after the other."""
    player, vectors = Player(random.Random(1)), dict(CHANGES)
    return [
        Attempt(
            f"{start}-{key}-{number}-{kind}",
            f"run {kind.timing}",
            key,
            start + number,
            kind.timing,
            kind.source,
            player.time(key, vectors[key], number + 1) if key in vectors else 500.0,
            tempo=kind.tempo,
            texture=kind.texture,
            how=kind.how,
        )
        for key in keys
        for number in range(tries)
    ]


def write(path: Path, entries: Iterable[Attempt]) -> None:
    with Log.open(path) as log:
        for timing in (Timing.LEAVE, Timing.CUE, Timing.HEARD):
            log.begin(Run(f"run {timing}", "Drill", 0.0, timing))
        last = [log.add(entry) for entry in entries]
        assert all(receipt.result() is None for receipt in last)


def model(path: Path) -> TimeModel:
    with reading(path) as history:
        return time_model(history, Hand())


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "practice.sqlite3"
    write(path, attempts(KIND, [key for key, _ in PLAYED], 30))
    return path


def test_it_is_learned_from_the_tries_at_each_change(path: Path) -> None:
    found = model(path)
    assert found.kind == KIND
    assert {known.change: known.features for known in found.known} == dict(PLAYED)
    assert {tuple(block.tries for block in known.blocks) for known in found.known} == {(EARLY, 30 - EARLY)}
    assert found.enough


def test_no_log_is_a_model_of_no_changes(tmp_path: Path) -> None:
    assert model(tmp_path / "none.sqlite3").count == 0


OTHERS = (
    replace(KIND, timing=Timing.CUE),
    replace(KIND, source="pedal"),
    replace(KIND, how=How.RECALLED),
    replace(KIND, texture=Texture.ROLLED),
    replace(KIND, tempo=60.0),
    replace(KIND, timing=Timing.HEARD, source="Six"),
)


@pytest.mark.parametrize("other", OTHERS, ids=str)
def test_times_taken_in_another_way_change_nothing(path: Path, other: Series) -> None:
    before = model(path)
    write(path, attempts(other, [key for key, _ in CHANGES[: ENOUGH - 1]], 30, start=9000.0))
    after = model(path)
    assert (after.kind, after.known) == (KIND, before.known)


def test_the_way_most_changes_were_timed_in_is_looked_at(path: Path) -> None:
    other = replace(KIND, source="pedal")
    write(path, attempts(other, [key for key, _ in CHANGES[20:40]], 6, start=500.0))
    assert (model(path).kind, model(path).count) == (other, 20)


@pytest.mark.parametrize("key", ["no key", "E2 A2 D3 G3 B3 E4 | 0 | x 3 2 0 1 0 | x 0 2 2 1 0", "E2 | x | y | z"])
def test_what_cannot_be_read_or_has_no_fingers_teaches_nothing(path: Path, key: str) -> None:
    write(path, attempts(KIND, [key], 30, start=9000.0))
    assert model(path).count == len(PLAYED)


def test_only_the_changes_played_last_count(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    newest = [key for key, _ in CHANGES[50:55]]
    write(path, attempts(KIND, newest, 6, start=9000.0))
    monkeypatch.setattr(hands, "MOST", 5)
    assert {known.change for known in model(path).known} == set(newest)


def test_both_ends_of_a_series_are_read_oldest_first(path: Path) -> None:
    key = CHANGES[60][0]
    write(path, attempts(KIND, [key], 70, start=9000.0))
    series = replace(KIND, change=key)
    with reading(path) as history:
        early, newest = history.ends(series, EARLY, NEWEST)
        times = [attempt.change_ms for attempt in history.attempts(series)]
        assert history.ends(replace(series, source="nowhere"), EARLY, NEWEST) == ([], [])
    assert (early, newest) == (times[:EARLY], times[-NEWEST:])
