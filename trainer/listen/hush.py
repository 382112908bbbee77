"""What MIDI libraries print goes nowhere: it would be written over the screen.

ALSA's and JACK's libraries tell their troubles on standard error, from threads of their own, where no redirection can
tell them from a screen that is drawn there. Both take a function to tell them to instead. They get one from the C
library that only looks at its first argument, a string that neither passes empty: no Python runs in their threads.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from pathlib import Path
from types import MappingProxyType

_TELL = MappingProxyType(
    {
        "libjack": ("jack_set_error_function", "jack_set_info_function"),
        "libasound": ("snd_lib_error_set_handler",),
    }
)
"""Functions that set where a library's words go, by the start of its file's name."""


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


def hush() -> None:
    """Silence the MIDI libraries that are loaded by now."""
    for start, setters in _TELL.items():
        for library in loaded(start):
            for name in setters:
                setter = getattr(library, name, None)
                if setter is not None:
                    setter.argtypes, setter.restype = [ctypes.c_void_p], None
                    setter(ctypes.cast(ctypes.CDLL(None).strlen, ctypes.c_void_p))
