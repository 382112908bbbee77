"""What sound libraries print goes nowhere: it would be written over the screen.

ALSA's and JACK's libraries tell their troubles on standard error as soon as they look for a device. Both take a
function to tell them to instead, so they are loaded and given one before anything is opened: the C library's `strlen`,
which only looks at its first argument, a string that neither passes empty. No Python runs in their threads.
"""

from __future__ import annotations

import ctypes
import sys

_TELL = (
    ("libasound.so.2", ("snd_lib_error_set_handler",)),
    ("libjack.so.0", ("jack_set_error_function", "jack_set_info_function")),
)
"""Libraries, and the functions that set where each one's words go."""


def hush() -> None:
    """Silence the sound libraries of a Linux system, as far as it has them; elsewhere do nothing."""
    if not sys.platform.startswith("linux"):
        return
    for name, setters in _TELL:
        try:
            library = ctypes.CDLL(name)
        except OSError:
            continue
        for setter in (getattr(library, each, None) for each in setters):
            if setter is not None:
                setter.argtypes, setter.restype = [ctypes.c_void_p], None
                setter(ctypes.cast(ctypes.CDLL(None).strlen, ctypes.c_void_p))
