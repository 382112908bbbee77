"""Latency by playing along, the click over MIDI, and which way is taken."""

from __future__ import annotations

import random
import threading

import mido  # type: ignore[import-untyped]  # it ships no types
import pytest

from trainer.sound.beat import Pattern, Weight, train
from trainer.sound.latency import FEWEST, SETTLING, calibrate
from trainer.sound.port import MICRO, messages, send_beat, sending
from trainer.sound.ways import EXACT, Way, choose

# Latency

CLICKS = [100 + number * 0.75 for number in range(24)]


def played(offset: float, spread: float, seed: int = 1) -> list[float]:
    chance = random.Random(seed)
    return [click + offset + chance.gauss(0, spread) for click in CLICKS]


@pytest.mark.parametrize("offset", [-0.06, 0.0, 0.03, 0.18, 0.45])
def test_the_latency_is_found_early_late_and_beyond_half_a_beat(offset: float) -> None:
    found = calibrate(CLICKS, played(offset, 0.012))
    assert found is not None
    assert found.seconds == pytest.approx(offset, abs=0.008)
    assert found.spread_s == pytest.approx(0.012, abs=0.008)
    assert found.strokes == 24 - SETTLING
    assert found.certain


def test_slips_and_missed_beats_do_not_move_it() -> None:
    strokes = played(0.05, 0.01)
    strokes[9] += 0.3
    del strokes[12:14]
    found = calibrate(CLICKS, strokes)
    assert found is not None
    assert found.seconds == pytest.approx(0.05, abs=0.008)
    assert found.certain


def test_a_player_who_is_not_with_the_click_calibrates_nothing() -> None:
    chance = random.Random(3)
    wild = calibrate(CLICKS, sorted(chance.uniform(100, 118) for _ in range(24)))
    assert wild is not None
    assert not wild.certain
    few = calibrate(CLICKS, played(0.05, 0.01)[: SETTLING + FEWEST - 1])
    assert few is not None
    assert not few.certain
    assert calibrate(CLICKS, CLICKS[:SETTLING]) is None
    assert calibrate([], CLICKS) is None


# The MIDI port


def test_ticks_are_wood_blocks_on_the_percussion_channel() -> None:
    on, off = messages(Weight.ACCENT)
    assert mido.Message.from_bytes(on) == mido.Message("note_on", channel=9, note=76, velocity=120)
    assert mido.Message.from_bytes(off) == mido.Message("note_off", channel=9, note=76, velocity=0)
    velocities = [messages(weight)[0][2] for weight in (Weight.PART, Weight.BEAT, Weight.ACCENT)]
    assert velocities == sorted(velocities)
    assert messages(Weight.SILENT) == ()


def test_each_tick_is_timed_from_the_beginning_so_that_none_drifts() -> None:
    beat = train(97, MICRO, Pattern(per_beat=2))
    waited: list[float] = []
    sent: list[tuple[int, int, int]] = []

    def wait_until(seconds: float) -> bool:
        waited.append(seconds)
        return len(waited) <= 1_000

    assert send_beat(beat, 50.0, sent.append, wait_until) == 1_000
    assert len(sent) == 2_000
    assert waited[-1] == pytest.approx(50 + 1_000 * 60 / 97 / 2, abs=1e-6)


def test_a_beat_is_sent_by_a_thread_until_it_is_left() -> None:
    got: list[mido.Message] = []
    enough = threading.Event()

    class Output:
        def send(self, message: mido.Message) -> None:
            got.append(message)
            if len(got) >= 8:
                enough.set()

    # A clock that has long passed the beats: they come one upon the other.
    with sending(train(60, MICRO), 0.0, lambda: 1e9, Output()):
        assert enough.wait(20)
    assert [message.type for message in got[:4]] == ["note_on", "note_off"] * 2
    assert [message.note for message in got[:8:2]] == [76, 77, 77, 77]
    assert "click" not in {thread.name for thread in threading.enumerate()}


# Which way


@pytest.mark.parametrize(
    ("hindrances", "wanted", "way"),
    [
        ({}, Way.SOUND, Way.SOUND),
        ({Way.SOUND: "no sound device"}, Way.SOUND, Way.PORT),
        ({Way.SOUND: "no sound device", Way.PORT: "no MIDI"}, Way.SOUND, Way.BELL),
        ({Way.SOUND: "x", Way.PORT: "x", Way.BELL: "off"}, Way.SOUND, Way.NONE),
        ({}, Way.BELL, Way.BELL),
        ({Way.SOUND: None}, Way.SOUND, Way.SOUND),
    ],
)
def test_the_best_way_that_nothing_hinders_is_taken(hindrances: dict[Way, str | None], wanted: Way, way: Way) -> None:
    assert choose(hindrances, wanted).way is way


def test_it_is_said_how_exact_the_way_is_and_why_no_better_one() -> None:
    choice = choose({Way.SOUND: "there is no sound device", Way.PORT: "python-rtmidi is missing"})
    assert choice.words == (
        f"beat by bell, {EXACT[Way.BELL]}; not by sound: there is no sound device; "
        "not by port: python-rtmidi is missing"
    )
    assert choose({}, Way.NONE).words == "on the screen only"
