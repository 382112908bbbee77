"""Playing from a seat: in a browser, with files of one's own on a machine that is somebody else's."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from types import MappingProxyType
from typing import TYPE_CHECKING, NoReturn

from trainer.errors import plain, wrong

if TYPE_CHECKING:
    from collections.abc import Callable, Collection


SEAT = "CHANGEOVER_SEAT"
"""The variable in which the server tells that this is a seat, and its name."""
ELSEWHERE = MappingProxyType(
    {
        "guitar": "MIDI guitars are heard on the machine that serves this page, not here.",
        "scores": "Files of the machine that serves this page are not for browsers.",
    }
)
"""Screens that a seat does not have, and what it is told in their place."""
_LOOK_S = 0.5
"""How often a process looks whether its server is still there, in seconds."""


def seat_name() -> str | None:
    """Return the name of the seat that is played from; None for a player at the machine itself."""
    given = os.environ.get(SEAT)
    return plain(given) if given else None


class NoPorts:
    """Hears nothing: ports belong to the machine that serves."""

    def __init__(self, _: Collection[str] | None, __: Callable[..., None], ___: Callable[[], float]) -> None:
        """Take what any listener takes."""

    def start(self) -> None:
        """Begin to hear nothing."""

    def close(self) -> None:
        """End."""


def no_device(*_: object, **__: object) -> NoReturn:
    """Open no sound device. Raises ChangeoverError."""
    raise wrong("sound would come from the machine that serves this page")


def end_with_server() -> None:
    """End this process in order when its server is gone, however that came: nobody could reach it any more."""
    if sys.platform == "win32":
        return
    server = os.getppid()

    def watch() -> None:
        while os.getppid() == server:
            time.sleep(_LOOK_S)
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=watch, name="server", daemon=True).start()
