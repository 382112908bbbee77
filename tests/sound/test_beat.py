"""The click to the sample, and the clock that ties samples to moments."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.sound.beat import Pattern, Train, Weight, train
from trainer.sound.clicks import LENGTH_S, Samples, click, render
from trainer.sound.clock import FEWEST, WORST, Point, fit

RATE = 48_000
TEN_MINUTES = 600


def onsets(samples: Samples) -> list[int]:
    """Return the frames at which sound begins after silence."""
    sounding = samples != 0
    return [int(frame) for frame in np.flatnonzero(sounding & ~np.concatenate([[False], sounding[:-1]]))]


def rendered(beat: Train, seconds: float, block: int = 4_800) -> Samples:
    count = int(seconds * beat.rate)
    return np.concatenate([render(beat, first, min(block, count - first)) for first in range(0, count, block)])


# To the sample


@pytest.mark.parametrize("tempo", [40, 61.5, 97, 133, 240])
@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_every_click_of_ten_minutes_lies_within_a_frame_of_its_place(tempo: float, rate: int) -> None:
    beat = train(tempo, rate)
    found = onsets(rendered(beat, TEN_MINUTES, block=8_191))
    assert len(found) == round(TEN_MINUTES * tempo / 60)
    for number, frame in enumerate(found):
        # Half a frame is as near as a whole frame can be; the place by exact arithmetic, not by adding up.
        assert abs(frame - Fraction(number * 60 * rate) / Fraction(tempo)) <= Fraction(1, 2)


def test_a_tempo_change_moves_nothing_before_it_and_everything_after_it() -> None:
    slow = train(97, RATE)
    fast = slow.changed(7, 133)
    assert fast.frame(7) == slow.frame(7)
    assert fast.frame(8) - fast.frame(7) == pytest.approx(60 * RATE / 133, abs=1)
    # Ten minutes of it: anchored to the exact place of its tick, not to the frame that was nearest.
    exact = 7 * Fraction(60 * RATE) / 97
    for number, one in enumerate(fast.clicks(fast.frame(7), TEN_MINUTES * RATE)):
        assert abs(one.frame - (exact + number * Fraction(60 * RATE) / 133)) <= Fraction(1, 2)


def test_many_tempo_changes_do_not_add_up_to_a_drift() -> None:
    beat = train(97, RATE)
    place = Fraction(0)
    for number in range(1, 200):
        place += beat.frames_per_tick
        beat = beat.changed(number, 60 + number % 90)
        assert abs(beat.frame(number) - place) <= Fraction(1, 2)


@given(st.integers(0, 200_000), st.integers(1, 30_000), st.floats(20, 240), st.integers(1, 4))
def test_any_stretch_is_the_same_as_in_one_piece(first: int, count: int, tempo: float, per_beat: int) -> None:
    beat = train(tempo, 8_000, Pattern(per_beat=per_beat), start=500)
    whole = render(beat, 0, first + count)
    assert np.array_equal(render(beat, first, count), whole[first:])


def test_before_the_first_tick_there_is_silence() -> None:
    beat = train(60, RATE, start=1_000)
    assert onsets(render(beat, 0, RATE)) == [1_000]


# The bar


def test_a_count_in_accents_parts_and_every_other_bar_silent() -> None:
    pattern = Pattern(beats=3, accents=(1, 3), per_beat=2, count_in=1, silent_every=2)
    names = {Weight.SILENT: ".", Weight.PART: "-", Weight.BEAT: "x", Weight.ACCENT: "X"}
    said = "".join(names[pattern.weight(tick)] for tick in range(5 * pattern.ticks))
    assert said == "X-x-X-" + "X-x-X-" + "......" + "X-x-X-" + "......"


def test_a_silent_bar_is_silent_and_the_next_one_is_in_its_place() -> None:
    beat = train(120, RATE, Pattern(beats=2, count_in=0, silent_every=2))
    assert onsets(rendered(beat, 4)) == [0, 24_000, 96_000, 120_000]


def test_ticks_sound_apart_by_their_weight_and_end_before_the_next() -> None:
    peaks = [float(np.abs(click(weight, RATE)).max(initial=0)) for weight in Weight]
    assert peaks == sorted(peaks)
    assert peaks[0] == 0 < peaks[1]
    assert peaks[-1] < 1
    closest = train(240, RATE, Pattern(per_beat=4)).frames_per_tick
    assert closest > LENGTH_S * RATE


# The clock


def asked(
    rate: float, chance: random.Random, *, late: float = 0.0, stalls: float = 0.0, count: int = 120
) -> list[Point]:
    """Return moments at which a card of `rate` asks for 480 frames each, late by up to `late`, at times stalled."""
    return [
        (number * 480, 1e6 + number * 480 / rate + chance.uniform(0, late) + (0.05 if chance.random() < stalls else 0))
        for number in range(count)
    ]


@pytest.mark.parametrize("parts_per_million", [-150, 0, 80])
def test_the_clock_finds_how_fast_the_card_runs_and_when_a_frame_goes_out(parts_per_million: int) -> None:
    rate = RATE * (1 + parts_per_million / 1e6)
    clock = fit(asked(rate, random.Random(1)), RATE)
    assert clock.rate == pytest.approx(rate, rel=2e-6)
    assert clock.time(60_000) == pytest.approx(1e6 + 60_000 / rate, abs=1e-6)
    assert clock.frame_at(clock.time(12_345)) == pytest.approx(12_345, abs=0.01)


def test_late_and_stalled_calls_hardly_bend_it() -> None:
    errors = []
    for seed in range(40):
        clock = fit(asked(RATE, random.Random(seed), late=0.004, stalls=0.1), RATE)
        # Late by 2 ms on average; that much is constant and belongs to the latency that is calibrated.
        errors.append(clock.time(57_600) - (1e6 + 57_600 / RATE) - 0.002)
    assert max(map(abs, errors)) < 0.002


def test_few_points_and_absurd_ones_take_the_card_at_its_word() -> None:
    chance = random.Random(2)
    assert fit(asked(RATE, chance, count=FEWEST - 1), RATE).rate == RATE
    assert fit(asked(RATE * (1 + 3 * WORST), chance), RATE).rate == RATE
    assert fit([(0, 5.0)], RATE).time(RATE) == 6.0
    assert fit([(0, 5.0)] * 20, RATE).rate == RATE
    with pytest.raises(ValueError, match="no point"):
        fit([], RATE)
