"""What each thing a hand does costs: one table of terms, each with its unit and its reason, and two schools.

A cost has no unit of its own; it compares only within one passage and one school. Distances are measured in
reaches, the comfortable reach of this player's fingers 1 to 4 (100 mm for the starting hand), so that a smaller
instrument under a smaller hand costs the same.

How the schools agree with the printed fingers 1 to 4 of 65 pieces (3,913 digits), per cent with 95 % intervals over
pieces, the editions' weights fitted without the pieces they are measured on (four groups of editions left out in turn,
one of them more than half of all digits); `tests/fit/fit.py FOLDER measure` prints them:

                                            hand                editions
    nothing given, cheapest way             53.2 [48.8-57.2]    58.0 [53.1-62.7]
    nothing given, among the two likeliest  80.9 [78.6-83.3]    81.0 [78.0-83.7]
    half of the digits given                70.5 [66.9-73.6]    71.0 [67.4-74.4]
    90 % of the digits and strings given    -                   77.1 [71.3-82.4]
    printed 0 taken open                    95.7 [92.8-98.1]    98.5 [96.9-99.7]
    printed strings (158), nothing given    48.7 [17.8-76.4]    17.7 [ 8.2-36.6]

Lowest fret with one finger to a fret agrees in 41.6. By editions left out, nothing given: Carcassi op. 59 66.1, Sor
op. 35 57.0, Carulli with Brahms and Fauré 64.2, Aguado with Küffner and Sor op. 45 49.4. Where the data wants what a
hand does not: the fitted weights lay fingers other than 1 flat more readily than a teacher would for block chords, and
choose strings worse; so the hand model is what is used where no school is asked for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from trainer.hand.search import fitted
from trainer.hand.search.places import CODES, Floats

STRINGS, FRETS = 10, 24
"""Room of the table of finger, fret and string."""


@dataclass(frozen=True, slots=True)
class Term:
    """One thing that costs."""

    unit: str
    """What one of it is."""
    reason: str
    """Why a hand pays for it."""
    words: str
    """How a player is told of it."""
    plain: float
    """Its weight in the plain hand model, set by hand (common practice, no source)."""
    fixed: bool = False
    """True where fitting leaves it as it is."""


TERMS = MappingProxyType(
    {
        "low": Term(
            "fret a stopped note", "strings are shorter, stiffer and less sure up the neck", "lies high", 0.16, True
        ),
        "stopped": Term("stopped note", "an open string costs the hand nothing", "stops notes", 0.0),
        "high": Term("fret beyond 12 a note", "the body is in the way", "lies beyond fret 12", 0.5, True),
        "weak": Term("note by finger 4", "the little finger is weaker", "takes finger 4", 0.25),
        "off": Term(
            "fret a finger lies off its frame", "it is not where the hand puts it", "is off the hand's frame", 0.45
        ),
        "stretch": Term("reach beyond comfort", "it strains", "stretches", 8.0),
        "stack": Term(
            "two stacked fingers against the slant of the hand",
            "the fingers get in each other's way",
            "stacks fingers",
            1.8,
        ),
        "crowd": Term("two fingers closer than one to a fret", "the hand must draw together", "crowds fingers", 0.4),
        "barre": Term("barre laid or widened", "the whole finger must come down at once", "lays a barre", 1.7),
        "hold barre": Term("moment under a barre", "it takes force", "holds a barre", 0.3),
        "widen": Term(
            "finger that lies down while it holds a note", "the note may break off", "lies down under a note", 0.6
        ),
        "width": Term("string of a barre beyond two", "the more strings the more force", "the barre is wide", 0.1),
        "partial": Term(
            "string more under a finger other than 1",
            "the joint must bend back",
            "lays a finger other than 1 flat",
            2.5,
        ),
        "place": Term("finger placed from the air", "it must be aimed", "places a finger", 0.4),
        "keep": Term("finger that stays", "it is there already and steadies the rest", "keeps a finger", -0.5),
        "guide": Term("finger that slides along its string", "contact leads the hand", "slides a guide finger", 0.2),
        "slide": Term("reach slid", "the longer the slide the less sure", "slides far", 0.8),
        "squeak": Term("slide along a wound string", "it is heard", "may squeak", 0.15),
        "hop": Term(
            "finger to another string with no time", "the note it leaves breaks off", "crosses with no time", 1.6
        ),
        "cross": Term(
            "finger to another string, by the quarter note of time", "it must be lifted and aimed", "crosses", 0.5
        ),
        "leap": Term("reach a finger goes through the air", "the further the less sure", "goes far", 0.8),
        "shift": Term("shift of the hand", "the hand loses its place", "shifts the hand", 0.9),
        "shift far": Term("reach shifted", "the further the less sure", "shifts far", 1.2),
        "shift bound": Term(
            "shift with a finger that is still sounding", "there is no time", "shifts with no time", 0.8
        ),
        "cut": Term("written note let go early", "it should sound", "cuts a note short", 3.0),
        "ring": Term("note of a broken chord let go", "it should ring", "cuts what would ring", 0.7),
    }
)
"""Every term by name."""

TABLES = MappingProxyType(
    {
        "use": (4, FRETS + 1, STRINGS + 1),
        "off by": (4, 5),
        "chord": (16, CODES),
        "after": (16, CODES),
        "rest": (16, CODES),
        "shift by": (21,),
    }
)
"""Tables that only the fit fills: finger, fret and string; finger and frets off its frame; and for two fingers their
relation (frets and strings between them) when placed together, when one follows the other at once, and when the first
lies idle; frets shifted from -10 to 10. In the plain school they are empty."""


@dataclass(frozen=True, slots=True)
class Weights:
    """Weights of one school."""

    name: str
    """What the school is called."""
    terms: dict[str, float]
    """By name of `TERMS`."""
    tables: dict[str, Floats]
    """By name of `TABLES`, of the shapes given there; not to be changed."""
    filled: frozenset[str] = field(init=False)
    """The tables that are not empty."""

    def __post_init__(self) -> None:
        """Note which tables are empty: they need not be looked up."""
        object.__setattr__(self, "filled", frozenset(name for name, table in self.tables.items() if table.any()))


def plain() -> Weights:
    """Return the plain hand model."""
    return Weights(
        "hand",
        {name: term.plain for name, term in TERMS.items()},
        {name: np.zeros(shape) for name, shape in TABLES.items()},
    )


def editions() -> Weights:
    """Return the weights fitted on published fingerings; a term that the table does not name weighs nothing."""
    tables = {name: np.zeros(shape) for name, shape in TABLES.items()}
    for name, entries in fitted.HUNDREDTHS.items():
        for at, value in entries:
            tables[name].ravel()[at] = value / 100
    return Weights("editions", dict.fromkeys(TERMS, 0.0) | fitted.TERMS, tables)


SCHOOLS: MappingProxyType[str, Callable[[], Weights]] = MappingProxyType({"hand": plain, "editions": editions})
"""Each school's weights by name."""
