"""The access code: who is let in, and how slow guessing is. The rules are ours; the arithmetic is checked here."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.serve.door import FREE, LENGTH, LETTERS, LONGEST_S, REMEMBERED, Answer, Door, code_from, wait_s

DOOR = Door("KMPQRT")


@pytest.mark.parametrize("said", ["KMPQRT", "kmpqrt", " KMP QRT ", "kmp-qrt\n"])
def test_the_code_opens_as_people_type_it(said: str) -> None:
    assert DOOR.knock("a", said, 0.0)[1] is Answer.OPEN


@pytest.mark.parametrize("said", ["", "KMPQR", "KMPQRTA", "KMPQRT" * 100, "КМРQRТ", "\x00"])
def test_nothing_else_does(said: str) -> None:
    assert DOOR.knock("a", said, 0.0)[1] is Answer.WRONG


def test_waits_double_up_to_a_minute() -> None:
    assert [wait_s(wrong) for wrong in range(FREE + 8)] == [0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60]
    assert wait_s(10**9) == LONGEST_S


def test_one_address_that_never_rests_gets_few_guesses() -> None:
    """In an hour: the free ones, six that double, and one a minute after those."""
    door, looked_at = DOOR, 0
    for tenth in range(36_000):
        door, answer = door.knock("a", "AAAAAA", tenth / 10)
        looked_at += answer is Answer.WRONG
    doubling = 1 + 2 + 4 + 8 + 16 + 32
    assert looked_at == FREE + 6 + (3600 - doubling) // 60


def test_a_wait_holds_for_the_right_code_too_and_for_nobody_else() -> None:
    door = DOOR
    for _ in range(FREE):
        door, _ = door.knock("a", "wrong", 0.0)
    assert door.knock("a", DOOR.code, 0.5)[1] is Answer.WAIT
    assert door.knock("b", DOOR.code, 0.5)[1] is Answer.OPEN
    assert door.waits("a", 0.25) == 0.75
    opened, answer = door.knock("a", DOOR.code, 1.0)
    assert answer is Answer.OPEN
    assert opened.waits("a", 1.0) == 0.0


@given(st.lists(st.tuples(st.sampled_from("abc"), st.booleans(), st.floats(0, 100)), max_size=40))
def test_answers_are_what_the_rule_says(knocks: list[tuple[str, bool, float]]) -> None:
    """A second, plain account of the rule: a list of wrong moments for each address."""
    door = DOOR
    wrong: dict[str, list[float]] = {"a": [], "b": [], "c": []}
    for address, right, at in sorted(knocks, key=lambda knock: knock[2]):
        door, answer = door.knock(address, DOOR.code if right else "nonsense", at)
        before = wrong[address]
        if before and at < before[-1] + wait_s(len(before)):
            assert answer is Answer.WAIT
        elif right:
            assert answer is Answer.OPEN
            before.clear()
        else:
            assert answer is Answer.WRONG
            before.append(at)


def test_addresses_do_not_fill_the_memory() -> None:
    door = DOOR
    for number in range(REMEMBERED + 50):
        door, _ = door.knock(str(number), "wrong", 0.0)
    assert len(door.tries) == REMEMBERED
    assert "0" not in door.tries
    assert str(REMEMBERED + 49) in door.tries


def test_a_code_takes_each_letter_alike() -> None:
    draws = random.Random(1)
    codes = [code_from(draws.choice) for _ in range(2000)]
    assert {len(code) for code in codes} == {LENGTH}
    counts = [sum(code.count(letter) for code in codes) for letter in LETTERS]
    expected = 2000 * LENGTH / len(LETTERS)
    # Chi squared with 22 degrees of freedom: 48.3 is passed once in a thousand (table of the distribution).
    assert sum((count - expected) ** 2 / expected for count in counts) < 48.3
