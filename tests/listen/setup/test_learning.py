"""Strings learned from plucks: every way guitars use channels, wrong plucks, ghosts, other tunings, MPE."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.listen.setup.hands import OPEN, TWO_PERIODS, Sent, Tracker, on
from tests.listen.zones import mpe
from trainer.fretboard.instrument import Instrument
from trainer.listen import wire
from trainer.listen.setup.learning import Learning
from trainer.listen.setup.plucks import Pluck, Plucks
from trainer.practice.wiring import Trigger, Wiring, in_order

DOWN_FROM_6 = (6, 5, 4, 3, 2, 1)
ONCE_MORE = (*DOWN_FROM_6, 6)


def learned(sent: Iterable[Sent], learning: Learning | None = None) -> Learning:
    learning, plucks, at = learning or Learning(), Plucks(), 0.0
    for at, message in sent:
        learning = learning.observe(message)
        plucks, pluck = plucks.feed(at, message)
        learning = learning if pluck is None else learning.take(pluck)
    _, pluck = plucks.tick(at + 1)
    return learning if pluck is None else learning.take(pluck)


def channels(strings: Mapping[int, int]) -> dict[int, int]:
    """Return the channel of each string, given the string of each channel."""
    return {string: channel for channel, string in strings.items()}


@given(
    order=st.one_of(
        st.builds(in_order, st.integers(1, 11), descending=st.booleans()).map(channels),
        st.permutations(range(1, 17)).map(lambda every: dict(zip(DOWN_FROM_6, every, strict=False))),
    ),
    seed=st.integers(0, 999),
)
@settings(max_examples=80)
def test_any_channels_are_learned_whatever_ghosts_and_octaves_come_with_them(order: dict[int, int], seed: int) -> None:
    tracker = Tracker(order, seed, ghosts=0.3, octaves=0.2, rings=0.3)
    learning = learned(tracker.plucks(ONCE_MORE))
    assert learning.done
    assert dict(learning.wiring(Wiring()).strings) == {channel: string for string, channel in order.items()}


def test_until_the_latency_is_measured_two_periods_are_taken_off() -> None:
    # E2 A2 D3 G3 B3 E4 have 82.407 ... 329.628 Hz (A4 = 440 Hz, ISO 16); two periods of each, computed.
    wiring = learned(Tracker(channels(in_order())).plucks(ONCE_MORE)).wiring(Wiring())
    assert {string: round(ms, 1) for string, ms in wiring.latency_ms.items()} == TWO_PERIODS


@given(wrong=st.lists(st.sampled_from(DOWN_FROM_6), max_size=4), before=st.integers(1, 6))
@settings(max_examples=60)
def test_a_wrong_string_or_one_plucked_twice_is_told_and_changes_nothing(wrong: list[int], before: int) -> None:
    # No string twice running unless it is known already: that would be taken as the player means it.
    wrong = [string for string, last in zip(wrong, [0, *wrong], strict=False) if string != last or string > before]
    tracker = Tracker(channels(in_order(11, descending=True)))
    learning = learned(tracker.plucks(string for string in DOWN_FROM_6 if string > before))
    for string in wrong:
        after = learned(tracker.plucks([string]), learning)
        if string != before and learning.asked == before:
            assert after.found == learning.found
            assert after.warn
            assert f"string {string}" in after.said
        learning = after
    rest = [string for string in ONCE_MORE if string not in learning.found]
    learning = learned(tracker.plucks([*rest, 6]), learning)
    assert learning.done
    assert learning.wiring(Wiring()).strings == in_order(11, descending=True)


def test_all_strings_on_one_channel_are_not_told_apart() -> None:
    learning = learned(Tracker(dict.fromkeys(OPEN, 3)).plucks(ONCE_MORE))
    wiring = learning.wiring(Wiring())
    assert learning.done
    assert (dict(wiring.strings), dict(wiring.latency_ms)) == ({}, {})
    assert wiring.latency_all_ms == pytest.approx(sum(TWO_PERIODS.values()) / 6, abs=0.05)
    assert "channel 3" in learning.said


def test_channels_that_are_dealt_out_note_by_note_tell_no_string() -> None:
    tracker = Tracker(channels(in_order()))
    sent = [one for place, string in enumerate(ONCE_MORE) for one in tracker.pluck(string, channel=2 + place)]
    learning = learned(sent)
    assert learning.done
    assert not learning.wiring(Wiring()).strings
    assert "from note to note" in learning.said


def test_two_strings_on_one_channel_are_asked_for_once_more_and_then_left_apart() -> None:
    tracker = Tracker({**channels(in_order()), 4: 3})
    learning = learned(tracker.plucks(DOWN_FROM_6))
    assert "4 and 3" in learning.said
    assert learning.asked == 4
    learning = learned(tracker.plucks([4, 3, 6]), learning)
    assert learning.done
    assert sorted(learning.wiring(Wiring()).strings.values()) == [1, 2, 5, 6]


@pytest.mark.parametrize("upper", [False, True])
def test_an_mpe_zone_has_its_master_and_its_bend(upper: bool) -> None:
    # RP-053: the zone is set up by RPN 6 on the master channel; members bend over 48 semitones.
    wanted = mpe(upper=upper)
    assert wanted.master is not None
    setting = [
        wire.Message(wire.CONTROL, wanted.master, number, value) for number, value in ((101, 0), (100, 6), (6, 6))
    ]
    learning = Learning()
    for message in setting:
        learning = learning.observe(message)
    wiring = learned(Tracker(channels(wanted.strings)).plucks(ONCE_MORE), learning).wiring(Wiring())
    assert (wiring.strings, wiring.master, wiring.bend_semitones) == (wanted.strings, wanted.master, 48.0)


def test_a_bend_range_that_the_guitar_says_is_kept() -> None:
    # MIDI 1.0: RPN 0 is the bend's range, data entry (controller 6) its semitones.
    learning = Learning()
    for number, value in ((101, 0), (100, 0), (6, 12)):
        learning = learning.observe(wire.Message(wire.CONTROL, 1, number, value))
    wiring = learned(Tracker(channels(in_order())).plucks(ONCE_MORE), learning).wiring(Wiring())
    assert wiring.bend_semitones == 12.0


def test_pedals_that_are_known_stay() -> None:
    calls = {Trigger("control", 66): "next"}
    wiring = learned(Tracker(channels(in_order())).plucks(ONCE_MORE)).wiring(Wiring(calls=calls))
    assert wiring.calls == calls


@pytest.mark.parametrize(
    ("by", "said"),
    [
        (-1, "Every string sounds a semitone below its usual pitch: tune it"),
        (2, "Every string sounds a tone above its usual pitch"),
        (12, "Every string sounds an octave above its usual pitch: look for 'transpose'"),
        (-12, "Every string sounds an octave below its usual pitch"),
    ],
)
def test_a_guitar_that_is_off_as_a_whole_is_learned_and_told(by: int, said: str) -> None:
    learning = learned(Tracker(channels(in_order()), transpose=by).plucks(ONCE_MORE))
    assert learning.wiring(Wiring()).strings == in_order()
    assert said in " ".join(learning.remarks)


@pytest.mark.parametrize(
    ("names", "remark"),
    [
        ("D2 A2 D3 G3 B3 E4", "String 6 sounds D2, a tone below E2."),
        ("D2 A2 D3 G3 A3 D4", "String 2 sounds A3, a tone below B3."),
        ("D2 G2 D3 G3 B3 D4", "String 5 sounds G2, a tone below A2."),
        ("E2 A2 D3 G3 C4 F4", "String 1 sounds F4, a semitone above E4."),
    ],
)
def test_other_tunings_are_learned_and_told(names: str, remark: str) -> None:
    tuning = dict(enumerate(reversed(Instrument.tuned(names).tuning), start=1))
    tracker = Tracker(channels(in_order(11, descending=True)))
    sent = [one for string in ONCE_MORE for one in tracker.pluck(string, pitch=tuning[string])]
    learning = learned(sent)
    assert learning.wiring(Wiring()).strings == in_order(11, descending=True)
    assert remark in learning.remarks


def test_one_string_an_octave_off_is_told_and_taken() -> None:
    tracker = Tracker(channels(in_order()))
    learning = learned([*tracker.pluck(6, pitch=52)])
    assert learning.found[6].pitch == 52
    assert "an octave above E2" in learning.said


def test_what_is_plucked_twice_running_is_taken_as_the_player_means_it() -> None:
    # Two octaves above E2 is string 1's own E4: only the player can know.
    tracker = Tracker(channels(in_order()))
    learning = learned(tracker.pluck(6, pitch=64))
    assert learning.asked == 6
    assert "string 1" in learning.said
    learning = learned(tracker.pluck(6, pitch=64), learning)
    assert learning.found[6].channel == 6


def test_who_insists_on_counting_from_the_other_side_is_turned_round() -> None:
    tracker = Tracker(channels(in_order()))
    learning = learned(tracker.plucks(string for string in (1, 2, 3, 4, 5, 6) for _ in range(2)))
    learning = learned(tracker.plucks([6]), learning)
    assert learning.done
    assert learning.wiring(Wiring()).strings == in_order()


def test_several_strings_at_once_are_refused() -> None:
    learning = Learning().take(Pluck(0.0, 6, 40, 80, alone=False))
    assert not learning.found
    assert "alone" in learning.said


def test_a_fretted_note_far_from_the_string_is_refused() -> None:
    plucks, _ = Plucks().feed(0.0, on(6, 61))
    _, pluck = plucks.tick(1.0)
    assert pluck is not None
    assert "C#4 is far from E2" in Learning().take(pluck).said


@pytest.mark.parametrize(("count", "names"), [(4, "E1 A1 D2 G2"), (7, "B1 E2 A2 D3 G3 B3 E4")])
def test_more_or_fewer_strings(count: int, names: str) -> None:
    tuning = Instrument.tuned(names).tuning
    pitches = dict(enumerate(reversed(tuning), start=1))
    tracker = Tracker({string: string for string in pitches})
    order = [*range(count, 0, -1), count]
    learning = learned((one for s in order for one in tracker.pluck(s, pitch=pitches[s])), Learning(tuning))
    assert learning.wiring(Wiring()).strings == in_order(1, count)
