"""A wiring that contradicts itself cannot be made, and none can be changed."""

from __future__ import annotations

import math
from typing import Any

import pytest

from trainer.practice.wiring import Trigger, Wiring, in_order


@pytest.mark.parametrize(
    ("how", "why"),
    [
        ({"strings": {0: 1}}, "channels 1 to 16"),
        ({"strings": {1: 0}}, "numbered from 1"),
        ({"strings": {1: 2, 3: 2}}, "same string"),
        ({"strings": {1: 1}, "master": 1}, "one string and all strings"),
        ({"master": 17}, "channels 1 to 16"),
        ({"bend_semitones": -1}, "0 semitones or more"),
        ({"bend_semitones": math.nan}, "0 semitones or more"),
        ({"latency_ms": {1: math.inf}}, "finite"),
        ({"levels": {0: 1.0}}, "numbered from 1"),
    ],
)
def test_what_contradicts_itself_is_refused(how: dict[str, Any], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Wiring(**how)


@pytest.mark.parametrize(("number", "channel"), [(128, None), (-1, None), (64, 0), (64, 17)])
def test_a_trigger_that_midi_has_not_is_refused(number: int, channel: int | None) -> None:
    with pytest.raises(ValueError, match=r"128|-1|channels"):
        Trigger("control", number, channel)


def test_what_was_given_cannot_change_a_wiring_afterwards() -> None:
    strings = dict(in_order(1, 6))
    wiring = Wiring(strings=strings)
    strings.clear()
    assert wiring.strings == in_order(1, 6)
    assert wiring == Wiring(strings=in_order(1, 6))


def test_latency_is_by_string_where_there_is_one() -> None:
    wiring = Wiring(strings=in_order(1, 6), latency_ms={6: 24.3}, latency_all_ms=15)
    assert [wiring.latency_s(string) for string in (6, 5, None)] == pytest.approx([0.0243, 0.0, 0.015])
