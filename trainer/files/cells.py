"""Text in the cells of a CSV file: a spreadsheet that opens it must not take a name for a formula."""

from __future__ import annotations

import re

_FORMULA = re.compile(r"'*[=+\-@\t\r]")
"""How text begins that a spreadsheet takes for a formula (OWASP, CSV Injection), behind apostrophes or not."""


def guarded(text: str) -> str:
    """Return `text` as a cell: behind an apostrophe where it would start a formula, or look as if it had one."""
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(cell: str) -> str:
    """Return the text that `guarded` made the cell of."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
