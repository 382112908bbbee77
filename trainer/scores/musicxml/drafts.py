"""Parts and bars while a score is read: filled bar by bar, values once they are done."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from operator import attrgetter

from trainer.errors import plain
from trainer.fretboard.instrument import Instrument
from trainer.scores.musicxml.ledger import Ledger
from trainer.scores.score import Bar, BarreText, Note, Part, Staff, Symbol, Tempo


def shown(text: str) -> str:
    """Return a text in one line, without controls, of bearable length."""
    return plain(" ".join(text.split()))[:200]


@dataclass(slots=True)
class DraftPart:
    """A part while it is read."""

    id: str
    """The file's name for it."""
    name: str = ""
    """As shown in the score."""
    program: int | None = None
    """As in `Part`."""
    sound: str = ""
    """As in `Part`."""
    notes: list[Note] = field(default_factory=list)
    """As they come."""
    symbols: list[Symbol] = field(default_factory=list)
    """As they come."""
    barres: list[BarreText] = field(default_factory=list)
    """As they come."""
    staves: list[Staff] = field(default_factory=list)
    """As they come."""
    voices: set[str] = field(default_factory=set)
    """Names met in its upper staff."""
    lines: dict[int, int] = field(default_factory=dict)
    """Open pitch by staff line, 1 the lowest."""
    retuned: dict[int, int] = field(default_factory=dict)
    """Open pitch by string, from scordatura marks."""
    strings: int = 6
    """Lines of its staff, which in tablature are strings."""
    capo: int = 0
    """As in `Part`."""
    transpose: int | None = None
    """As in `Part`."""
    divisions: Fraction = Fraction(1)
    """Parts of a quarter that durations count in, since they were said last."""
    lengths: dict[str, Fraction] = field(default_factory=dict)
    """Quarters by the text of a duration, as long as the divisions last."""
    bars: int = 0
    """How many bars have been read."""
    meter: tuple[int, int] = (4, 4)
    """Of the bars that come now."""

    def tuning(self) -> tuple[int, ...] | None:
        """Return the open strings low to high, None where nothing was said of them."""
        if self.lines and len(self.lines) == max(self.lines):
            low = [self.lines[line] for line in sorted(self.lines)]
        elif self.retuned and self.strings == Instrument().strings:
            low = list(Instrument().tuning)
        else:
            return None
        for string, pitch in self.retuned.items():
            if string <= len(low):
                low[-string] = pitch
        return tuple(low)

    def done(self) -> Part:
        """Return the part, its notes in order."""
        self.notes.sort(key=attrgetter("bar", "at"))
        self.symbols.sort(key=attrgetter("bar", "at"))
        return Part(
            id=self.id,
            name=self.name,
            notes=tuple(self.notes),
            voices=tuple(sorted(self.voices, key=lambda voice: (len(voice), voice))),
            symbols=tuple(self.symbols),
            barres=tuple(self.barres),
            staves=tuple(self.staves),
            tuning=self.tuning(),
            capo=self.capo,
            transpose=self.transpose,
            program=self.program,
            sound=self.sound,
        )


@dataclass(slots=True)
class DraftBar:
    """A bar while it is read: what any part says of it."""

    number: str
    """As in `Bar`."""
    meter: tuple[int, int]
    """As in `Bar`."""
    pickup: bool
    """As in `Bar`."""
    length: Fraction = Fraction(0)
    """Quarters that are filled so far, in the fullest part."""
    opens: bool = False
    """As in `Bar`."""
    closes: int = 0
    """As in `Bar`."""
    endings: frozenset[int] = frozenset()
    """As in `Bar`."""

    def done(self) -> Bar:
        """Return the bar, as long as its meter where nothing stands in it."""
        length = self.length or Fraction(4 * self.meter[0], self.meter[1])
        return Bar(self.number, length, self.meter, self.pickup, self.opens, self.closes, self.endings)


@dataclass(slots=True)
class DraftScore:
    """What the parts of a score share while it is read."""

    bars: list[DraftBar] = field(default_factory=list)
    """As many as the longest part has so far."""
    tempos: list[Tempo] = field(default_factory=list)
    """As they come."""
    running: frozenset[int] = frozenset()
    """The ending that bars lie under until it is closed."""

    def tempo(self, mark: Tempo, ledger: Ledger) -> None:
        """Keep a tempo mark; parts that repeat it count once."""
        if mark not in self.tempos:
            self.tempos.append(mark)
            ledger.understood["tempo"] += 1
