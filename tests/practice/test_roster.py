"""A class: what a roster allows, and how a seat is found."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.practice.roster import MOST_SEATS, Class, Seat

TRIO = Class("Tuesdays").add("kwb", name="Window seat", port="Six:strings").add("trp", name="Door").add("zdm")


def test_seats_take_the_lowest_free_number_and_stand_in_order() -> None:
    group = TRIO.remove("kwb").add("fgh", number=9).add("jkl")
    assert [(seat.number, seat.id) for seat in group.seats] == [(1, "jkl"), (2, "trp"), (3, "zdm"), (9, "fgh")]


def test_a_seat_is_renamed_and_its_name_taken_off() -> None:
    assert TRIO.rename("zdm", " Corner ").seat("zdm").name == "Corner"
    assert TRIO.rename("trp", None).seat("trp") == Seat("trp", 2)
    with pytest.raises(KeyError):
        TRIO.rename("nobody", "Corner")


def test_a_guitar_that_changes_hands_leaves_its_seat() -> None:
    bound = TRIO.bind("zdm", "Six:strings")
    assert [(seat.id, seat.port) for seat in bound.seats] == [("kwb", None), ("trp", None), ("zdm", "Six:strings")]
    assert bound.bind("zdm", "Six:strings") == bound


@pytest.mark.parametrize(("word", "key"), [("2", "trp"), ("door", "trp"), (" DOOR ", "trp"), ("window  seat", "kwb")])
def test_a_seat_is_found_by_number_or_name(word: str, key: str) -> None:
    assert TRIO.find(word).id == key


@pytest.mark.parametrize(
    ("word", "hint"), [("dor", "did you mean 'Door'?"), ("40", "its seats: 1, 2, 3"), ("zdm", "its seats: 1, 2, 3")]
)
def test_a_seat_that_is_not_there_is_told_with_the_nearest(word: str, hint: str) -> None:
    with pytest.raises(ChangeoverError) as error:
        TRIO.find(word)
    assert error.value.problems[0].hint == hint


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: TRIO.add("new", number=2), "two seats have the number 2"),
        (lambda: TRIO.add("kwb"), "two seats have the id 'kwb'"),
        (lambda: TRIO.add("new", name="DOOR"), "two seats have the name 'DOOR'"),
        (lambda: TRIO.rename("zdm", "door"), "two seats have the name 'door'"),
        (lambda: TRIO.add("new", port="Six:strings"), "two seats listen to the port 'Six:strings'"),
        (lambda: TRIO.add("new", number=0), "seats are numbered 1 to 40, not 0"),
        (lambda: TRIO.add("new", number=41), "seats are numbered 1 to 40, not 41"),
        (lambda: TRIO.add("new", name="  "), "a name is empty"),
        (lambda: TRIO.add("new", name="12"), "'12' would be taken for a number"),
        (lambda: TRIO.add("new", name="a\x1b[2J"), "a name holds a control character"),
        (lambda: TRIO.add("new", name="n" * 61), "a name has at most 60 characters, not 61"),
        (lambda: TRIO.add("../up"), "is no id of a seat"),
        (lambda: TRIO.add("7"), "is no id of a seat"),
        (lambda: TRIO.add("new", port=""), "a port's name has 1 to 200 characters"),
        (lambda: TRIO.add("new", port=" "), "a port's name has 1 to 200 characters"),
        (lambda: TRIO.add("new", port="a\x1b[2J"), "a port's name holds a control character"),
        (lambda: Class(" "), "a name is empty"),
    ],
)
def test_what_cannot_be_is_told(make: Callable[[], Class], what: str) -> None:
    with pytest.raises(ChangeoverError) as error:
        make()
    assert [problem.what for problem in error.value.problems] == [what]


def test_no_class_has_more_seats_than_a_round_has_keys() -> None:
    full = Class("Full", tuple(Seat(f"s{n:02}", n) for n in range(1, MOST_SEATS + 1)))
    with pytest.raises(ChangeoverError, match="has 40 seats, and no class has more"):
        full.add("one", number=None)


@given(st.lists(st.tuples(st.sampled_from(["add", "remove", "rename"]), st.integers(0, 5)), max_size=60))
def test_whatever_is_done_numbers_and_ids_stay_apart(steps: list[tuple[str, int]]) -> None:
    group = Class("Any")
    for step, (what, which) in enumerate(steps):
        ids = [seat.id for seat in group.seats]
        if what == "add" and len(ids) < MOST_SEATS:
            group = group.add(f"s{step:03}")
        elif ids and what == "remove":
            group = group.remove(ids[which % len(ids)])
        elif ids:
            group = group.rename(ids[which % len(ids)], f"name {step}")
    numbers = [seat.number for seat in group.seats]
    assert numbers == sorted(set(numbers))
    assert set(numbers) <= set(range(1, MOST_SEATS + 1))
    assert len({seat.id for seat in group.seats}) == len(group.seats)
