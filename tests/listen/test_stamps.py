"""Driver deltas chained onto the monotonic clock, for the habits of each backend.

The habits are those of RtMidi 5.0's source (RtMidi.cpp), modelled here; only JACK's are also met for real, in
test_ports.py.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.listen.stamps import FORGET, SLACK_S, Stamps

PERIOD_S = 64 / 48000


def rounded(step_s: float) -> Callable[[float], float]:
    return lambda at: math.floor(at / step_s) * step_s


def next_period(at: float) -> float:
    return math.ceil(at / PERIOD_S) * PERIOD_S


BACKENDS: dict[str, tuple[Callable[[float], float], float]] = {
    "ALSA: microseconds": (rounded(1e-6), 1e-6),
    "CoreMIDI: nanoseconds": (rounded(1e-9), 1e-9),
    "WinMM: milliseconds": (rounded(1e-3), 1e-3),
    "JACK: when the period is handled": (next_period, PERIOD_S),
}
"""Driver's stamp of a message by its arrival, and how far the two may lie apart."""


def deltas(stamps: Sequence[float]) -> list[float]:
    return [0.0, *(after - before for before, after in pairwise(stamps))]


def drain(arrivals: Sequence[float], told: Sequence[float], passes: Iterable[tuple[float, float]]) -> list[float]:
    """Stamp messages through a thread that drains at `passes`: (queue seen empty before, drained)."""
    chain, found = Stamps(), 0
    times: list[float] = []
    for empty, drained in passes:
        ready = sum(arrival <= drained for arrival in arrivals)
        times += chain.take(empty, drained, told[found:ready]).times
        found = ready
    assert found == len(arrivals)
    return times


def passes(until: float, delay: Callable[[], float]) -> list[tuple[float, float]]:
    """A thread that comes by about every millisecond, `delay` later than that."""
    found, at = [], 0.0
    while at < until:
        empty, at = at, at + 0.001 + delay()
        found.append((empty, at))
    return found


@pytest.mark.parametrize("backend", BACKENDS)
def test_a_starved_thread_stamps_as_well_as_the_driver(backend: str) -> None:
    stamp, grain_s = BACKENDS[backend]
    chance = random.Random(7)
    arrivals = sorted(0.05 + chance.random() * 60 for _ in range(400))
    told = deltas([stamp(arrival) for arrival in arrivals])
    # Another thread holds the interpreter for 5 ms at a time, and now and then for much longer.
    when = passes(61, lambda: chance.choice((0.0, 0.0, 0.005, 0.01, 0.01, 0.05)))
    available = [arrival + grain_s for arrival in arrivals]
    errors = [abs(at - arrival) for at, arrival in zip(drain(available, told, when), arrivals, strict=True)]
    plain = [
        next(drained for _, drained in when if drained >= there) - arrival
        for there, arrival in zip(available, arrivals, strict=True)
    ]
    settled = sorted(errors[50:])
    assert settled[len(settled) // 2] <= grain_s + 0.001
    assert settled[-1] <= grain_s + 0.004
    assert sorted(plain)[len(plain) // 2] > 0.005


def test_a_first_message_is_stamped_when_it_is_drained_and_better_with_those_that_came_after_it() -> None:
    assert Stamps().take(9.9, 10.0, [0.0]).times == (10.0,)
    assert Stamps().take(9.5, 10.0, [0.0, 0.01, 0.02]).times == pytest.approx((9.97, 9.98, 10.0))


def test_the_delta_of_the_first_message_is_worth_nothing() -> None:
    """ALSA's first message may tell the time since the queue began."""
    chain = Stamps()
    assert chain.take(9.999, 10.0, [1234.5]).times == (10.0,)
    assert chain.take(10.499, 10.5, [0.5]).times == pytest.approx((10.5,))


def test_the_best_drained_message_sets_the_clock_for_those_after_it() -> None:
    chain = Stamps()
    assert chain.take(9.99, 10.0, [0.0]).times == (10.0,)
    # Drained 4 ms sooner after its stamp than the one before: that one had lain for 4 ms.
    assert chain.take(10.0, 10.996, [1.0]).times == pytest.approx((10.996,))
    assert chain.take(11.9, 12.05, [1.0]).times == pytest.approx((11.996,), abs=2 * FORGET)


@pytest.mark.parametrize("drift", [-50e-6, 50e-6, 200e-6])
def test_clocks_that_drift_apart_are_followed(drift: float) -> None:
    chance = random.Random(3)
    arrivals = [0.1 + 0.25 * count for count in range(4 * 600)]
    told = deltas([arrival * (1 + drift) for arrival in arrivals])
    chain = Stamps()
    worst = 0.0
    for arrival, delta in zip(arrivals, told, strict=True):
        drained = arrival + 0.002 * chance.random()
        (at,) = chain.take(arrival - 0.001, drained, [delta]).times
        worst = max(worst, abs(at - arrival))
    # Unfollowed, ten minutes at 50 parts in a million come to 30 ms.
    assert worst < 0.0025


def test_a_long_silence_changes_nothing() -> None:
    chain = Stamps()
    chain.take(0.999, 1.0, [0.0])
    stamped = chain.take(3601.0, 3601.003, [3600.0015])
    assert stamped.lost_s == 0
    assert 3601.0015 <= stamped.times[0] <= 3601.003


def test_time_that_the_driver_lost_is_told_and_made_good() -> None:
    """The driver's clock stood still in a suspend, or the deltas of dropped messages are gone."""
    chain = Stamps()
    chain.take(0.999, 1.0, [0.0])
    stamped = chain.take(99.999, 100.0, [0.5])
    assert stamped.times == (100.0,)
    assert stamped.lost_s == pytest.approx(98.5, abs=0.05)
    after = chain.take(100.6, 100.7, [0.6])
    assert after.times == pytest.approx((100.6,), abs=0.001)
    assert after.lost_s == 0


def test_a_driver_whose_clock_ran_on_while_ours_stood_still() -> None:
    chain = Stamps()
    chain.take(0.999, 1.0, [0.0])
    assert chain.take(1.999, 2.0, [7200.0]).times == (2.0,)
    assert chain.take(2.4, 2.51, [0.5]).times == pytest.approx((2.5,), abs=0.001)


@pytest.mark.parametrize("delta", [-1.0, math.nan, math.inf, -math.inf])
def test_a_delta_that_is_none_starts_the_chain_afresh(delta: float) -> None:
    chain = Stamps()
    chain.take(0.99, 1.0, [0.0])
    assert chain.take(1.99, 2.0, [delta]).times == (2.0,)
    assert chain.take(2.4, 2.505, [0.5]).times == pytest.approx((2.5,), abs=0.001)


def test_a_backend_that_tells_no_deltas_is_stamped_by_draining() -> None:
    chain = Stamps()
    for count in range(1, 200):
        at = count * 0.1
        assert chain.take(at - 0.001, at, [0.0]).times[0] == pytest.approx(at, abs=SLACK_S)


def test_restarting_makes_the_next_delta_worth_nothing() -> None:
    chain = Stamps()
    chain.take(0.99, 1.0, [0.0])
    chain.restart()
    stamped = chain.take(1.99, 2.0, [0.995])
    assert stamped.times == (2.0,)
    assert stamped.lost_s == 0


@given(
    st.lists(
        st.tuples(
            st.floats(0, 1),
            st.floats(0, 0.2),
            st.lists(st.one_of(st.floats(0, 0.3), st.floats(allow_nan=True, allow_infinity=True)), max_size=5),
        ),
        max_size=20,
    )
)
def test_whatever_the_deltas_stamps_keep_order_and_bounds(
    steps: list[tuple[float, float, list[float]]],
) -> None:
    chain, now, last = Stamps(), 100.0, 0.0
    for idle, delay, told in steps:
        empty = now + idle
        now = empty + delay
        times = chain.take(empty, now, told).times
        assert len(times) == len(told)
        assert all(empty - SLACK_S <= at <= now for at in times)
        assert [last, *times] == sorted([last, *times])
        last = times[-1] if times else last
