"""What sound and MIDI libraries print goes nowhere: it would be written over the screen.

ALSA's and JACK's libraries tell their troubles on standard error, from threads of their own, where no redirection can
tell them from a screen that is drawn there. Both take a function to tell them to instead. They get one from the C
library that only looks at its first argument, a string that neither passes empty: no Python runs in their threads.
"""

from __future__ import annotations

import contextlib
import ctypes
import sys
from collections.abc import Iterator
from pathlib import Path

_TELL = (
    ("libasound", "libasound.so.2", ("snd_lib_error_set_handler",)),
    ("libjack", "libjack.so.0", ("jack_set_error_function", "jack_set_info_function")),
)
"""How a library's file begins, the system's own, and the functions that set where its words go."""


def loaded(start: str) -> Iterator[ctypes.CDLL]:
    """Yield the shared libraries in this process whose file's name starts so; none where that cannot be known.

    They are taken from the process itself: RtMidi's wheels bring a JACK library of their own, under a name of its own.
    """
    try:
        maps = Path("/proc/self/maps").read_text(errors="replace")
    except OSError:
        return
    paths = {fields[5].strip() for line in maps.splitlines() if len(fields := line.split(maxsplit=5)) == 6}
    for path in sorted(paths):
        if Path(path).name.startswith(start):
            try:
                yield ctypes.CDLL(path)
            except OSError:
                continue


def hush(*, ahead: bool = False) -> None:
    """Silence those libraries that are loaded by now, as far as a Linux system has them; elsewhere do nothing.

    `ahead`: the system's own are loaded first, for somebody who will load them only as a device is looked for.
    """
    if not sys.platform.startswith("linux"):
        return
    for start, own, setters in _TELL:
        if ahead:
            with contextlib.suppress(OSError):
                ctypes.CDLL(own)
        for library in loaded(start):
            for setter in (getattr(library, name, None) for name in setters):
                if setter is not None:
                    setter.argtypes, setter.restype = [ctypes.c_void_p], None
                    setter(ctypes.cast(ctypes.CDLL(None).strlen, ctypes.c_void_p))
