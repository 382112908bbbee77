"""Playing along with the click, to find how late it is heard: strokes in, and what they tell. Pure.

What is measured is the whole way from the program to the player's hand and back, and the player's habit with it.
Tapping runs ahead of a click by some tens of milliseconds without the tapper knowing (negative mean asynchrony; Repp,
Psychonomic Bulletin & Review 12, 2005, from memory). Nobody can take the two apart, so nothing is taken off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from trainer.sound.latency import FEWEST, SETTLING, WIDEST_S, Latency, calibrate

BEATS = 16
"""Clicks of one go, the first `SETTLING` of which are for finding the beat."""
TEMPO = 80.0
"""Beats per minute: within the range in which people tap most evenly, 400 to 800 ms apart (common practice)."""
APART_S = 0.2
"""A stroke closer than this upon the one before is another string of it, or a key's repeat; a beat is 0.75 s."""
KEYS = "keys"
"""Where taps on a key come from."""
LEAST_MS, MOST_MS = 0, 500
"""What the setting can be."""
HABIT = (
    "Tapping runs some tens of ms ahead of a click, more or less with everyone, and a keyboard is late by its own; how "
    "much of either is in this nobody can tell, so nothing is taken off."
)
"""Said of taps on a key."""
OWN = "It is where you hear the beat with this guitar, your own habit included: so you are graded from there."
"""Said of a guitar."""


@dataclass(frozen=True, slots=True)
class Along:
    """One go at playing along. Every method returns a new value."""

    source: str = ""
    """Where the strokes come from: keys or a guitar's port; what was struck first decides, empty before that."""
    strokes: tuple[float, ...] = ()
    """When each came, monotonic seconds."""

    def struck(self, at: float, source: str) -> Along:
        """Take a stroke; one of another source, or upon the one before, is none."""
        if self.source not in {"", source} or (self.strokes and at - self.strokes[-1] < APART_S):
            return self
        return replace(self, source=source, strokes=(*self.strokes, at))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one go came to."""

    ms: int | None
    """The delay to keep; None where there is none to keep."""
    big: str
    """It in a few letters."""
    words: str
    """What was found, in sentences."""
    meaning: str
    """What it means, or what to do."""


def outcome(clicks: Sequence[float], along: Along, now_ms: int) -> Outcome:
    """Return what strokes tell with clicks that were handed out at these seconds; `now_ms` is the delay that is set."""
    found = calibrate(clicks, along.strokes)
    if found is None or found.strokes < FEWEST:
        told = f"{len(along.strokes)} strokes for {len(clicks)} clicks are too few: {SETTLING + FEWEST} at the least."
        return Outcome(None, "?", told, "Once more, one stroke with each click.")
    spread = round(1000 * found.spread_s)
    if not found.certain:
        told = f"Too uneven to tell: spread {spread} ms, {1000 * WIDEST_S:.0f} at the most."
        return Outcome(None, "?", told, "Once more; close your eyes and follow the click, not the screen.")
    return _certain(found, spread, along, now_ms)


def _certain(found: Latency, spread: int, along: Along, now_ms: int) -> Outcome:
    ms, taps = round(1000 * found.seconds), along.source == KEYS
    whose = "Taps on the key" if taps else "Strokes of the guitar"
    way = "after" if ms >= 0 else "before"
    told = f"{whose} come {abs(ms)} ms {way} a click is sent: median of {found.strokes}, spread {spread} ms."
    if ms < LEAST_MS:
        early = "Nothing is heard before it is sent: you run ahead by more than the machine is late. Keep what is set."
        return Outcome(None, f"{ms} ms", told, early)
    if ms > MOST_MS:
        late = f"More than {MOST_MS} ms cannot be set: look for what delays the sound, a wireless speaker for one."
        return Outcome(None, f"{ms} ms", told, late)
    return Outcome(ms, f"{ms} ms", f"{told} Set is {now_ms} ms.", HABIT if taps else OWN)
