"""A warm-up: away from the instrument first, then from light to less light, with rests, and over when its time is.

Care of the hand, as far as sources go: warm up away from the instrument, then at it, and raise load gradually, because
sudden rises are what musicians who were injured name (Chan and Ackermann, Frontiers in Psychology 5, 2014). The lengths
and caps below are ours, no source. Nothing here is medical advice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from trainer.errors import wrong
from trainer.practice.load import Strain
from trainer.practice.minutes import LONGEST, SHORTEST

AWAY_S = 60
"""How long away from the instrument; a quarter of the time where that is less."""
SPELL_S = 60
"""Longest spell at one drill."""
REST_EVERY_S, REST_S = 120, 15
"""After so much playing, so long a rest."""
SHORTEST_S = 20
"""No spell and no rest at the end is shorter than this: it is added to what goes before."""
RISE = 0.5
"""The load never rises by more than this from one spell to the next."""
MOST_REPETITIONS = 40
"""No change is played more often than this in one warm-up."""
TEMPO_PARTS = (0.6, 0.7, 0.8, 0.9, 1.0)
"""Parts of the tempo that was clean lately; never more than all of it."""
EASY_RISE = 0.4
"""On a sore day the whole warm-up stays within so much of its lightest spell."""
GENTLER = ((14, 0.5), (4, 0.75), (0, 1.0))
"""(days off at least, part of the way from the lightest to the heaviest), the first that fits."""

CAUTION = (
    "Pain, numbness or tingling: stop, and see a doctor or physiotherapist.",
    "Never force a stretch or a barre, least of all with small hands; ask a teacher.",
)
"""What is said before every warm-up."""
AWAY = (
    "Guitar aside. Let the arms hang, roll the shoulders, breathe.",
    "Open and close both hands slowly, without effort.",
    "Touch each fingertip to the thumb, lightly, one after the other.",
)
"""What to do away from the instrument, a third of the time each."""
REST = "Rest: both hands down, shoulders loose."
"""What to do between spells."""


class Kind(StrEnum):
    """What a part of a warm-up is."""

    AWAY = "away"
    """Away from the instrument."""
    PLAY = "play"
    """A drill, slowly."""
    REST = "rest"
    """Hands down."""


@dataclass(frozen=True, slots=True)
class Material:
    """A drill that may be warmed up with."""

    name: str
    """What a player types to get it."""
    title: str
    """Its title."""
    changes: int
    """How many changes one round has."""
    beats: float
    """How many beats a change takes, on average."""
    tempo: float
    """Beats per minute that was clean lately, else the drill's own: never played faster."""
    strain: Strain
    """What it asks of the hand."""
    caution: str = ""
    """What to mind, where it says something."""


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a warm-up."""

    kind: Kind
    """What it is."""
    seconds: int
    """How long."""
    words: str
    """What to do, in one line."""
    load: float = 0.0
    """How much it asks of the hand; 0 where it asks nothing."""
    material: Material | None = None
    """What is played."""
    tempo: float | None = None
    """Beats per minute, a whole number."""

    @property
    def repetitions(self) -> float:
        """How often each change of its drill comes."""
        if self.material is None or self.tempo is None:
            return 0.0
        return self.seconds / 60 * self.tempo / self.material.beats / self.material.changes


def plan(materials: Sequence[Material], minutes: float, *, days_off: int = 0, easy: bool = False) -> tuple[Part, ...]:
    """Return the parts of a warm-up of so many minutes, to the second.

    `days_off` are the days since the last practice: the longer, the gentler. `easy` is for sore days: no barre, no
    stretch, hardly a rise. Raises ChangeoverError where the time is out of its limits or there is nothing to play.
    """
    if not SHORTEST <= minutes <= LONGEST:
        raise wrong(f"a warm-up of {minutes:g} minutes", hint=f"from {SHORTEST} to {LONGEST}")
    allowed = [one for one in materials if not (easy and (one.strain.barre or one.strain.stretch))]
    if not allowed:
        raise wrong("no drill to warm up with", hint="one that trains 'warm-up' or 'independence'")
    left = round(minutes * 60)
    parts = _away(min(AWAY_S, left // 4))
    left -= sum(part.seconds for part in parts)
    parts += _spells(_choices(allowed, easy, days_off), left)
    return tuple(parts)


@dataclass(frozen=True, slots=True)
class _Choice:
    """One drill at one tempo."""

    load: float
    material: Material
    tempo: float

    def spell(self, seconds: int) -> Part:
        words = f"{self.material.title}, at {self.tempo:.0f}"
        return Part(Kind.PLAY, seconds, words, self.load, self.material, self.tempo)


def _choices(materials: Sequence[Material], easy: bool, days_off: int) -> list[_Choice]:
    """Return every drill at every tempo it may be played at, the lightest first, without those too heavy for today."""
    found = [
        _Choice(one.strain.load(tempo / one.beats), one, tempo)
        for one in materials
        for tempo in {float(max(int(one.tempo * part), 1)) for part in TEMPO_PARTS}
    ]
    found.sort(key=lambda choice: (choice.load, choice.material.name))
    lightest, heaviest = found[0].load, found[-1].load
    part = next(part for days, part in GENTLER if days_off >= days)
    ceiling = lightest + (heaviest - lightest) * part
    if easy:
        ceiling = min(ceiling, lightest + EASY_RISE)
    return [choice for choice in found if choice.load <= ceiling + 1e-9]


def _away(seconds: int) -> list[Part]:
    edges = [seconds * number // len(AWAY) for number in range(len(AWAY) + 1)]
    return [Part(Kind.AWAY, edges[number + 1] - edges[number], words) for number, words in enumerate(AWAY)]


def _spells(choices: list[_Choice], total: int) -> list[Part]:
    """Return spells and rests of `total` seconds, the load rising evenly from the lightest choice to the heaviest."""
    parts: list[Part] = []
    played: dict[str, float] = {}
    load, since_rest, left = choices[0].load, 0, total
    while left > 0:
        wanted = choices[0].load + (choices[-1].load - choices[0].load) * (1 - left / total)
        choice = _next(choices, load, wanted, played, parts)
        if choice is None or since_rest >= REST_EVERY_S:
            parts.append(Part(Kind.REST, _length(REST_S if choice else SPELL_S, left), REST))
            since_rest = 0
        else:
            room = (MOST_REPETITIONS - played.get(choice.material.name, 0.0)) / choice.spell(60).repetitions * 60
            spell = choice.spell(_length(min(SPELL_S, int(room)), left))
            parts.append(spell)
            played[choice.material.name] = played.get(choice.material.name, 0.0) + spell.repetitions
            load, since_rest = choice.load, since_rest + spell.seconds
        left -= parts[-1].seconds
    return parts


def _length(seconds: int, left: int) -> int:
    """Return so many seconds, or all that are left where nothing worth beginning would remain."""
    return left if left - seconds < SHORTEST_S else seconds


def _next(
    choices: list[_Choice], load: float, wanted: float, played: dict[str, float], parts: list[Part]
) -> _Choice | None:
    """Return the choice nearest to the load that is wanted, no lighter than the last and not much heavier.

    Of two drills at about the same load the one that has been played less. None where each has been played enough: the
    longest spell, with what might be added to it at the end, has to fit under the cap.
    """
    longest = SPELL_S + SHORTEST_S
    fit = [
        choice
        for choice in choices
        if load - 1e-9 <= choice.load <= load + RISE
        and played.get(choice.material.name, 0.0) + choice.spell(longest).repetitions <= MOST_REPETITIONS
    ]
    if not parts:
        return choices[0] if choices[0] in fit else None
    return min(
        fit,
        key=lambda choice: (round(abs(choice.load - wanted) / RISE * 2), played.get(choice.material.name, 0.0)),
        default=None,
    )
