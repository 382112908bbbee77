"""Levels from six plucks a string: even plucks read alike afterwards, uneven ones are refused."""

from __future__ import annotations

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.listen.setup.levelling import ENOUGH, Levelling

STRINGS = (6, 5, 4, 3, 2, 1)


def played(velocities: dict[int, list[int]]) -> Levelling:
    levelling = Levelling(STRINGS)
    for string, plucks in velocities.items():
        for velocity in plucks:
            levelling = levelling.take(string, velocity)
    return levelling


@given(
    offsets=st.lists(st.integers(-20, 20), min_size=6, max_size=6).filter(lambda every: len(set(every)) > 1),
    seed=st.integers(0, 9999),
)
@settings(max_examples=100)
def test_a_steady_player_reads_alike_on_every_string_afterwards(offsets: list[int], seed: int) -> None:
    # A player whose plucks scatter by 4: the median of six lies within 4 of the truth in 99 cases of 100, so in all of
    # 100 players' strings it lies within 8 (five standard errors).
    chance = random.Random(seed)
    middle = dict(zip(STRINGS, (80 + offset for offset in offsets), strict=True))
    levelling = played({s: [round(chance.gauss(middle[s], 4)) for _ in range(ENOUGH)] for s in STRINGS})
    if levelling.done:  # where six plucks are uneven by chance, they are asked for again
        read = {string: middle[string] + level for string, level in levelling.levels.items()}
        assert max(read.values()) - min(read.values()) <= 16


def test_two_gross_errors_of_six_do_not_move_a_level() -> None:
    even = {string: [80, 81, 79, 80, 82, 78] for string in STRINGS}
    one_off = {**even, 3: [100, 101, 3, 100, 127, 99]}
    assert played(one_off).levels == {6: 0, 5: 0, 4: 0, 3: -20, 2: 0, 1: 0}


def test_uneven_plucks_are_worth_nothing_and_asked_for_again() -> None:
    levelling = played({6: [40, 60, 80, 100, 110, 30]})
    assert "Too uneven" in levelling.said
    assert (levelling.asked, levelling.count(6)) == (6, 0)


def test_a_pluck_on_another_string_does_not_count() -> None:
    levelling = played({6: [80], 5: [80]})
    assert (levelling.asked, levelling.count(6), levelling.count(5)) == (6, 1, 0)
    assert levelling.said == "That was string 5. Now string 6."


def test_a_guitar_that_sends_no_loudness_is_not_levelled() -> None:
    levelling = played({string: [100] * ENOUGH for string in STRINGS})
    assert levelling.done
    assert levelling.levels == {}
    assert "no loudness" in levelling.words


def test_a_string_at_full_is_told() -> None:
    assert "turn it down" in played({6: [127] * ENOUGH}).said


def test_nothing_is_levelled_before_all_strings_are_known() -> None:
    assert played({6: [80] * ENOUGH}).levels == {}
