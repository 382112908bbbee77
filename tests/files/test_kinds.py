"""What values must be, and what is said of those that are not."""

from __future__ import annotations

import datetime
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import wrong
from trainer.files.kinds import (
    FLAG,
    Kind,
    UnfitError,
    choice,
    closest,
    integer,
    list_of,
    map_of,
    number,
    parsed,
    shown,
    text,
)


def faults(kind: Kind[Any], value: object) -> list[tuple[str, str | None, tuple[str | int, ...]]]:
    with pytest.raises(UnfitError) as caught:
        kind.read(value)
    return [(fault.what, fault.hint, fault.at) for fault in caught.value.faults]


@pytest.mark.parametrize(
    "value", [True, False, 3.0, "3", None, [3], 0, 10, pytest.param(-(10**5000), id="huge"), math.nan]
)
def test_a_whole_number_is_nothing_else(value: object) -> None:
    assert faults(integer(1, 9), value)[0][0].startswith("must be a whole number from 1 to 9, not ")


@given(st.integers(1, 9))
def test_whole_numbers_within_bounds_are_taken(value: int) -> None:
    assert integer(1, 9).read(value) == value


@pytest.mark.parametrize(
    ("value", "named"),
    [
        (True, "true"),
        (math.nan, "nan"),
        (math.inf, "infinity"),
        (-math.inf, "minus infinity"),
        (10**400, "a huge number"),
        (1.01, "1.01"),
        ("0.5", "the text '0.5'"),
        ({}, "a table"),
        (datetime.date(2024, 2, 29), "a date or time"),
    ],
)
def test_a_number_is_finite_and_within_bounds(value: object, named: str) -> None:
    assert faults(number(0, 1), value) == [(f"must be a number from 0 to 1, not {named}", None, ())]


@given(st.floats(0, 1) | st.integers(0, 1))
def test_numbers_within_bounds_are_taken_as_floats(value: float) -> None:
    taken = number(0, 1).read(value)
    assert taken == value
    assert isinstance(taken, float)


@pytest.mark.parametrize("value", [0, 1, "true", None, []])
def test_a_flag_is_true_or_false(value: object) -> None:
    assert faults(FLAG, value) == [(f"must be true or false, not {shown(value)}", None, ())]
    assert FLAG.read(True) is True


@pytest.mark.parametrize(
    ("value", "what"),
    [
        ("", "is empty"),
        (" \t ", "is empty"),
        ("123456", "is too long: 6 characters of 5"),
        ("a\x1b[1", "holds the control character U+001B"),
        ("a\nb", "holds the control character U+000A"),
        ("a\x9bb", "holds the control character U+009B"),
        ("a\u202eb", "holds the control character U+202E"),
        (5, "must be text of 1 to 5 characters, not 5"),
    ],
)
def test_text_that_is_refused(value: object, what: str) -> None:
    assert faults(text(5), value)[0][0] == what


@pytest.mark.parametrize("value", ["Am7♭5", "می‌نوا", "👩‍🎤", "[b]"])
def test_text_of_every_script_is_taken(value: str) -> None:
    assert text().read(value) == value


def test_line_breaks_are_taken_where_lines_are_wanted() -> None:
    assert text(lines=True).read("a\n\tb") == "a\n\tb"
    assert faults(text(lines=True), "a\rb")[0][0] == "holds the control character U+000D"


def test_a_choice_names_the_nearest() -> None:
    kind = choice("unicode", "ascii")
    assert kind.read("ascii") == "ascii"
    assert kind.choices == ("unicode", "ascii")
    what = "must be 'unicode' or 'ascii', not the text 'Asci'"
    assert faults(kind, "Asci") == [(what, "did you mean 'ascii'?", ())]
    assert faults(kind, True) == [("must be 'unicode' or 'ascii', not true", None, ())]
    assert faults(choice("a"), "b")[0][0] == "must be 'a', not the text 'b'"


def test_a_parser_says_what_it_does_not_understand() -> None:
    def parse(word: str) -> int:
        if word == "bad":
            raise wrong("is bad", hint="be good")
        return int(word)

    kind = parsed("a numeral", parse)
    assert kind.read("12") == 12
    assert faults(kind, "bad") == [("is bad", "be good", ())]
    assert faults(kind, "x")[0][0] == "must be a numeral, not the text 'x'"
    assert faults(kind, 12) == [("must be a numeral, not 12", None, ())]
    assert faults(kind, "")[0][0] == "is empty"


def test_each_wrong_entry_of_a_list_is_told_with_its_place() -> None:
    kind = list_of(list_of(integer(0, 9)), 1, 3)
    assert kind.read([[1], []]) == ((1,), ())
    assert [at for _, _, at in faults(kind, [[1, True], "x", [99]])] == [(0, 1), (1,), (2, 0)]
    assert faults(kind, []) == [("must be a list of 1 to 3 entries, not of 0", None, ())]
    assert faults(list_of(FLAG, 2, 2), [True])[0][0] == "must be a list of 2 entries, not of 1"
    assert faults(kind, {})[0][0] == "must be a list of 1 to 3 entries, not a table"


def test_each_wrong_value_of_a_map_is_told_with_its_key() -> None:
    kind = map_of(integer(0, 9))
    assert kind.read({"a": 1}) == {"a": 1}
    assert [at for _, _, at in faults(kind, {"a": 1, "b": "x", "c": 10})] == [("b",), ("c",)]
    assert faults(kind, [])[0][0] == "must be a table, not a list"


def test_long_values_are_shortened() -> None:
    assert len(shown("x" * 1000)) < 60
    assert shown(12) == "12"


def test_only_near_words_are_hinted_at() -> None:
    assert closest("temp", ["tempo", "title"]) == "did you mean 'tempo'?"
    assert closest("zzz", ["tempo", "title"]) is None
