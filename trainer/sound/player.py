"""What sounds, for a program with an event loop: opened aside, then told what to play; its caller never waits."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING, TypeAlias

from trainer.sound.ways import Choice, Way

if TYPE_CHECKING:
    # Samples come with numpy, which takes longer to load than a key may wait: the thread that opens loads it.
    from trainer.sound.beat import Moments, Pattern
    from trainer.sound.clicks import Samples
    from trainer.sound.metronome import Metronome

Opening: TypeAlias = "Callable[..., AbstractContextManager[tuple[Metronome, Choice]]]"
"""Opens a metronome, as `metronome.metronome` does."""


class Player:
    """A beat and chords. Everything but the opening and the closing happens on its caller's own thread."""

    def __init__(
        self,
        soon: Callable[[Callable[[], None]], None],
        told: Callable[[Choice], None],
        now: Callable[[], float] = time.monotonic,
        opening: Opening | None = None,
    ) -> None:
        """Open nothing yet; `soon` runs something on the caller's thread, where `told` is told which way was taken.

        `opening` is what opens it, `metronome.metronome` where none is given.
        """
        self._soon, self._told, self._now, self._opening = soon, told, now, opening
        self._metronome: Metronome | None = None
        self._over = threading.Event()
        self._thread: threading.Thread | None = None
        self._beat: _Beat | None = None
        self._chord: Samples | None = None
        self.choice: Choice | None = None
        """The way that was taken; None until that is known."""

    def open(self, wanted: Way, *, bell: bool = False, late_s: float = 0.0, only: bool = False) -> None:
        """Begin to open the way that is wanted, or the best one below it unless `only`; once is enough.

        `bell`: the caller rings the terminal's bell itself where it comes to that.
        """
        if self._thread is None and not self._over.is_set():
            ring = _rung_elsewhere if bell else None
            hold = partial(self._hold, wanted, ring, late_s, only)
            self._thread = threading.Thread(target=hold, name="player", daemon=True)
            self._thread.start()

    def play(self, tempo: float, pattern: Pattern) -> Moments:
        """Start a beat and return when each of its beats is heard, whether anything sounds or not."""
        self._beat = _Beat(tempo, pattern, self._now())
        if self._metronome is not None:
            self._beat.moments = self._metronome.play(tempo, pattern)
        return self._beat.moment

    def stop(self) -> None:
        """End the beat."""
        self._beat = None
        if self._metronome is not None:
            self._metronome.stop()

    def sound(self, samples: Samples) -> bool:
        """Sound samples beside the beat, once there is something they can sound through; False where there is not."""
        if self.choice is None:
            self._chord = samples
            return True
        return self._metronome is not None and self._metronome.sound(samples)

    def close(self) -> None:
        """Let go of what was opened, aside."""
        self._over.set()

    def wait(self, seconds: float) -> None:
        """Wait until it is closed, so long at most: a device that hangs keeps nobody."""
        if self._thread is not None:
            self._thread.join(seconds)

    def _hold(self, wanted: Way, ring: Callable[[], None] | None, late_s: float, only: bool) -> None:
        """Keep open what was wanted until it is over."""
        try:
            with (self._opening or _metronome())(wanted, ring, late_s, only=only) as (opened, choice):
                self._soon(lambda: self._take(opened, choice))
                self._over.wait()
        except Exception as error:  # whatever a driver does wrong, practice goes on without it
            choice = Choice(Way.BELL if ring is not None else Way.NONE, str(error), str(error) or "it failed")
            self._soon(lambda: self._take(None, choice))

    def _take(self, opened: Metronome | None, choice: Choice) -> None:
        """Take on what was opened; a beat that runs already is joined where it stands."""
        if self._over.is_set():
            return
        self._metronome, self.choice = opened, choice
        if opened is not None and self._beat is not None:
            beat = self._beat
            beat.moments = opened.play(beat.tempo, beat.pattern, beat.start)
        if opened is not None and self._chord is not None:
            opened.sound(self._chord)
        self._told(choice)


class _Beat:
    """A beat under way: on the program's own clock until something sounds it."""

    def __init__(self, tempo: float, pattern: Pattern, start: float) -> None:
        self.tempo, self.pattern, self.start = tempo, pattern, start
        self.moments: Moments | None = None

    def moment(self, beats: Fraction) -> float:
        if self.moments is not None:
            return self.moments(beats)
        return self.start + float(beats) * 60 / self.tempo


def _metronome() -> Opening:
    from trainer.sound.metronome import metronome

    return metronome


def _rung_elsewhere() -> None:
    """Do nothing: a terminal's bell is rung where its screen is drawn."""
