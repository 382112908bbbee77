"""A hand-out as one HTML file: prints on A4 and Letter, needs no script and nothing beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from trainer.practice.joins import Kind
from trainer.sheets.content import CARE, IN_A_ROW, Card, Content
from trainer.sheets.document import document
from trainer.sheets.legend import LEGEND
from trainer.sheets.svg import draw, text

_STYLE = """\
p { margin: 0 0 1.5mm }
.facts { color: #333 }
.mind { border: 1.5px solid #000; padding: 2mm 3mm; margin: 2mm 0 }
.cards { display: grid; grid-template-columns: repeat(auto-fill, minmax(43mm, 1fr)); gap: 4mm }
.card { border: 1px solid #777; padding: 2mm; break-inside: avoid; text-align: center }
.card h3 { font-size: 13pt; margin: 0; overflow-wrap: anywhere }
.card svg { display: block; margin: 1mm auto; max-width: 100%; height: auto }
.card p { text-align: left; font-size: 9pt }
.beats { font-size: 9pt; color: #333 }
.legend { display: grid; grid-template-columns: repeat(auto-fill, minmax(42mm, 1fr)); gap: 1mm 3mm; font-size: 9pt }
table { border-collapse: collapse; width: 100%; break-inside: avoid }
th, td { border: 1px solid #777; padding: 1mm 2mm; text-align: left; font-weight: normal }
thead th { font-weight: bold }
.picture { font-family: monospace; white-space: pre; letter-spacing: .1em }
.box { display: inline-block; width: 3.6mm; height: 3.6mm; border: 1.2px solid #000; margin: 0 .8mm }
.number { text-align: right; font-variant-numeric: tabular-nums }
footer { margin-top: 5mm; font-size: 9pt; color: #333 }
"""

_KINDS = {
    Kind.ALONE: "alone",
    Kind.SEAM: "across the seam",
    Kind.PAIR: "two in one go",
    Kind.RUN: "from the start",
    Kind.WHOLE: "all of it",
}


def html(content: Content, *, left_handed: bool = False) -> str:
    """Return the hand-out as an HTML document; every text that came from a file is escaped."""
    body = "\n".join(_body(content, left_handed))
    return document(content.title, _STYLE, body)


def _body(content: Content, left_handed: bool) -> Iterator[str]:
    yield f"<h1>{text(content.title)}</h1>"
    if content.player:
        yield f'<p class="facts">{text(content.player)}</p>'
    if content.about:
        yield f"<p>{text(content.about)}</p>"
    yield f'<p class="facts">{" · ".join(map(text, content.facts))}</p>'
    if content.caution:
        yield f'<p class="mind"><strong>Mind:</strong> {text(content.caution)}</p>'
    if content.practise:
        items = "".join(f"<li>{text(what)}: {text(why)}</li>" for what, why in content.practise)
        yield f"<h2>To practise first</h2><ul>{items}</ul>"
    yield "<h2>The shapes, and how each is reached</h2>"
    yield f'<div class="cards">{"".join(_card(card, left_handed) for card in content.cards)}</div>'
    yield f'<p></p><div class="legend">{"".join(f"<div>{text(line)}</div>" for line in LEGEND)}</div>'
    yield "<h2>Join it up</h2>"
    yield "<p>Tick a step when it went well twice in a row; one that goes wrong three times waits for a shorter.</p>"
    yield _table(("step", "shapes", "", "done"), _steps(content))
    yield "<h2>Tempo goals</h2>"
    yield f"<p>{IN_A_ROW} times in a row without a miss, then the next.</p>"
    yield _table(("part", *(f"{goal:g}" for goal in content.goals)), _goals(content))
    if content.slowest:
        yield "<h2>Your slowest changes</h2>"
        yield _table(("change", "usual (s)", "best (s)"), _slowest(content))
    yield f'<p class="mind"><strong>Your hands:</strong> {text(CARE)}</p>'
    yield f"<footer>{text(content.credits)}</footer>"


def _card(card: Card, left_handed: bool) -> str:
    told = f"{card.title}: {card.arrival}" if card.arrival else card.title
    parts = [
        f"<h3>{text(card.title)}</h3>",
        f'<div class="beats">{text(card.beats)}</div>',
        draw(card.diagram, left_handed=left_handed).standalone(told),
    ]
    if card.arrival:
        watch = "" if card.watch is None else f" <strong>Watch finger {card.watch}.</strong>"
        parts.append(f"<p>{text(card.arrival)}.{watch}</p>")
    if card.note:
        parts.append(f"<p><em>{text(card.note)}</em></p>")
    return f'<div class="card">{"".join(parts)}</div>'


def _table(heads: Iterable[str], rows: Iterable[str]) -> str:
    head = "".join(f"<th>{text(name)}</th>" for name in heads)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def _steps(content: Content) -> Iterator[str]:
    for step, picture in content.plan:
        shapes = f"{step.first} to {step.last}"
        yield (
            f'<tr><td>{_KINDS[step.kind]}</td><td>{shapes}</td><td class="picture">{text(picture)}</td>'
            f"<td>{_boxes(2)}</td></tr>"
        )


def _goals(content: Content) -> Iterator[str]:
    names = [segment.name for segment in content.segments] if len(content.segments) > 1 else []
    for name in (*names, "all of it"):
        yield f"<tr><td>{text(name)}</td>{f'<td>{_boxes(IN_A_ROW)}</td>' * len(content.goals)}</tr>"


def _slowest(content: Content) -> Iterator[str]:
    for slow in content.slowest:
        names = text(" → ".join(slow.names))
        yield (
            f'<tr><td>{names}</td><td class="number">{slow.median_ms / 1000:.2f}</td>'
            f'<td class="number">{slow.best_ms / 1000:.2f}</td></tr>'
        )


def _boxes(count: int) -> str:
    return '<span class="box"></span>' * count
