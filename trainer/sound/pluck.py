"""A plucked string as samples (Karplus and Strong, Computer Music Journal 7(2), 1983).

A burst of noise goes round a loop as long as the string's period, through a low-pass that damps it as a string is
damped. The loop has to be tuned to a part of a sample (Jaffe and Smith, Computer Music Journal 7(2), 1983); here a
Lagrange interpolator of third order does it (Laakso and others, IEEE Signal Processing Magazine 13(1), 1996), which
needs no feedback of its own: so a whole period can be computed at once from the one before it.
"""

from __future__ import annotations

import math

import numpy as np

from trainer.sound.clicks import Samples

_SEED = 7
"""The burst is the same each time: a shape sounds as it sounded before."""
_BRIGHTNESS = 0.5
"""Share of the neighbouring sample in the loop's low-pass: half is Karplus and Strong's own."""
_PLUCKED_AT = 0.18
"""Where the string is plucked, as part of its length: over the sound hole."""
_RING_S = 4.0
"""Seconds until a note of 110 Hz has faded by 60 dB; higher ones fade faster, as on a guitar."""
_SOFTEN = 3
"""Times the burst goes through the low-pass before it enters the loop: a fingertip, not a plectrum."""


def pluck(hertz: float, seconds: float, rate: int, loudness: float = 1.0) -> Samples:
    """Return a plucked note: `loudness` is its highest sample, `rate` is frames a second.

    Raises ValueError where the pitch is too high for the rate to hold a loop.
    """
    period = rate / hertz
    # Delay of the low-pass, then of the interpolator, which is best between one sample and two.
    whole = math.floor(period - _BRIGHTNESS - 1.0)
    part = period - _BRIGHTNESS - whole
    if whole < 8:
        raise ValueError(f"{hertz:.0f} Hz is too high for {rate} frames a second")
    taps = _gain(hertz) * np.convolve([1 - _BRIGHTNESS, _BRIGHTNESS], _lagrange(part))
    count = int(seconds * rate)
    # The burst stands before the note; a loop of `whole` frames looks back over it and the taps' own length.
    before = whole + len(taps)
    sound = np.zeros(before + count + whole)
    sound[:before] = _burst(before, period)
    for start in range(before, before + count, whole):
        past = sound[start - whole - len(taps) + 1 : start]
        sound[start : start + whole] = np.convolve(past, taps, mode="valid")
    note = sound[before : before + count]
    peak = float(np.abs(note).max(initial=0.0))
    faded = note * (loudness / peak if peak else 0.0) * _edges(count, rate)
    return faded.astype(np.float32)


def _gain(hertz: float) -> float:
    """Return what is left of the loop's sound after each round."""
    ring = _RING_S * math.sqrt(110.0 / hertz)
    return float(10 ** (-3 / (ring * hertz)))


def _lagrange(delay: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return the four taps that delay by `delay` samples, between 1 and 2: product over k of (d - k) / (n - k)."""
    taps = [math.prod((delay - k) / (n - k) for k in range(4) if k != n) for n in range(4)]
    return np.array(taps)


def _burst(count: int, period: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return soft noise without what a string plucked at that place cannot sound, and without a mean."""
    noise = np.random.default_rng(_SEED).uniform(-1, 1, count + _SOFTEN)
    for _ in range(_SOFTEN):
        noise = (noise[1:] + noise[:-1]) / 2
    comb = max(round(period * _PLUCKED_AT), 1)
    noise = noise - np.roll(noise, comb)
    return np.asarray(noise - noise.mean())


def _edges(count: int, rate: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return a fade over the last hundredth of a second, so that a note that is cut does not click."""
    fade = min(rate // 100, count)
    edges = np.ones(count)
    edges[count - fade :] = np.linspace(1, 0, fade)
    return edges
