"""The click as samples: any stretch of a beat can be rendered by itself, so it can be rendered ahead in any order."""

from __future__ import annotations

from functools import cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from trainer.sound.beat import Train, Weight

Samples: TypeAlias = NDArray[np.float32]
"""One channel of samples, -1 to 1."""

LENGTH_S = 0.04
"""How long a click sounds: shorter than the closest two ticks, so that they never overlap to silence each other."""
_DECAY_S = 0.008
_TONES = {Weight.PART: (1000.0, 0.25), Weight.BEAT: (1200.0, 0.5), Weight.ACCENT: (1800.0, 0.8)}
"""(frequency in Hz, loudness) of each kind of tick; high and short, so that it is heard through a guitar."""


@cache
def click(weight: Weight, rate: int) -> Samples:
    """Return the sound of one tick. It begins at its loudest, so that its first sample is its place."""
    if weight is Weight.SILENT:
        return np.zeros(0, np.float32)
    pitch, loudness = _TONES[weight]
    seconds = np.arange(int(LENGTH_S * rate)) / rate
    sound = loudness * np.cos(2 * np.pi * pitch * seconds) * np.exp(-seconds / _DECAY_S)
    return sound.astype(np.float32)


def render(beat: Train, first: int, count: int) -> Samples:
    """Return `count` frames of a beat from frame `first` on, the tails of earlier clicks included."""
    block = np.zeros(count, np.float32)
    for one in beat.clicks(first - int(LENGTH_S * beat.rate), first + count):
        sound = click(one.weight, beat.rate)
        start, end = one.frame - first, one.frame - first + len(sound)
        inside = sound[max(-start, 0) : len(sound) - max(end - count, 0)]
        block[max(start, 0) : max(start, 0) + len(inside)] += inside
    return block
