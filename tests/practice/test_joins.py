"""Cutting a passage and joining it again."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.practice.cuts import Joint, costs, joints, segments, suggest
from trainer.practice.drill import Segment
from trainer.practice.joins import IN_A_ROW, MISSES, Kind, Plan, State, begin, read

# Cuts


def cut_after(passage: Sequence[Joint], longest: int) -> list[int]:
    return [cut.after for cut in suggest(passage, longest)]


def bars(count: int, every: int) -> list[Joint]:
    return [Joint(on_bar=(number + 1) % every == 0) for number in range(count)]


def test_a_passage_short_enough_is_not_cut() -> None:
    assert suggest([Joint()] * 4, 4) == ()
    assert suggest([Joint(on_bar=True)] * 4, 4) == ()
    assert suggest([], 4) == ()


def test_a_long_passage_is_cut_as_rarely_as_its_bound_allows_and_at_bar_lines() -> None:
    # Twelve shapes, a bar line after every fourth: eleven changes, three segments of three and two seams.
    assert cut_after(bars(11, 4), 4) == [4, 8]
    assert cut_after(bars(11, 4), 3) == [4, 8]


def test_shifts_and_slow_changes_draw_cuts_and_say_so() -> None:
    passage = [Joint(ms=400.0)] * 3 + [Joint(shift=-5, ms=900.0)] + [Joint(ms=400.0)] * 3
    (cut,) = suggest(passage, 8)
    assert cut.after == 4
    assert cut.why == ("slow: 900 ms", "the hand shifts 5 frets")
    assert suggest([Joint(ms=400.0)] * 3 + [Joint(shift=1, ms=410.0)] + [Joint(ms=400.0)] * 3, 8) == ()


def test_one_reason_alone_does_not_cut_what_is_short_enough() -> None:
    assert suggest([Joint(), Joint(), Joint(shift=7), Joint(), Joint()], 5) == ()


@given(
    st.lists(st.builds(Joint, st.booleans(), st.integers(-7, 7), st.none() | st.floats(100, 3000)), max_size=11),
    st.integers(2, 5),
)
def test_no_other_way_to_cut_costs_less(passage: list[Joint], longest: int) -> None:
    shapes = len(passage) + 1

    def fits(cuts: Sequence[int]) -> bool:
        edges = [0, *cuts, shapes]
        return all(2 <= after - before <= longest + 1 for before, after in pairwise(edges))

    chosen = cut_after(passage, longest)
    ways = [cuts for count in range(shapes) for cuts in combinations(range(1, shapes), count) if fits(cuts)]
    if not ways:
        assert chosen == []
        return
    assert fits(chosen)
    assert [(part.first, part.last) for part in segments(shapes, chosen)] == [
        (before + 1, after) for before, after in pairwise([0, *chosen, shapes])
    ]
    prices = costs(passage)

    def cost(cuts: Sequence[int]) -> float:
        return sum(prices[after - 1] for after in cuts)

    assert cost(chosen) == pytest.approx(min(map(cost, ways)))


def test_an_odd_number_of_shapes_cannot_be_cut_into_twos() -> None:
    assert cut_after([Joint()] * 5, 1) == [2, 4]
    assert len(cut_after([Joint()] * 4, 1)) == 1


def test_joints_know_bar_lines_from_beats() -> None:
    found = joints([Fraction(2), Fraction(2), Fraction(3), Fraction(1), Fraction(4)], 4, [0, 3, 0, -1])
    assert [joint.on_bar for joint in found] == [False, True, False, True]
    assert [joint.shift for joint in found] == [0, 3, 0, -1]


@pytest.mark.parametrize("cuts", [[1], [4], [2, 3], [9], [0]])
def test_a_segment_without_a_change_is_refused(cuts: list[int]) -> None:
    with pytest.raises(ChangeoverError, match="two shapes"):
        segments(5, cuts)


def test_segments_of_no_changes_are_refused() -> None:
    with pytest.raises(ChangeoverError, match="at least 1"):
        suggest([Joint()], 0)


# The join plan

FOUR = segments(16, [4, 8, 12])
GOOD, POOR = (3, 3), (2, 3)


def played(plan: Plan, *runs: tuple[int, int]) -> Plan:
    for landed, asked in runs:
        plan = plan.after(landed, asked)
    return plan


def passing(plan: Plan) -> Plan:
    return played(plan, *[GOOD] * IN_A_ROW)


def places(plan: Plan) -> list[tuple[str, int, int]]:
    return [(step.kind, step.first, step.last) for step in plan.steps]


def test_alone_then_each_join_then_growing_runs_then_the_whole() -> None:
    assert places(begin(FOUR)) == [
        ("alone", 1, 4),
        ("alone", 5, 8),
        ("alone", 9, 12),
        ("alone", 13, 16),
        ("seam", 3, 6),
        ("neighbours", 1, 8),
        ("seam", 7, 10),
        ("neighbours", 5, 12),
        ("seam", 11, 14),
        ("neighbours", 9, 16),
        ("run", 1, 12),
        ("whole", 1, 16),
    ]


def test_a_step_is_named_once_and_the_whole_is_the_whole() -> None:
    assert places(begin(segments(8, [4]))) == [("alone", 1, 4), ("alone", 5, 8), ("seam", 3, 6), ("whole", 1, 8)]
    assert places(begin(segments(4, []))) == [("whole", 1, 4)]
    assert places(begin(segments(4, [2]))) == [("alone", 1, 2), ("alone", 3, 4), ("whole", 1, 4)]


def test_every_seam_is_crossed_with_the_change_before_and_after_it() -> None:
    for step in begin(FOUR).steps:
        if step.kind is Kind.SEAM:
            assert len(step.pairs) == 3
            assert step.pairs[1] in {(3, 4), (7, 8), (11, 12)}


def test_a_step_is_passed_by_good_runs_in_a_row_only() -> None:
    plan = begin(FOUR)
    assert played(plan, GOOD, POOR, GOOD).at == 0
    assert played(plan, GOOD, POOR, GOOD, GOOD).at == 1


def test_passing_all_in_turn_ends_the_plan_and_nothing_follows() -> None:
    plan = begin(FOUR)
    for number in range(len(plan.steps)):
        assert plan.at == number
        assert plan.states[number] is State.NOW
        plan = passing(plan)
    assert plan.step is None
    assert set(plan.states) == {State.PASSED}
    assert plan.after(3, 3) == plan.skipped() == plan


def test_a_long_step_that_is_passed_passes_what_is_part_of_it() -> None:
    whole = Plan(FOUR, at=11)
    assert passing(whole).step is None
    pair = passing(Plan(FOUR, at=5))
    assert pair.passed == {0, 1, 4, 5}
    assert pair.at == 2


def test_after_several_misses_the_plan_goes_back_to_the_longest_part() -> None:
    plan = played(Plan(FOUR, frozenset(range(10)), at=10), *[POOR] * MISSES)
    assert plan.step is not None
    assert (plan.step.kind, plan.step.first, plan.step.last) == ("neighbours", 5, 12)
    assert plan.at not in plan.passed
    first = played(begin(FOUR), *[POOR] * (MISSES + 1))
    assert first.at == 0


def test_segments_and_seams_that_are_good_already_are_skipped_and_longer_steps_are_played() -> None:
    plan = begin(FOUR, lambda pair: pair != (9, 10))
    assert [step.kind for step, state in zip(plan.steps, plan.states, strict=True) if state is State.PASSED] == [
        Kind.ALONE,
        Kind.ALONE,
        Kind.ALONE,
        Kind.SEAM,
        Kind.SEAM,
        Kind.SEAM,
    ]
    assert plan.step == begin(FOUR).steps[2]
    assert begin(FOUR, lambda _: True).at == 5


def test_the_player_may_skip_and_go_back() -> None:
    plan = begin(FOUR).skipped().skipped()
    assert (plan.at, plan.passed) == (2, frozenset({0, 1}))
    assert (plan.back().at, plan.back().passed) == (1, frozenset({0}))
    assert begin(FOUR).back().at == 0


def test_the_picture_shows_what_each_step_covers() -> None:
    assert begin(segments(8, [4])).picture() == ("■■■■····", "····■■■■", "··■■■■··", "■■■■■■■■")
    assert begin(segments(4, [2])).picture("#", ".")[0] == "##.."


@given(
    st.lists(st.integers(2, 5), min_size=1, max_size=6),
    st.lists(st.sampled_from(["good", "poor", "skip", "back"]), max_size=60),
)
def test_a_plan_left_at_any_point_resumes_as_it_was(sizes: list[int], moves: list[str]) -> None:
    edges = [sum(sizes[:number]) for number in range(len(sizes) + 1)]
    plan = begin(segments(edges[-1], edges[1:-1]))
    for move in moves:
        plan = {
            "good": lambda plan: plan.after(3, 3),
            "poor": lambda plan: plan.after(2, 3),
            "skip": Plan.skipped,
            "back": Plan.back,
        }[move](plan)
        assert read(plan.text) == plan
        assert plan.at == len(plan.steps) or plan.at not in plan.passed
        assert 0 <= plan.good < IN_A_ROW
        assert 0 <= plan.missed < MISSES


@pytest.mark.parametrize(
    "text",
    [
        "",
        "1-4",
        "1-4 6-8 | passed | at 0 good 0 missed 0",
        "4-1 | passed | at 0 good 0 missed 0",
        "1-4 5-8 | passed 9 | at 0 good 0 missed 0",
        "1-4 5-8 | passed | at 9 good 0 missed 0",
        "1-4 5-8 | passed | at 0 good 7 missed 0",
    ],
)
def test_what_is_no_plan_is_refused(text: str) -> None:
    with pytest.raises(ChangeoverError):
        read(text)


def test_parts_that_leave_a_gap_are_refused() -> None:
    with pytest.raises(ChangeoverError, match="end at shape 4 and begin at shape 6"):
        begin([Segment("a", 1, 4), Segment("b", 6, 8)])
    with pytest.raises(ChangeoverError, match="no segments"):
        begin([])


def test_a_plan_cut_anew_keeps_what_is_passed_where_the_steps_are_the_same() -> None:
    plan = begin(segments(8, [4])).skipped().skipped()
    assert [
        (step.first, step.last) for step, state in zip(plan.steps, plan.states, strict=True) if state is State.PASSED
    ] == [
        (1, 4),
        (5, 8),
    ]
    again = plan.recut(segments(8, [4, 6]))
    passed = [
        (step.first, step.last) for step, state in zip(again.steps, again.states, strict=True) if state is State.PASSED
    ]
    # The second half is two neighbours now.
    assert passed == [(1, 4), (5, 8)]
    assert again.step == again.steps[1]


def test_the_player_may_turn_to_any_step() -> None:
    plan = begin(segments(8, [4])).skipped()
    for number in range(len(plan.steps)):
        turned = plan.turned_to(number)
        assert turned.at == number
        assert turned.states[number] is State.NOW
        assert read(turned.text) == turned
