"""What came of a class's rounds as one HTML file: prints on A4 and Letter, needs no script and nothing beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from trainer.sheets.document import document
from trainer.sheets.svg import text

_STYLE = """\
section { break-inside: avoid }
p, ul { margin: 0 0 1.5mm }
table { border-collapse: collapse; width: 100%; margin: 0 0 3mm }
caption { text-align: left; font-weight: bold; padding: 1mm 0; break-after: avoid }
th, td { border: 1px solid #777; padding: 1mm 2mm; text-align: left; font-weight: normal; overflow-wrap: anywhere }
thead { display: table-header-group }
thead th { font-weight: bold }
tr { break-inside: avoid }
.number { text-align: right; font-variant-numeric: tabular-nums }
"""


@dataclass(frozen=True, slots=True)
class Tried:
    """How a change went in rounds."""

    name: str
    """Its shapes."""
    asked: int
    """In how many rounds it is known how it went."""
    had: int
    """In how many of them it was had."""
    tempo: float | None
    """The fastest tempo at which it was had; None where it never was."""
    late_ms: float | None = None
    """How late it usually was, negative: early; None where no guitar was heard."""
    came_up: int = 0
    """How often a finger came up that should have stayed."""
    stayed: int = 0
    """How often one stayed."""

    @property
    def heard(self) -> str:
        """What guitars told of it, in words; empty where none did."""
        told = []
        if self.late_ms is not None:
            late = round(self.late_ms)
            told.append(f"usually {abs(late)} ms {'late' if late > 0 else 'early'}" if late else "on time")
        if self.came_up:
            told.append(f"a finger came up {self.came_up} of {self.came_up + self.stayed} times")
        return ", ".join(told)


@dataclass(frozen=True, slots=True)
class Timed:
    """How fast a change is."""

    name: str
    """Its shapes."""
    how: str
    """How it was timed, in words; times taken in two ways stand in two lines."""
    median_ms: float
    """The usual time; for a class, the middle one of those of its seats."""
    best_ms: float
    """The best time."""
    seats: int = 1
    """Of how many seats."""


@dataclass(frozen=True, slots=True)
class Part:
    """What came of one seat's playing, or of all of the class."""

    title: str
    """What to call it."""
    rounds: int
    """Rounds that were played there."""
    had: int
    """How many of them were had whole."""
    tried: tuple[Tried, ...]
    """Changes as they went in rounds, those that were had least first."""
    slowest: tuple[Timed, ...]
    """The slowest changes, the slowest first."""
    practise: tuple[tuple[str, str], ...]
    """What to practise next, and why; the most pressing first."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """What came of the playing of a class."""

    name: str
    """What the class is called."""
    span: str
    """When it was played, in words; empty where nothing was."""
    whole: Part
    """The class as a whole."""
    seats: tuple[Part, ...]
    """Each seat, by its number."""


def html(lesson: Lesson) -> str:
    """Return the summary as an HTML document; every name in it is escaped."""
    body = "\n".join(_body(lesson))
    return document(lesson.name, _STYLE, f"<main>\n{body}\n</main>")


def _body(lesson: Lesson) -> Iterator[str]:
    yield f"<h1>{text(lesson.name)}</h1>"
    if lesson.span:
        yield f"<p>{text(lesson.span)}</p>"
    rows = ((seat.title, str(seat.rounds), str(seat.had), _first(seat)) for seat in lesson.seats)
    yield _table("Seats", ("seat", "rounds", "had", "to practise first"), rows, numbers=(1, 2))
    yield from _part("The class", lesson.whole)
    for seat in lesson.seats:
        yield "<section>"
        yield from _part(seat.title, seat)
        yield "</section>"


def _part(title: str, part: Part) -> Iterator[str]:
    yield f"<h2>{text(title)}</h2>"
    if not (part.rounds or part.tried or part.slowest):
        yield "<p>Nothing played yet.</p>"
        return
    if part.rounds and not part.tried:
        # A round of several changes that was missed does not say at which of them.
        yield f"<p>Rounds played: {part.rounds}, had whole: {part.had}. Which changes were missed is not known.</p>"
    if part.tried:
        heads, tried = ("change", "had", "up to (beats a minute)", "heard"), part.tried
        rows = [(one.name, f"{one.had} of {one.asked}", tempo(one.tempo), one.heard) for one in tried]
        columns = 4 if any(one.heard for one in tried) else 3
        cut = (row[:columns] for row in rows)
        yield _table("What landed in rounds", heads[:columns], cut, numbers=(1, 2))
    if part.slowest:
        slow = ((one.name, seconds(one.median_ms), seconds(one.best_ms), one.how) for one in part.slowest)
        yield _table("Slowest changes", ("change", "usual (s)", "best (s)", "timed"), slow, numbers=(1, 2))
    if part.practise:
        items = "".join(f"<li>{text(what)}: {text(why)}</li>" for what, why in part.practise)
        yield f"<p><strong>To practise</strong></p><ul>{items}</ul>"


def _first(part: Part) -> str:
    return part.practise[0][0] if part.practise else ""


def tempo(beats: float | None) -> str:
    """Return a tempo; nothing where there is none."""
    return "" if beats is None else f"{beats:g}"


def seconds(ms: float) -> str:
    """Return milliseconds as seconds."""
    return f"{ms / 1000:.2f}"


def _table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]], numbers: Sequence[int]) -> str:
    """Return a table whose first column heads its rows."""

    def cell(column: int, said: str) -> str:
        if not column:
            return f'<th scope="row">{text(said)}</th>'
        return f"<td{_NUMBER if column in numbers else ''}>{text(said)}</td>"

    head = "".join(f'<th scope="col">{text(name)}</th>' for name in heads)
    body = "".join(f"<tr>{''.join(cell(*one) for one in enumerate(row))}</tr>" for row in rows)
    return f"<table><caption>{text(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


_NUMBER = ' class="number"'
