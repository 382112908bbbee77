"""Stages of recall: what is in sight, and how a shape moves through them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.practice.recall import (
    CLEAN_IN_A_ROW,
    SHOWN,
    Memory,
    Recall,
    Shown,
    Stage,
    Tally,
    read,
    tally,
    unread,
)
from trainer.practice.record import How


def answered(shape: Recall, answers: str) -> Recall:
    for answer in answers:
        shape = shape.after(answer == "+")
    return shape


@pytest.mark.parametrize(
    ("answers", "stage", "streak"),
    [
        ("", Stage.BOARD, 0),
        ("-", Stage.BOARD, 0),
        ("++", Stage.BOARD, 2),
        ("++-++", Stage.BOARD, 2),
        ("+++", Stage.HIDDEN, 0),
        ("+++-", Stage.BOARD, 0),
        ("++++++", Stage.NAME, 0),
        ("++++++++-", Stage.HIDDEN, 0),
        ("+++" * 4, Stage.BLANK, 0),
        ("+++" * 5, Stage.BLANK, 3),
        ("+++" * 5 + "++", Stage.BLANK, 3),
        ("+++" * 5 + "-", Stage.BAR, 0),
    ],
)
def test_three_clean_step_on_and_a_miss_steps_back(answers: str, stage: Stage, streak: int) -> None:
    assert answered(Recall(), answers) == Recall(stage, streak)


def test_each_stage_shows_less_than_the_one_before() -> None:
    def sights(shown: Shown) -> int:
        return sum((shown.board, shown.landed, shown.name, shown.bar))

    amounts = [sights(SHOWN[stage]) for stage in Stage]
    assert amounts == sorted(amounts, reverse=True)
    assert (amounts[0], amounts[-1]) == (4, 0)
    assert len({shown.words for shown in SHOWN.values()}) == len(Stage)


def test_only_a_board_in_sight_counts_as_read() -> None:
    assert [Recall(stage).how for stage in Stage] == [How.READ, *[How.RECALLED] * 4]


def test_shapes_are_known_one_by_one_and_silence_says_nothing() -> None:
    memory = unread(3)
    for _ in range(3):
        memory = memory.after(1, clean=True)
    assert [shape.stage for shape in memory.shapes] == [Stage.BOARD, Stage.HIDDEN, Stage.BOARD]
    assert memory.after(1, clean=None) == memory
    assert memory.known == 0
    assert Memory((Recall(Stage.BLANK, CLEAN_IN_A_ROW), Recall(Stage.BLANK))).known == 1


def test_the_order_is_musical_until_every_shape_comes_from_memory_then_shuffled() -> None:
    pairs = [(0, 1), (1, 2), (2, 0)]
    draws = [0.9, 0.1, 0.5]
    early = Memory((Recall(Stage.NAME), Recall(Stage.HIDDEN), Recall(Stage.BLANK)))
    assert early.order(pairs, draws) == tuple(pairs)
    later = Memory((Recall(Stage.NAME), Recall(Stage.BAR), Recall(Stage.BLANK)))
    assert later.order(pairs, draws) == ((1, 2), (2, 0), (0, 1))


@given(st.lists(st.tuples(st.integers(0, 4), st.booleans()), max_size=120))
def test_a_memory_survives_its_text_form_and_stays_in_bounds(played: list[tuple[int, bool]]) -> None:
    memory = unread(5)
    for shape, clean in played:
        before = memory.shapes[shape].stage
        memory = memory.after(shape, clean)
        assert abs(memory.shapes[shape].stage - before) <= 1
        assert read(memory.text) == memory


@pytest.mark.parametrize("text", ["", "x", "5:0", "0:3", "0:0,1:1", "0:0  x"])
def test_what_is_no_memory_is_refused(text: str) -> None:
    with pytest.raises(ChangeoverError):
        read(text)


def test_read_and_recalled_are_counted_apart_and_only_where_somebody_spoke() -> None:
    played = [(How.READ, True), (How.READ, None), (How.RECALLED, False), (How.RECALLED, True), (How.READ, True)]
    assert tally(played) == Tally(read=(2, 2), recalled=(1, 2))
