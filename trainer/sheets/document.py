"""HTML documents for paper: print on A4 and Letter, need no script and nothing beside them."""

from __future__ import annotations

from trainer.sheets.svg import text

_STYLE = """
@page { margin: 12mm }
* { box-sizing: border-box }
body { font: 10.5pt/1.35 sans-serif; color: #000; background: #fff; max-width: 190mm; margin: 0 auto; padding: 4mm }
h1 { font-size: 18pt; margin: 0 0 1mm }
h2 { font-size: 12.5pt; margin: 6mm 0 2mm; border-bottom: 1px solid #000; break-after: avoid }
"""


def document(title: str, style: str, body: str) -> str:
    """Return a document of `body`, with `style` beside what all of them look like; the title is escaped."""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{text(title)}</title>\n<style>{_STYLE}{style}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )
