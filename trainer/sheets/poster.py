"""A hand-out's shapes as one SVG picture, to look at or to set into something else."""

from __future__ import annotations

from textwrap import wrap

from trainer.errors import plain
from trainer.sheets.content import Card, Content
from trainer.sheets.legend import LEGEND
from trainer.sheets.svg import Drawing, draw, text

_WIDTH = 760
_CARD = 190
_MARGIN = 20
_LINE = 14
_LETTERS, _TITLE = 29, 21
"""Letters in a line of a card, and in its title; the type is monospaced, so its width is known."""


def svg(content: Content, *, left_handed: bool = False) -> str:
    """Return the shapes of a hand-out and how each is reached, as an SVG document."""
    parts = [_say(_MARGIN, 30, content.title, 20, bold=True)]
    y = 46
    for line in wrap(plain(content.about), 100):
        parts.append(_say(_MARGIN, y, line))
        y += _LINE
    across = _WIDTH // _CARD
    for start in range(0, len(content.cards), across):
        row = content.cards[start : start + across]
        drawn = [draw(card.diagram, left_handed=left_handed) for card in row]
        neck = max(drawing.height for drawing in drawn)
        said = [_words(card) for card in row]
        for column, (card, drawing, words) in enumerate(zip(row, drawn, said, strict=True)):
            parts += _card(_MARGIN + column * _CARD, y, card, drawing, neck, words)
        y += 34 + neck + _LINE * max(len(words) for words in said) + 16
    for number, line in enumerate(LEGEND):
        parts.append(_say(_MARGIN + number % 2 * (_WIDTH // 2), y + number // 2 * _LINE, line))
    height = y + (len(LEGEND) + 1) // 2 * _LINE + _MARGIN
    width = _WIDTH + 2 * _MARGIN
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}">'
        f'<title>{text(content.title)}</title><rect width="100%" height="100%" fill="#fff"/>{"".join(parts)}</svg>\n'
    )


def _card(x: int, y: int, card: Card, drawing: Drawing, neck: int, words: list[str]) -> list[str]:
    title = card.title if len(card.title) <= _TITLE else f"{card.title[: _TITLE - 1]}…"
    parts = [_say(x, y + 24, title, 14, bold=True)]
    parts.append(f'<g transform="translate({x},{y + 30})">{drawing.elements}</g>')
    parts += [_say(x, y + 44 + neck + number * _LINE, line) for number, line in enumerate(words)]
    return parts


def _words(card: Card) -> list[str]:
    watch = "" if card.watch is None else f" Watch finger {card.watch}."
    return wrap(f"{plain(card.arrival)}.{watch}", _LETTERS) if card.arrival else []


def _say(x: int, y: int, line: str, size: int = 10, *, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x}" y="{y}" font-family="monospace" font-size="{size}"{weight}>{text(line)}</text>'
