"""From the command line into the app: check the terminal, gather what the screens work with, run, leave in order."""

from __future__ import annotations

import gc
import os
import sys
from typing import Any

from trainer.errors import plain, wrong

_IN_BROWSER = "TEXTUAL_DRIVER"
"""The variable in which a server tells that the terminal is a page in a browser; the size it gives holds."""
_WAY_ON = "'changeover hear DRILL' drills line by line; 'changeover explain' and 'changeover progress' need no screen"


def check_terminal() -> None:
    """Raise ChangeoverError where there is no terminal that a screen can be drawn on."""
    if _IN_BROWSER in os.environ:
        return  # a browser at the other end, told to us by the server
    if os.environ.get("TERM", "") in {"", "dumb", "unknown"}:
        raise wrong("this terminal cannot show the app", key="TERM", hint=_WAY_ON)
    if not (sys.__stdin__ and sys.__stdin__.isatty() and sys.__stdout__ and sys.__stdout__.isatty()):
        raise wrong("the app needs a terminal", hint=_WAY_ON)


def run(screen: str, **given: Any) -> int:
    """Run the app from `screen` on, and return its exit code; the log is closed and the terminal restored after it.

    Practice that could not be logged is told on standard error.
    """
    # What is loaded stays: looking for garbage among it would only keep the first frame waiting.
    gc.disable()
    in_browser = _IN_BROWSER in os.environ
    if not in_browser:
        # A shell that exports the size it began with would keep the screen at it, whatever the window does.
        for stale in ("COLUMNS", "LINES"):
            os.environ.pop(stale, None)
    from trainer.ui.app import ChangeoverApp
    from trainer.ui.messages import Open
    from trainer.ui.seat import end_with_server
    from trainer.ui.services import open_services

    services = open_services()
    if in_browser:
        end_with_server()
    try:
        app = ChangeoverApp(services, Open(screen, **given))
        app.run()
        for line in services.parting:
            sys.stdout.write(f"{plain(line)}\n")
        return app.return_code or 0
    finally:
        services.close()
        # The screen that said so is gone, and at the end it may have become more.
        if services.log_problem is not None:
            sys.stderr.write(f"changeover: {services.log_problem}\n")
