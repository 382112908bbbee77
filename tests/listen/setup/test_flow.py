"""The steps of setting up: in order, skipped, left and resumed, a port that comes and goes, by keys and by pedal."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from tests.listen.setup.hands import OPEN, TWO_PERIODS, Sent, Striker, Tracker, off, on
from trainer.listen import wire
from trainer.listen.setup.flow import (
    STAGES,
    Setup,
    Stage,
    again,
    begin,
    found,
    go,
    hear,
    lost,
    move,
    tick,
    turn,
)
from trainer.listen.setup.levelling import ENOUGH
from trainer.listen.setup.pedalling import CALLS
from trainer.listen.setup.striking import BEAT_S, LEAD, Striking
from trainer.practice.wiring import Trigger, Wiring, in_order

CHANNELS = {6: 11, 5: 12, 4: 13, 3: 14, 2: 15, 1: 16}
STRINGS = in_order(11, descending=True)
ONCE_MORE = (6, 5, 4, 3, 2, 1, 6)
KNOWN = Wiring(strings=STRINGS, latency_ms=TWO_PERIODS)
PEDAL = Trigger("control", 64)


def heard(setup: Setup, sent: Iterable[Sent]) -> Setup:
    at = 0.0
    for at, message in sent:
        setup = hear(setup, at, message)
    return tick(setup, at + 1)


def struck(setup: Setup, at: float, hand: Striker) -> Setup:
    """Begin the beat, strike along with it, and wait for its end."""
    setup = go(setup, at)
    for moment, string in hand.play(setup.striking):
        setup = hear(setup, moment, on(CHANNELS[string], OPEN[string]))
    assert setup.striking.start is not None
    return tick(setup, setup.striking.start + setup.striking.beats * BEAT_S + 1)


def press(setup: Setup, at: float, controller: int = 64) -> Setup:
    setup = hear(setup, at, wire.Message(wire.CONTROL, 1, controller, 127))
    return hear(setup, at + 0.2, wire.Message(wire.CONTROL, 1, controller, 0))


def test_a_guitar_is_set_up_from_nothing_to_the_last_step() -> None:
    setup, tracker = begin(Wiring()), Tracker(CHANNELS)
    setup = heard(setup, tracker.plucks(ONCE_MORE))
    assert setup.wiring.strings == STRINGS
    setup = go(setup, 0.0)
    assert setup.stage is Stage.LEVELS
    loud = {6: 90, 5: 80, 4: 80, 3: 80, 2: 80, 1: 60}
    setup = heard(setup, (one for s in loud for _ in range(ENOUGH) for one in tracker.pluck(s, loud[s])))
    assert setup.wiring.levels == {6: -10, 5: 0, 4: 0, 3: 0, 2: 0, 1: 20}
    setup = go(setup, 0.0)
    late = {string: 1.5 * ms for string, ms in TWO_PERIODS.items()}
    setup = struck(setup, 200.0, Striker(late, habit_ms=-15))
    assert setup.measured
    apart = setup.wiring.latency_ms[6] - setup.wiring.latency_ms[1]
    assert apart == pytest.approx(late[6] - late[1], abs=5)
    assert setup.wiring.levels
    setup = go(setup, 0.0)
    assert setup.stage is Stage.PEDALS
    setup = press(setup, 300.0, 66)
    assert setup.wiring.calls == {PEDAL: "press", Trigger("control", 66): "press"}
    assert setup.done == frozenset(STAGES)


def test_every_step_can_be_skipped_and_taken_again_and_nothing_known_is_lost() -> None:
    setup = begin(KNOWN)
    stages = [setup.stage]
    for by in (1, 1, 1, -1, -1, -1, -1):
        setup = move(setup, by)
        stages.append(setup.stage)
    assert [str(stage) for stage in stages] == [
        "levels", "latency", "pedals", "pedals", "latency", "levels", "strings", "strings",
    ]  # fmt: skip
    assert setup.wiring == KNOWN


def test_what_is_half_done_goes_on_after_another_step_and_after_the_port_was_gone() -> None:
    setup, tracker = begin(Wiring()), Tracker(CHANNELS)
    setup = heard(setup, tracker.plucks((6, 5, 4)))
    setup = found(lost(move(move(setup, 1), -1)))
    assert setup.learning.asked == 3
    setup = heard(setup, tracker.plucks((3, 2, 1, 6)))
    assert setup.wiring.strings == STRINGS
    setup = heard(move(setup, 1), (one for _ in range(4) for one in tracker.pluck(6)))
    setup = move(move(setup, 1), -1)
    assert setup.levelling.count(6) == 4


@pytest.mark.parametrize(
    ("wiring", "measured", "stage"),
    [
        (Wiring(), False, Stage.STRINGS),
        (KNOWN, False, Stage.LEVELS),
        (Wiring(latency_all_ms=13.4), False, Stage.LEVELS),
        (Wiring(strings=STRINGS, levels={6: 1.0}), False, Stage.LATENCY),
        (Wiring(strings=STRINGS, levels={6: 1.0}, latency_ms=TWO_PERIODS), True, Stage.PEDALS),
        (Wiring(strings=STRINGS), True, Stage.LEVELS),
    ],
)
def test_it_is_resumed_at_the_first_step_that_is_not_done(wiring: Wiring, measured: bool, stage: Stage) -> None:
    assert begin(wiring, measured=measured).stage is stage


def test_strings_learned_anew_begin_levels_and_latency_anew() -> None:
    known = Wiring(strings=in_order(), levels={6: 5.0}, latency_ms={6: 40.0}, calls={PEDAL: "next"})
    setup = again(move(begin(known, measured=True), -3))
    assert setup.wiring.strings == in_order(), "kept until the new ones are known"
    setup = heard(setup, Tracker(CHANNELS).plucks(ONCE_MORE))
    assert setup.wiring.strings == STRINGS
    assert not setup.wiring.levels
    assert setup.wiring.latency_ms[6] == pytest.approx(24.3, abs=0.05)
    assert setup.wiring.calls == known.calls
    assert setup.done == {Stage.STRINGS}


def test_where_strings_are_not_told_apart_levels_are_passed_over_and_latency_is_one() -> None:
    setup = heard(begin(Wiring()), Tracker(dict.fromkeys(OPEN, 1)).plucks(ONCE_MORE))
    setup = go(setup, 0.0)
    assert "cannot be levelled" in setup.said
    setup = go(go(setup, 0.0), 200.0)
    for moment, string in Striker(TWO_PERIODS, habit_ms=-20).play(setup.striking):
        setup = hear(setup, moment, on(1, OPEN[string]))
    setup = tick(setup, 1000.0)
    assert setup.measured
    assert not setup.wiring.latency_ms
    assert setup.wiring.latency_all_ms == pytest.approx(sum(TWO_PERIODS.values()) / 6, abs=0.1)


def test_uneven_strokes_change_nothing_and_count_with_the_next_go() -> None:
    setup = move(begin(KNOWN), 1)
    setup = struck(setup, 10.0, Striker(TWO_PERIODS, 1, hand_scatter_ms=8))
    assert (setup.wiring, setup.measured, setup.warn) == (KNOWN, False, True)
    for go_again in range(4):
        setup = struck(setup, 100.0 * (go_again + 1), Striker(TWO_PERIODS, 2 + go_again, hand_scatter_ms=8))
        if setup.measured:
            break
    assert setup.measured
    assert len(setup.strokes) > 24


def test_the_beat_is_stopped_by_the_key_that_began_it_and_by_the_loss_of_the_port() -> None:
    setup = go(move(begin(KNOWN), 1), 10.0)
    assert setup.beating
    assert not go(setup, 12.0).beating
    gone = lost(setup)
    assert (gone.beating, gone.away, gone.warn) == (False, True, True)
    assert found(gone).said == "The guitar is back."


def test_beats_are_counted_before_each_group_of_strings() -> None:
    striking = Striking(6, 10.0)
    assert striking.place(9.9) is None
    first, last = striking.place(10.0), striking.place(10.0 + striking.beats * BEAT_S - 0.1)
    assert first is not None
    assert last is not None
    assert (first.group, first.beat, first.counting) == (0, 0, True)
    assert (last.group, last.counting) == (2, False)
    beats = []
    at: float | None = 9.5
    while at is not None:
        at = striking.next_beat(at)
        beats.append(at)
    assert beats == [*(10.0 + number * BEAT_S for number in range(36)), None]
    assert striking.place(10.0 + LEAD * BEAT_S) == type(first)(0, LEAD)


def test_a_pedal_does_what_its_key_does() -> None:
    setup = begin(Wiring(strings=STRINGS, calls={PEDAL: "press", Trigger("note", 24): "previous"}))
    setup = press(setup, 1.0)
    assert setup.stage is Stage.LATENCY
    setup = hear(setup, 2.0, on(10, 24))
    assert setup.stage is Stage.LEVELS
    assert not setup.notes, "a pedal's note is no string's"


def test_a_pedal_held_down_or_sent_on_every_channel_is_one_press() -> None:
    setup = begin(Wiring(strings=STRINGS))
    for channel in range(11, 17):
        setup = hear(setup, 1.0, wire.Message(wire.CONTROL, channel, 64, 127))
    for value in (90, 70, 50, 66):
        setup = hear(setup, 1.5, wire.Message(wire.CONTROL, 11, 64, value))
    assert setup.stage is Stage.LATENCY


def test_each_press_of_a_pedal_goes_on_to_what_it_may_call_in_a_ring() -> None:
    setup = move(begin(KNOWN, measured=True), 3)
    called = []
    for number in range(len(CALLS) + 1):
        setup = press(setup, float(number), 67)
        called.append(setup.wiring.calls[Trigger("control", 67)])
    assert called == [*CALLS, CALLS[0]]
    assert turn(setup, -1).wiring.calls[Trigger("control", 67)] == CALLS[-1]


def test_a_known_pedal_is_shown_before_it_is_changed() -> None:
    setup = press(move(begin(KNOWN), 2), 1.0)
    assert setup.pedal == PEDAL
    assert setup.wiring.calls[PEDAL] == "press"
    assert press(setup, 2.0).wiring.calls[PEDAL] == "next"


def test_a_note_on_no_strings_channel_may_be_a_pedal_and_a_string_never() -> None:
    setup = move(begin(KNOWN), 2)
    assert hear(setup, 1.0, on(11, 40)).pedal is None
    assert hear(setup, 1.0, on(10, 36)).pedal == Trigger("note", 36, 10)


@pytest.mark.parametrize("number", [0, 6, 32, 38, 96, 101, 120, 123, 127])
def test_controllers_that_set_things_are_no_pedals(number: int) -> None:
    # MIDI 1.0, table of controllers: bank select, data entry, parameters, channel modes.
    setup = move(begin(KNOWN), 2)
    assert press(setup, 1.0, number).pedal is None


def test_every_note_is_shown_with_its_string_and_velocity() -> None:
    setup = hear(begin(KNOWN), 1.0, on(11, 43, 77))
    note = setup.notes[6]
    assert (note.string, note.pitch, note.velocity, note.channel) == (6, 43, 77, 11)
    setup = hear(hear(setup, 1.1, on(3, 50, 60)), 1.2, off(3, 50))
    assert setup.notes[None].channel == 3
