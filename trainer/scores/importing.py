"""From the path of a score to some of its bars, and to a drill."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from trainer.errors import plain, wrong
from trainer.practice.drill import Drill
from trainer.scores.drilling import Made, drill_of
from trainer.scores.excerpt import Excerpt, excerpt
from trainer.scores.parts import chosen_part
from trainer.scores.score import Part, Score
from trainer.scores.source import load


@dataclass(frozen=True, slots=True)
class Imported:
    """A drill with the score it came from."""

    score: Score
    """The whole score."""
    part: Part
    """The part that was taken."""
    excerpt: Excerpt
    """The bars that were taken."""
    made: Made
    """The drill, with where its shapes come from."""
    said: tuple[str, ...]
    """What was decided on the way, a sentence each."""

    @property
    def drill(self) -> Drill:
        """The drill."""
        return self.made.drill


@dataclass(frozen=True, slots=True)
class Source:
    """Bars of a part, with the score they stand in."""

    score: Score
    """The whole score."""
    part: Part
    """The part that is taken."""
    excerpt: Excerpt
    """The bars."""
    choice: str
    """How the part was chosen, a sentence; empty where there was no choice."""


def bars_from(
    path: Path,
    *,
    bars: str | None = None,
    part: str | None = None,
    voices: Iterable[str] = (),
    as_played: bool = False,
    octave: int | None = None,
) -> Source:
    """Return some bars of the score at `path`; `bars` and the like as in `excerpt`. Raises ChangeoverError."""
    file = str(path)
    score = load(path)
    chosen, choice = chosen_part(score, part, file)
    taken = excerpt(score, chosen, file, bars=bars, voices=voices, as_played=as_played, octave=octave)
    return Source(score, chosen, taken, choice)


def drill_of_bars(source: Source, file: str, *, split: Iterable[str] = (), join: Iterable[str] = ()) -> Imported:
    """Return the drill of some bars. `split` and `join` name places as `BAR:BEAT`: there a shape begins, or does not.

    Raises ChangeoverError.
    """
    score, taken = source.score, source.excerpt
    made = drill_of(
        score,
        taken,
        file,
        split=_places(split, "--split", taken, score, file),
        join=_places(join, "--join", taken, score, file),
    )
    said = dict.fromkeys(text for text in (*score.said, source.choice, *made.said) if text)
    return Imported(score, source.part, taken, made, tuple(said))


def drill_from(path: Path) -> Imported:
    """Return the drill of all bars of the score at `path`. Raises ChangeoverError."""
    return drill_of_bars(bars_from(path), str(path))


def _places(texts: Iterable[str], key: str, taken: Excerpt, score: Score, file: str) -> frozenset[Fraction]:
    """Return the onsets that `BAR:BEAT` texts name, in every round in which the bar is played."""
    found = set()
    for text in texts:
        number, _, beat = text.partition(":")
        try:
            beats = Fraction(beat or "1") - 1
        except (ValueError, ZeroDivisionError):
            beats = Fraction(-1)
        here = [at for at, index in taken.bars if score.bars[index].number == number.strip()]
        if not here or beats < 0:
            raise wrong(
                f"'{plain(text[:40])}' names no beat of the bars taken", file=file, key=key, hint="BAR:BEAT, as 5:3"
            )
        found |= {at + beats * Fraction(4, taken.meter[1]) for at in here}
    return frozenset(found)
