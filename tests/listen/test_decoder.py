"""What guitars say, decoded. Outside values: MIDI 1.0 (bend range, channel modes), MPE (zones); mido reads along."""

from __future__ import annotations

import random
from typing import Any

import mido  # type: ignore[import-untyped]  # it has no stubs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.listen.zones import mpe
from trainer.listen.decoder import RESTRUCK_S, Call, Decoded, Decoder
from trainer.listen.pedals import DOWN, UP
from trainer.listen.wire import Message, Wire
from trainer.practice.notes import Bend, NoteOff, NoteOn
from trainer.practice.wiring import Trigger, Wiring, in_order, two_periods_ms

STRINGS = Wiring(strings=in_order(1, 6))
ONE = Wiring()


def on(channel: int, pitch: int, velocity: int = 90) -> bytes:
    return bytes([0x8F + channel, pitch, velocity])


def off(channel: int, pitch: int) -> bytes:
    return bytes([0x7F + channel, pitch, 64])


def control(channel: int, number: int, value: int) -> bytes:
    return bytes([0xAF + channel, number, value])


def bend(channel: int, steps: int) -> bytes:
    value = 8192 + steps
    return bytes([0xDF + channel, value & 0x7F, value >> 7])


def parameter(channel: int, number: int, coarse: int, fine: int | None = None) -> bytes:
    data = control(channel, 101, 0) + control(channel, 100, number) + control(channel, 6, coarse)
    return data + (b"" if fine is None else control(channel, 38, fine))


def near(value: float, within: float) -> Any:
    return pytest.approx(value, abs=within)


def decode(wiring: Wiring, *sent: bytes, at: float = 1.0) -> list[Decoded]:
    decoder = Decoder(wiring)
    return [event for data in sent for event in decoder.feed(at, data)]


# How a guitar tells its strings


@pytest.mark.parametrize(
    ("base", "descending", "channel", "string"),
    [(1, False, 1, 1), (1, False, 6, 6), (1, True, 1, 6), (11, False, 16, 6), (11, True, 11, 6), (3, True, 8, 1)],
)
def test_each_string_has_its_channel_from_any_base_in_either_order(
    base: int, descending: bool, channel: int, string: int
) -> None:
    wiring = Wiring(strings=in_order(base, 6, descending=descending))
    assert decode(wiring, on(channel, 52), off(channel, 52)) == [NoteOn(1.0, 52, 90, string), NoteOff(1.0, 52, string)]


def test_channels_that_midi_has_not_are_refused() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        in_order(12, 6)
    with pytest.raises(ValueError, match="channels 1 to 16"):
        Wiring(strings={17: 1})
    with pytest.raises(ValueError, match="same string"):
        Wiring(strings={1: 1, 2: 1})


def test_everything_on_one_channel_has_no_strings() -> None:
    assert decode(ONE, on(1, 40), on(1, 47), off(1, 40)) == [
        NoteOn(1.0, 40, 90),
        NoteOn(1.0, 47, 90),
        NoteOff(1.0, 40),
    ]


def test_a_pitch_that_two_unknown_strings_share_ends_with_the_last_of_them() -> None:
    events = decode(ONE, on(1, 52), on(2, 52), off(1, 52), off(2, 52))
    assert events == [NoteOn(1.0, 52, 90), NoteOn(1.0, 52, 90), NoteOff(1.0, 52)]


def test_a_channel_that_is_no_string_is_still_heard() -> None:
    assert decode(STRINGS, on(12, 52)) == [NoteOn(1.0, 52, 90, None)]


# Notes


def test_a_note_on_without_velocity_is_an_end_and_status_runs_on() -> None:
    # MIDI 1.0: running status; note-on with velocity 0 is a note-off.
    assert decode(ONE, bytes([0x90, 52, 80, 55, 81, 52, 0])) == [
        NoteOn(1.0, 52, 80),
        NoteOn(1.0, 55, 81),
        NoteOff(1.0, 52),
    ]


def test_clock_and_active_sensing_may_stand_within_a_message() -> None:
    assert decode(ONE, bytes([0xFE, 0x90, 0xF8, 52, 0xFE, 80, 0xF8])) == [NoteOn(1.0, 52, 80)]


def test_system_common_ends_running_status() -> None:
    assert decode(ONE, bytes([0x90, 52, 80, 0xF1, 55, 81, 52])) == [NoteOn(1.0, 52, 80)]


@pytest.mark.parametrize("number", [120, 123, 124, 125, 126, 127])
def test_mode_messages_end_the_notes_of_their_channel(number: int) -> None:
    # MIDI 1.0, channel mode messages: all sound off, all notes off, and the four modes, which imply it.
    events = decode(STRINGS, on(1, 64), on(2, 59), control(1, number, 0))
    assert events[2:] == [NoteOff(1.0, 64, 1)]


def test_program_changes_and_pressure_say_nothing() -> None:
    assert decode(STRINGS, bytes([0xC0, 5]), bytes([0xD0, 9]), bytes([0xA0, 64, 9])) == []


def test_an_end_right_after_a_note_was_struck_again_belongs_to_the_stroke_before() -> None:
    decoder = Decoder(STRINGS)
    decoder.feed(1.0, on(1, 64))
    assert decoder.feed(2.0, on(1, 64)) == (NoteOn(2.0, 64, 90, 1),)
    assert decoder.feed(2.0 + RESTRUCK_S / 2, off(1, 64)) == ()
    assert decoder.feed(2.0 + RESTRUCK_S / 2, off(1, 64)) == (NoteOff(2.0 + RESTRUCK_S / 2, 64, 1),)


def test_an_end_of_a_note_that_does_not_sound_says_nothing() -> None:
    assert decode(STRINGS, off(1, 64)) == []


def test_closing_ends_a_stuck_note_and_takes_its_bend_back() -> None:
    decoder = Decoder(STRINGS)
    decoder.feed(1.0, on(1, 64) + bend(1, 4096))
    assert decoder.close(3.0) == (NoteOff(3.0, 64, 1), Bend(3.0, 0.0, 1))
    assert decoder.close(4.0) == ()


def test_latency_is_taken_off_once_and_levels_are_added() -> None:
    # Two periods of each open string: 24.3 18.2 13.6 10.2 8.1 6.1 ms from the last string on (computed, A4 = 440 Hz).
    latency = two_periods_ms({6: 40, 5: 45, 4: 50, 3: 55, 2: 59, 1: 64})
    assert [round(latency[string], 1) for string in (6, 5, 4, 3, 2, 1)] == [24.3, 18.2, 13.6, 10.2, 8.1, 6.1]
    wiring = Wiring(strings=in_order(1, 6), latency_ms=latency, levels={6: 10.4, 1: -200})
    first, second, third = decode(wiring, on(6, 40), off(6, 40), on(1, 64))
    assert first == NoteOn(near(1.0 - 0.02427, 1e-5), 40, 100, 6)
    assert second.at == first.at
    assert third == NoteOn(near(1.0 - 0.00607, 1e-5), 64, 1, 1)


def test_latency_where_strings_are_not_told_apart() -> None:
    assert decode(Wiring(latency_all_ms=15), on(1, 52)) == [NoteOn(0.985, 52, 90)]


# Bends


@pytest.mark.parametrize(("semitones", "steps"), [(2, 4096), (12, 683), (48, 171)])
def test_a_semitone_is_as_many_steps_as_the_range_makes_it(semitones: int, steps: int) -> None:
    # MIDI 1.0: 14 bits around 8192, default range 2 semitones, RPN 0 sets it: 4096, 683 and 171 steps a semitone.
    (event,) = decode(STRINGS, parameter(1, 0, semitones), bend(1, steps))
    assert event == Bend(1.0, near(1.0, 0.003), 1)


def test_without_being_told_a_bend_has_the_range_of_the_wiring() -> None:
    wiring = Wiring(strings=in_order(1, 6), bend_semitones=12)
    assert decode(wiring, bend(2, 8191))[0] == Bend(1.0, near(12.0, 0.002), 2)
    assert decode(wiring, bend(2, -8192)) == [Bend(1.0, -12.0, 2)]


def test_the_fine_range_is_cents() -> None:
    assert decode(STRINGS, parameter(1, 0, 2, 50), bend(1, -8192)) == [Bend(1.0, -2.5, 1)]


def test_data_for_another_parameter_changes_no_range() -> None:
    nrpn = control(1, 99, 0) + control(1, 98, 0) + control(1, 6, 24)
    null = control(1, 101, 127) + control(1, 100, 127) + control(1, 6, 24)
    assert decode(STRINGS, parameter(1, 0, 2) + nrpn + null, bend(1, 4096)) == [Bend(1.0, 1.0, 1)]


def test_resetting_controllers_takes_the_bend_back_and_leaves_the_range() -> None:
    # RP-015, response to reset all controllers.
    events = decode(STRINGS, parameter(1, 0, 12), bend(1, -8192), control(1, 121, 0), bend(1, -8192))
    assert [event.semitones for event in events if isinstance(event, Bend)] == [-12.0, 0.0, -12.0]


def test_a_bend_is_told_once() -> None:
    assert len(decode(STRINGS, bend(1, 100), bend(1, 100), bend(1, 101))) == 2


def test_on_one_channel_a_bend_is_for_everything() -> None:
    assert decode(ONE, on(1, 52), bend(1, 4096))[1:] == [Bend(1.0, 1.0, None)]


def test_without_strings_a_bend_counts_only_while_its_channel_sounds_alone() -> None:
    events = decode(ONE, on(1, 52), bend(1, 4096), on(2, 55), bend(2, 2048))
    assert events[1:] == [Bend(1.0, 1.0, None), Bend(1.0, 0.0, None), NoteOn(1.0, 55, 90)]


# MPE


def test_members_add_their_masters_bend() -> None:
    # MPE: members 48 semitones, master 2.
    events = decode(mpe(6), on(2, 64), bend(2, -4096), bend(1, 4096))
    bent = {event.string: event.semitones for event in events if isinstance(event, Bend)}
    assert bent == {1: -23.0, 2: 1.0, 3: 1.0, 4: 1.0, 5: 1.0, 6: 1.0}


def test_the_upper_zone_counts_down() -> None:
    assert decode(mpe(6, upper=True, descending=True), on(15, 40)) == [NoteOn(1.0, 40, 90, 6)]


def test_a_master_ends_the_notes_of_its_members() -> None:
    assert decode(mpe(6), on(2, 64), control(1, 123, 0))[1:] == [NoteOff(1.0, 64, 1)]


def test_a_zone_that_is_set_up_widens_the_bends_of_its_members_and_ends_its_notes() -> None:
    # MPE configuration message: RPN 6 on channel 1, six members.
    events = decode(Wiring(strings=in_order(2, 6)), on(2, 64), parameter(1, 6, 6), bend(2, -4096), bend(1, -8192))
    assert events[1] == NoteOff(1.0, 64, 1)
    assert Bend(1.0, -24.0, 1) in events
    assert Bend(1.0, -26.0, 1) in events


def test_a_range_told_on_one_member_is_for_all() -> None:
    assert decode(mpe(6), parameter(3, 0, 24), bend(5, -8192)) == [Bend(1.0, -24.0, 4)]


# Pedals


def test_a_pedal_calls_once_each_time_it_goes_down() -> None:
    presses = decode(STRINGS, control(1, 64, 127), control(1, 64, 127), control(1, 64, 0), control(1, 64, 127))
    assert presses == [Call(1.0, "press"), Call(1.0, "press")]


def test_a_half_pedal_does_not_stutter() -> None:
    trembling = [DOWN - 1, DOWN, DOWN - 3, DOWN + 2, UP, DOWN + 1, UP + 1, DOWN]
    assert decode(ONE, *(control(1, 64, value) for value in trembling)) == [Call(1.0, "press")]


def test_a_pedal_sent_on_every_string_calls_once() -> None:
    downs = [control(channel, 64, 127) for channel in range(1, 7)]
    ups = [control(channel, 64, 0) for channel in range(1, 7)]
    assert decode(STRINGS, *downs, *ups, *downs) == [Call(1.0, "press")] * 2


def test_any_controller_or_note_can_call_and_such_a_note_is_none_to_hear() -> None:
    wiring = Wiring(
        strings=in_order(1, 6),
        calls={Trigger("control", 80, 16): "next", Trigger("note", 24): "again", Trigger("note", 24, 16): "pause"},
    )
    events = decode(wiring, control(16, 80, 127), control(1, 80, 127), on(9, 24), off(9, 24), on(16, 24))
    assert events == [Call(1.0, "next"), Call(1.0, "again"), Call(1.0, "pause")]


# Any bytes at all


def test_a_long_system_exclusive_message_is_passed_over_and_not_kept() -> None:
    decoder = Decoder(STRINGS)
    assert decoder.feed(1.0, b"\xf0" + bytes(range(128)) * 512 + b"\xf7") == ()
    assert decoder.feed(2.0, on(1, 64)) == (NoteOn(2.0, 64, 90, 1),)


wirings = st.sampled_from([ONE, STRINGS, mpe(6), Wiring(strings=in_order(5, 6, descending=True), master=4)])
likely = st.sampled_from([0x90, 0x80, 0xE0, 0xB0, 0xF0, 0xF7, 0xFE, 0xFF, 0, 6, 38, 64, 100, 101, 121, 123, 127])
streams = st.lists(st.one_of(likely, st.integers(0, 255)), max_size=80).map(bytes)


@given(wirings, streams, st.data())
def test_bytes_in_any_pieces_decode_alike_and_never_raise(wiring: Wiring, stream: bytes, data: st.DataObject) -> None:
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=6)))
    pieces = [stream[start:end] for start, end in zip([0, *cuts], [*cuts, len(stream)], strict=True)]
    whole, cut = Decoder(wiring), Decoder(wiring)
    events = list(whole.feed(1.0, stream))
    assert [event for piece in pieces for event in cut.feed(1.0, piece)] == events
    assert whole.close(2.0) == cut.close(2.0)
    assert whole.close(3.0) == ()
    assert all(1 <= event.velocity <= 127 for event in events if isinstance(event, NoteOn))


@given(wirings, streams)
def test_every_note_that_ends_has_begun(wiring: Wiring, stream: bytes) -> None:
    decoder = Decoder(wiring)
    sounding: set[tuple[int | None, int]] = set()
    for event in (*decoder.feed(1.0, stream), *decoder.close(2.0)):
        if isinstance(event, NoteOn):
            sounding.add((event.string, event.pitch))
        elif isinstance(event, NoteOff):
            sounding.remove((event.string, event.pitch))
    assert not sounding


def test_messages_are_cut_as_mido_cuts_them() -> None:
    chance = random.Random(1)
    kinds = [
        "note_on",
        "note_off",
        "control_change",
        "program_change",
        "pitchwheel",
        "aftertouch",
        "polytouch",
        "clock",
    ]
    sent = [mido.Message(chance.choice(kinds)) for _ in range(500)]
    for message in sent:
        for name, low, high in (
            ("channel", 0, 15),
            ("note", 0, 127),
            ("velocity", 0, 127),
            ("control", 0, 127),
            ("value", 0, 127),
            ("program", 0, 127),
            ("pitch", -8192, 8191),
        ):
            if hasattr(message, name):
                setattr(message, name, chance.randint(low, high))
    found = Wire().feed(b"".join(message.bin() for message in sent))
    again = [mido.Message.from_bytes(_bytes(message)) for message in found]
    assert again == [message for message in sent if message.type != "clock"]


def _bytes(message: Message) -> list[int]:
    data = [message.first, message.second]
    return [message.status | message.channel - 1, *data[: 1 if message.status in {0xC0, 0xD0} else 2]]
