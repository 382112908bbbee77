"""What is asked of a score: bars, part, voice and cuts; the keys change it one value at a time."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import TypeAlias

from trainer.ring import turned
from trainer.scores.excerpt import Excerpt
from trainer.scores.order import span_name
from trainer.scores.parts import chosen_part
from trainer.scores.score import Part, Score

FIRST_BARS = 4
"""Bars that are taken to begin with."""
MOST_BARS = 32
"""Bars that are taken at a time: fingering them takes a second a bar or so."""
_NUMBER = re.compile(r"\w{1,12}")

Place: TypeAlias = tuple[int, Fraction]
"""A bar's index, and quarters from its start."""


class Field(StrEnum):
    """A value that the player sets."""

    FIRST = "from bar"
    LAST = "to bar"
    PART = "part"
    VOICE = "voice"
    ORDER = "order"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be made into a drill."""

    part: int = 0
    """Index of the part."""
    first: int = 0
    """Index of the first bar."""
    last: int = 0
    """Index of the last one."""
    voice: str = ""
    """The only voice taken; empty: all of them."""
    as_played: bool = False
    """True where repeats and endings are followed."""
    split: frozenset[Place] = frozenset()
    """Where a shape begins whatever the notes say."""
    join: frozenset[Place] = frozenset()
    """Where none does."""

    def onsets(self, places: frozenset[Place], taken: Excerpt) -> frozenset[Fraction]:
        """Return the onsets of `places` in an excerpt, in every round in which their bars are played."""
        return frozenset(at + offset for at, index in taken.bars for bar, offset in places if bar == index)


@dataclass(frozen=True, slots=True)
class Choosing:
    """A score, what is asked of it so far, and which value the keys change."""

    score: Score
    """Whose bars can all be told apart by their numbers."""
    asked: Asked
    """What is asked for."""
    field: Field = Field.FIRST
    """What the keys change."""
    typed: str = ""
    """The digits of a bar's number so far."""

    @property
    def part(self) -> Part:
        """The part that is taken."""
        return self.score.parts[self.asked.part]

    @property
    def bars(self) -> str:
        """`bars 5 to 8`."""
        return span_name(self.score.bars, self.asked.first, self.asked.last)

    @property
    def fields(self) -> tuple[Field, ...]:
        """The values that there is a choice of."""
        several = {
            Field.PART: len(self.score.parts) > 1,
            Field.VOICE: len(voices(self.part)) > 1,
            Field.ORDER: any(bar.closes or bar.endings for bar in self.score.bars),
        }
        return tuple(field for field in Field if several.get(field, True))

    @property
    def values(self) -> Mapping[Field, str]:
        """Each value in words."""
        asked, bars, part = self.asked, self.score.bars, self.part
        return MappingProxyType(
            {
                Field.FIRST: bars[asked.first].number,
                Field.LAST: bars[asked.last].number,
                Field.PART: f"{asked.part + 1} of {len(self.score.parts)} {part.name or part.id}",
                Field.VOICE: asked.voice or "all",
                Field.ORDER: "as played" if asked.as_played else "as written",
            }
        )

    def moved(self, by: int) -> Choosing:
        """Return with another value to change, in a ring."""
        fields = self.fields
        at = fields.index(self.field) if self.field in fields else 0
        return replace(self, field=fields[(at + by) % len(fields)], typed="")

    def turned(self, by: int) -> Choosing:
        """Return with the value changed by one step."""
        return replace(self, asked=self._turned(by), typed="")

    def with_digit(self, digit: str) -> Choosing:
        """Return with `digit` added to the number of a bar, which holds as soon as there is such a bar."""
        if self.field not in {Field.FIRST, Field.LAST}:
            return self
        numbers = [bar.number for bar in self.score.bars]
        whole = self.typed + digit
        typed = whole if any(number.startswith(whole) for number in numbers) else digit
        if typed not in numbers:
            return replace(self, typed=typed)
        return replace(self, asked=self._at_bar(numbers.index(typed)), typed=typed)

    def cut(self, place: Place, *, begins: bool) -> Choosing:
        """Return with a shape that begins at `place`, or with none that does."""
        asked, here = self.asked, frozenset({place})
        split, join = (asked.split | here, asked.join - here) if begins else (asked.split - here, asked.join | here)
        return replace(self, asked=replace(asked, split=split, join=join))

    def uncut(self) -> Choosing:
        """Return without the player's cuts."""
        return replace(self, asked=replace(self.asked, split=frozenset(), join=frozenset()))

    def _turned(self, by: int) -> Asked:
        asked = self.asked
        match self.field:
            case Field.FIRST:
                return self._at_bar(asked.first + by)
            case Field.LAST:
                return self._at_bar(asked.last + by)
            case Field.PART:
                part = (asked.part + by) % len(self.score.parts)
                return replace(asked, part=part, voice="", split=frozenset(), join=frozenset())
            case Field.VOICE:
                return replace(asked, voice=turned(("", *voices(self.part)), asked.voice, by))
            case Field.ORDER:
                return replace(asked, as_played=not asked.as_played)

    def _at_bar(self, index: int) -> Asked:
        """Return with the first or last bar there; the other one comes along where it has to."""
        asked = self.asked
        index = min(max(index, 0), len(self.score.bars) - 1)
        if self.field is Field.FIRST:
            return replace(asked, first=index, last=min(max(asked.last, index), index + MOST_BARS - 1))
        return replace(asked, last=index, first=max(min(asked.first, index), index - MOST_BARS + 1))


def voices(part: Part) -> tuple[str, ...]:
    """Return the names of a part's voices that have notes, in order."""
    return tuple(dict.fromkeys(note.voice for note in part.notes))


def choosing(score: Score, file: str) -> Choosing:
    """Return what to begin with: the part that looks most like a guitar's, its first bars that sound.

    Raises ChangeoverError where the score has nothing to choose from.
    """
    score = countable(score)
    part, _ = chosen_part(score, None, file)
    sounding = {note.bar for note in part.notes} | {symbol.bar for symbol in part.symbols}
    first = min(sounding, default=0)
    last = min(first + FIRST_BARS, len(score.bars)) - 1
    return Choosing(score, Asked(score.parts.index(part), first, last))


def countable(score: Score) -> Score:
    """Return `score` with its bars counted from 1 where their printed numbers do not tell them apart."""
    numbers = [bar.number for bar in score.bars]
    if len(set(numbers)) == len(numbers) and all(map(_NUMBER.fullmatch, numbers)):
        return score
    bars = tuple(replace(bar, number=str(number)) for number, bar in enumerate(score.bars, start=1))
    said = "bars are counted from 1 here: their printed numbers do not tell them apart"
    return replace(score, bars=bars, said=(*score.said, said))
