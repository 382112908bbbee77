"""`changeover` without a command: the app, from its home screen on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.ui import start

if TYPE_CHECKING:
    import argparse


def run(_: argparse.Namespace | None = None) -> int:
    """Open the app."""
    start.check_terminal()
    return start.run("home")
