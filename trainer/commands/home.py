"""`changeover` without a command: the app, from its home screen on."""

from __future__ import annotations

import argparse

from trainer.ui import start


def run(_: argparse.Namespace) -> int:
    """Open the app."""
    start.check_terminal()
    return start.run("home")
