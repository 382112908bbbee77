"""How every command prints: one JSON document, or plain text that is fit for a pipe."""

from __future__ import annotations

import json
import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Collection, Iterable, Sequence

    # Rich takes longer to import than most commands take to run; those that draw a table import it then.
    from rich.console import Console
    from rich.table import Table

FORCE_HINT = "choose another name, or say --force"
"""What to do where a file is there already: see `add_force`."""


def add_force(parser: argparse.ArgumentParser) -> None:
    """Add the option --force."""
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def print_json(document: object) -> None:
    """Print one JSON document on standard output, in ASCII: no character of it can steer a terminal."""
    json.dump(document, sys.stdout, indent=2, allow_nan=False)
    sys.stdout.write("\n")


def console() -> Console:
    """Return the console for tables and text: no colour with NO_COLOR or when piped, and no markup is read."""
    from rich.console import Console

    return Console(markup=False, highlight=False, emoji=False, no_color="NO_COLOR" in os.environ, soft_wrap=True)


def bare_table() -> Table:
    """Return a table without columns yet, as all of ours look: no lines, a blank between columns."""
    from rich.table import Table

    return Table(box=None, header_style="", padding=(0, 1, 0, 0), pad_edge=False)


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], right: Collection[str] = ()) -> Table:
    """Return a plain table; columns whose heads are in `right` hold numbers. Cells are text, whatever they hold."""
    from rich.text import Text

    made = bare_table()
    for head in heads:
        made.add_column(head, justify="right" if head in right else "left", no_wrap=head in right, overflow="fold")
    for row in rows:
        made.add_row(*map(Text, row))
    return made


def drawn(draw: Callable[[int, int], list[str]], width: int, height: int) -> list[str]:
    """Return the rows of a plot in so many cells, without the blanks at their ends."""
    return [row.rstrip() for row in draw(width, height)]
