"""What is shown of practice in parts: signs, facts, the beats of a bar, a figure in big letters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Signs:
    """Signs between words."""

    arrow: str = "→"
    """From one shape to the next."""
    dot: str = " · "
    """Between what stands side by side."""


FINE, ASCII = Signs(), Signs("->", " - ")
"""The signs that go with each set of marks."""


Fact: TypeAlias = tuple[str, ...]
"""One line in parts, the first the one that matters most; as many are shown as there is room for."""


@dataclass(frozen=True, slots=True)
class Beats:
    """The beats of the shape that is held, or of the bar that is counted."""

    count: int
    """How many."""
    current: int
    """Which one it is, from 1; 0 before the first."""
    bar: int
    """Beats in a bar."""
    accents: tuple[int, ...] = (1,)
    """The accented beats of a bar, from 1."""
    first: int = 1
    """Which beat of a bar the first of these is, from 1."""
    voices: tuple[str, ...] = ()
    """The strings that are struck on each beat, for a figure; empty where all are struck at once."""

    def accented(self, beat: int) -> bool:
        """Tell whether the beat of this number has an accent."""
        return (self.first + beat - 2) % self.bar + 1 in self.accents


@dataclass(frozen=True, slots=True)
class Figure:
    """A number or a word in big letters, and what stands over it."""

    caption: str
    text: str
    beats: Beats | None = None
    """Shown in place of the text where given."""
    tone: str = "now"
    """One of the readout's tones."""
