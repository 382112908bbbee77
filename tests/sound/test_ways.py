"""Latency by playing along, the click over MIDI, and which way is taken."""

from __future__ import annotations

import random
import threading
import time
from fractions import Fraction

import mido  # type: ignore[import-untyped]  # it ships no types
import numpy as np
import pytest

from trainer.errors import wrong
from trainer.sound.beat import Pattern, Weight, train
from trainer.sound.clicks import Samples
from trainer.sound.latency import FEWEST, SETTLING, calibrate
from trainer.sound.metronome import Sounding, metronome, silence
from trainer.sound.port import NAME, messages, own_port
from trainer.sound.stream import Stream
from trainer.sound.timed import MICRO, Timed, send_beat
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
    sent: list[Weight] = []

    def wait_until(seconds: float) -> bool:
        waited.append(seconds)
        return len(waited) <= 1_000

    assert send_beat(beat, 50.0, sent.append, wait_until) == 1_000
    assert sent[:4] == [Weight.ACCENT, Weight.PART, Weight.BEAT, Weight.PART]
    assert waited[-1] == pytest.approx(50 + 1_000 * 60 / 97 / 2, abs=1e-6)


# The metronome


class Clock:
    """A clock that has long passed every beat, so that they come one upon the other."""

    def __init__(self) -> None:
        self.readings = 0

    def __call__(self) -> float:
        self.readings += 1
        return 0.0 if self.readings == 1 else 1e9


def test_a_timed_beat_goes_on_until_it_is_stopped_and_may_begin_again() -> None:
    got: list[Weight] = []
    enough = threading.Event()

    def send(weight: Weight) -> None:
        got.append(weight)
        if len(got) >= 5:
            enough.set()

    timed = Timed(send, Clock())
    timed.play(60, Pattern())
    assert enough.wait(20)
    timed.end()
    assert got[:5] == [Weight.ACCENT, Weight.BEAT, Weight.BEAT, Weight.BEAT, Weight.ACCENT]
    count = len(got)
    assert "click" not in {thread.name for thread in threading.enumerate()}
    timed.end()
    assert len(got) == count


def test_a_timed_beat_is_joined_at_its_next_tick_and_says_when_each_comes() -> None:
    got: list[Weight] = []
    fourth = threading.Event()

    def send(weight: Weight) -> None:
        got.append(weight)
        fourth.set()

    timed = Timed(send, lambda: 101.4)
    moments = timed.play(60, Pattern(), start=100.0)
    timed.end()
    assert [moments(Fraction(beats)) for beats in (0, 1, 4)] == [100.0, 101.0, 104.0]
    assert moments(Fraction(1, 2)) == 100.5
    assert got == []
    late = Timed(send, Clock())
    late.play(60, Pattern(), start=-1.5)
    assert fourth.wait(20)
    late.end()
    assert got[:3] == [Weight.BEAT, Weight.BEAT, Weight.ACCENT]


# On one clock


class Card:
    """A sound card of 8,000 frames a second nominally, handed out by hand: 160 frames are asked for at a time."""

    def __init__(self, rate: float) -> None:
        self.rate = rate
        self.handed: list[Samples] = []
        self.now = 500.0
        self.stream = Stream(silence, 8_000, lambda: self.now)
        self._frames = self.stream.frames()

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds * self.rate / 160)):
            while self.stream.fill():
                pass
            self.handed.append(self._frames.send(160).copy())
            self.now += 160 / self.rate

    def onsets(self) -> list[float]:
        """Return the seconds at which something began to sound, by the card's own count."""
        sounding = np.flatnonzero(np.concatenate(self.handed))
        first = sounding[np.diff(sounding, prepend=-8_000) > 400]
        return [500.0 + frame / self.rate for frame in first]


def test_each_beat_is_heard_when_it_is_said_to_be_though_the_card_runs_fast() -> None:
    card = Card(8_000 * 1.0005)
    card.run(2)
    beat = Sounding(card.stream, late_s=0.03)
    moments = beat.play(100, Pattern(), start=503.0)
    said = []
    for number in range(40):
        card.run(0.6)
        said.append(moments(Fraction(number)))
    heard = [onset + 0.03 for onset in card.onsets()]
    assert heard[0] == pytest.approx(503.0, abs=0.001)
    assert len(heard) >= 36
    # Within a millisecond of a clock that has gone 12 ms off in these 24 seconds.
    assert heard == pytest.approx(said[: len(heard)], abs=0.001)
    assert heard[35] - heard[0] == pytest.approx(35 * 0.6 / 1.0005, abs=0.001)


def test_a_chord_sounds_beside_the_beat_and_rings_on_when_it_ends() -> None:
    card = Card(8_000)
    card.run(0.5)
    beat = Sounding(card.stream)
    beat.play(60, Pattern(count_in=0))
    card.run(0.25)
    assert beat.sound(np.full(8_000, 0.25, np.float32))
    card.run(0.25)
    beat.stop()
    card.run(1.5)
    sounded = np.concatenate(card.handed)
    assert int(np.count_nonzero(sounded == 0.25)) >= 8_000 - 400
    assert not sounded[-1_000:].any()
    assert not Timed(lambda _: None).sound(sounded)


def test_a_sounding_beat_begins_a_moment_later_and_stops_at_once() -> None:
    stream = Stream(silence, 8_000, lambda: 0.0)
    beat = Sounding(stream)

    def hand_out(count: int) -> Samples:
        while stream.fill():
            pass
        return frames.send(count).copy()

    frames = stream.frames()
    assert not hand_out(1_000).any()
    beat.play(120, Pattern())
    heard = hand_out(4_000)
    assert int(np.flatnonzero(heard)[0]) == 800  # a tenth of a second
    beat.stop()
    assert not hand_out(4_000).any()
    assert stream.missed == 0


def test_where_there_is_nothing_else_the_bell_rings_beats_and_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise wrong("there is no such thing", hint="none")

    monkeypatch.setattr("trainer.sound.metronome._sound", refuse)
    monkeypatch.setattr("trainer.sound.metronome._port", refuse)
    rung = threading.Event()
    with metronome(Way.SOUND, rung.set) as (beat, choice):
        assert choice.way is Way.BELL
        assert choice.words.endswith("not by sound: there is no such thing; not by port: there is no such thing")
        beat.play(240, Pattern())
        assert rung.wait(20)
    with metronome(Way.SOUND) as (beat, choice):
        assert choice.way is Way.NONE
        beat.play(240, Pattern())


def test_where_only_sound_is_wanted_no_port_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise wrong("there is no such thing", hint="none")

    monkeypatch.setattr("trainer.sound.metronome._sound", refuse)
    monkeypatch.setattr("trainer.sound.metronome._port", pytest.fail)
    with metronome(Way.SOUND, only=True) as (_, choice):
        assert (choice.way, choice.hindered) == (Way.NONE, "there is no such thing")


def test_no_device_is_opened_for_a_way_that_does_not_need_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.sound.metronome._sound", pytest.fail)
    monkeypatch.setattr("trainer.sound.metronome._port", pytest.fail)
    for way in (Way.BELL, Way.NONE):
        with metronome(way, lambda: None) as (_, choice):
            assert choice.way is way


@pytest.mark.usefixtures("jack")
def test_the_own_port_is_seen_by_others_and_sends(monkeypatch: pytest.MonkeyPatch) -> None:
    jack = mido.Backend("mido.backends.rtmidi/UNIX_JACK")
    monkeypatch.setattr(mido, "open_output", jack.open_output)
    with own_port() as send:
        (seen,) = (name for name in jack.get_input_names() if NAME in name)
        with jack.open_input(seen) as listening:
            deadline, got = time.monotonic() + 20, None
            while got is None and time.monotonic() < deadline:
                for message in messages(Weight.BEAT):
                    send(message)
                threading.Event().wait(0.02)
                got = listening.poll()
    assert got is not None
    assert (got.type, got.note, got.channel) == ("note_on", 77, 9)


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
