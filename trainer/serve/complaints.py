"""What went wrong while serving, as the teacher's terminal tells it: what is told may come from a browser."""

from __future__ import annotations

import logging

from trainer.errors import plain

LONGEST_LINE = 200
"""So many characters at most of what went wrong."""


class OneLine(logging.Formatter):
    """Tells what went wrong in a line of plain text, without the places in the code."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        error = record.exc_info[1] if record.exc_info else None
        said = record.getMessage() if error is None else f"{record.getMessage()}: {type(error).__name__}: {error}"
        return " ".join(plain(said).split())[:LONGEST_LINE]
