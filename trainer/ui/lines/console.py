"""Where line mode prints."""

from __future__ import annotations

from typing import TextIO


class Console:
    """Where lines are printed."""

    def __init__(self, out: TextIO) -> None:
        self._out = out

    def say(self, text: str) -> None:
        """Print one line at once."""
        self._out.write(f"{text}\n")
        self._out.flush()

    @property
    def has_bell(self) -> bool:
        """Tell whether it is a terminal, whose bell can be rung."""
        return self._out.isatty()

    def ring(self) -> None:
        """Ring the terminal's bell."""
        self._out.write("\a")
        self._out.flush()
