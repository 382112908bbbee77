"""A hand-out as plain text: for a terminal, a screen reader, or a printer without pictures."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from trainer.errors import plain
from trainer.hand.words import roman
from trainer.sheets.content import CARE, IN_A_ROW, Card, Content
from trainer.sheets.diagram import Diagram, Kind

WIDTH = 78
"""Columns of a line at most; a title or a name that is longer is broken."""
LEGEND = (
    "In the pictures a number is a finger, (2) a silent one, =1= one across strings; * after it: it stays down,"
    " ~ it slides there. Over a string: o open, x not played."
)
"""What the marks of a picture in plain text mean."""
_ABOVE = {Kind.MUTED: "x", Kind.OPEN: "o"}


def txt(content: Content, *, left_handed: bool = False) -> str:
    """Return the hand-out as lines of plain text."""
    return "\n".join(line.rstrip() for line in _lines(content, left_handed)) + "\n"


def _lines(content: Content, left_handed: bool) -> Iterator[str]:
    yield from _wrapped(content.title)
    yield "=" * min(len(plain(content.title)), WIDTH)
    yield from _wrapped(content.player)
    yield from _wrapped(content.about)
    for fact in content.facts:
        yield from _wrapped(fact)
    yield from _wrapped(content.caution and f"Mind: {content.caution}")
    if content.practise:
        yield from ("", "To practise first", "")
        for what, why in content.practise:
            yield from _wrapped(f"{what}: {why}")
    for card in content.cards:
        yield ""
        yield from _card(card, left_handed)
    yield ""
    yield from _wrapped(LEGEND)
    yield ""
    yield from ("Join it up (tick a step when it went well twice in a row)", "")
    for step, picture in content.plan:
        yield from _wrapped(f"[ ] [ ]  shapes {step.first} to {step.last}  {picture}")
    yield from ("", f"Tempo goals ({IN_A_ROW} times in a row without a miss, then the next)", "")
    for goal in content.goals:
        yield f"{goal:>5g}  {'[ ] ' * IN_A_ROW}"
    if content.slowest:
        yield from ("", "Your slowest changes: usual and best time in seconds", "")
        for slow in content.slowest:
            yield from _wrapped(
                f"{' to '.join(slow.names)}: {slow.median_ms / 1000:.2f}, best {slow.best_ms / 1000:.2f}"
            )
    yield ""
    yield from _wrapped(CARE)
    yield from _wrapped(content.credits)


def _card(card: Card, left_handed: bool) -> Iterator[str]:
    yield from _wrapped(f"{card.title}, {card.beats}")
    if card.arrival:
        watch = "" if card.watch is None else f"; watch finger {card.watch}"
        yield from _wrapped(f"{card.arrival}{watch}")
    yield from _wrapped(card.note)
    yield from picture(card.diagram, left_handed=left_handed)


def picture(diagram: Diagram, *, left_handed: bool = False) -> Iterator[str]:
    """Yield the lines of an upright diagram, three columns a string, the last string on the left."""
    strings = range(1, diagram.strings + 1) if left_handed else range(diagram.strings, 0, -1)
    cells = _cells(diagram)
    yield " " * 6 + "".join(f" {cells.get((string, 0), ' ')} " for string in strings)
    yield " " * 6 + ("=" if diagram.first == 1 else "-") * 3 * diagram.strings
    for fret in range(diagram.first, diagram.last + 1):
        numeral = roman(fret) if fret == diagram.first else ""
        yield f"{numeral:>5} " + "".join(cells.get((string, fret), " | ") for string in strings)


def _cells(diagram: Diagram) -> dict[tuple[int, int], str]:
    """Return what stands in each cell: one sign beyond the nut, three in a fret."""
    slides = {mark.finger for mark in diagram.marks if mark.kind is Kind.GUIDE}
    cells: dict[tuple[int, int], str] = {}
    for mark in diagram.marks:
        name = "?" if mark.finger is None else str(mark.finger)
        after = "*" if mark.kept else "~" if mark.finger in slides else " "
        if mark.kind in _ABOVE:
            cells[mark.string, 0] = _ABOVE[mark.kind]
        elif mark.kind is Kind.BARRE:
            cells |= {(string, mark.fret): "===" for string in range(mark.to_string, mark.string)}
            cells[mark.string, mark.fret] = f"={name}{after.strip() or '='}"
        elif mark.kind is Kind.FINGER:
            cells[mark.string, mark.fret] = f" {name}{after}"
        elif mark.kind is Kind.RESTING:
            cells[mark.string, mark.fret] = f"({name})"
    return cells


def _wrapped(said: str) -> list[str]:
    return wrap(plain(said), WIDTH)
