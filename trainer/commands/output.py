"""How every command prints: one JSON document, or plain text that is fit for a pipe."""

from __future__ import annotations

import json
import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    # Rich takes longer to import than most commands take to run; those that draw a table import it then.
    from rich.console import Console


def print_json(document: object) -> None:
    """Print one JSON document on standard output, in ASCII: no character of it can steer a terminal."""
    json.dump(document, sys.stdout, indent=2, allow_nan=False)
    sys.stdout.write("\n")


def console() -> Console:
    """Return the console for tables and text: no colour with NO_COLOR or when piped, and no markup is read."""
    from rich.console import Console

    return Console(markup=False, highlight=False, emoji=False, no_color="NO_COLOR" in os.environ, soft_wrap=True)
