"""The one adapter for python-rtmidi, imported only here and only when a driver is opened.

No callback: RtMidi's own queue takes the messages in the driver's thread, with their stamps, and is asked for them.
Nothing is left out by RtMidi either (`ignore_types`): with JACK, on some versions with Windows, the time until a
message that is left out would be lost with it.
"""

from __future__ import annotations

import importlib
import itertools
import os
from types import MappingProxyType
from typing import Any, Self

from trainer.errors import Problem
from trainer.hush import hush
from trainer.listen.jack import Watch

API_VARIABLE = "CHANGEOVER_MIDI_API"
"""Environment variable that names the API to use, such as UNIX_JACK; without it, the first that works."""
QUEUE = 16384
"""Messages that a port's queue holds: 8 s at 2,000 a second."""

_JACK = "UNIX_JACK"
_HINTS = MappingProxyType(
    {
        "LINUX_ALSA": "ALSA's sequencer is not there: 'modprobe snd-seq' loads it",
        _JACK: "no JACK server runs",
        "MACOSX_CORE": "CoreMIDI does not answer",
        "WINDOWS_MM": "Windows' MIDI does not answer",
    }
)
"""Why an API may not open, by RtMidi's name for it."""
_numbers = itertools.count(1)
"""Makes the names of our JACK clients unlike each other, so that each is known by its name."""


class Driver:
    """RtMidi with one of its APIs. Not to be shared between threads."""

    def __init__(self, rtmidi: Any, api: str) -> None:
        """Open an API by its name; raises RtMidi's error where it does not answer. Use `open`."""
        self.api = api
        """RtMidi's name for it, such as LINUX_ALSA."""
        self._rtmidi = rtmidi
        self._lister = rtmidi.MidiIn(_api(rtmidi, api), name="changeover")
        self._watch = Watch.open(f"changeover-{os.getpid()}-{next(_numbers)}") if api == _JACK else None

    @classmethod
    def open(cls) -> Self | Problem:
        """Return the first driver that works, or why there is none."""
        try:
            rtmidi = importlib.import_module("rtmidi")
        except ImportError:
            return Problem(
                "MIDI ports need python-rtmidi, which is not installed",
                hint="install Changeover with the extra 'midi'; on Python 3.13 and later it is compiled, which takes "
                "a C++ compiler and ALSA's headers",
            )
        hush()
        wished = os.environ.get(API_VARIABLE)
        apis = [name for name in _HINTS if _api(rtmidi, name) in rtmidi.get_compiled_api()]
        if wished and wished not in apis:
            return Problem("is no API of MIDI here", key=f"{API_VARIABLE}={wished}", hint=f"one of {', '.join(apis)}")
        for api in [wished] if wished else apis:
            try:
                return cls(rtmidi, api)
            except rtmidi.RtMidiError:
                continue
        why = "; ".join(_HINTS[api] for api in ([wished] if wished else apis))
        return Problem("no MIDI ports can be had here", hint=why or "RtMidi was built without any")

    @property
    def alive(self) -> bool:
        """Tell whether the system still answers."""
        return self._watch is None or self._watch.alive

    def names(self) -> tuple[str, ...]:
        """Return what the system calls each port that something can be heard from."""
        try:
            return tuple(self._lister.get_ports())
        except (self._rtmidi.RtMidiError, UnicodeError):
            return ()

    def listen(self, place: int, name: str) -> Input | None:
        """Open the port at `place` of `names` and begin to listen; None where it is not there any more.

        Raises OSError where the system does not let us.
        """
        if self.names()[place : place + 1] != (name,):
            return None
        client = f"changeover-{os.getpid()}-{next(_numbers)}" if self.api == _JACK else "changeover"
        midi_in = self._rtmidi.MidiIn(_api(self._rtmidi, self.api), name=client, queue_size_limit=QUEUE)
        try:
            midi_in.ignore_types(sysex=False, timing=False, active_sense=False)
            midi_in.open_port(place, name="in")
        except self._rtmidi.RtMidiError as error:
            midi_in.delete()
            raise OSError(str(error)) from error
        return Input(midi_in, self._watch, f"{client}:in")

    def close(self) -> None:
        """Let the library go; inputs are closed on their own."""
        self._lister.delete()
        if self._watch is not None:
            self._watch.close()


class Input:
    """A port that is listened to."""

    def __init__(self, midi_in: Any, watch: Watch | None, own: str) -> None:
        self._midi_in, self._watch, self._own = midi_in, watch, own
        self.next = midi_in.get_message
        """Returns the oldest message that waits, a list of bytes with the seconds since the one before; or None."""

    @property
    def connected(self) -> bool:
        """Tell whether anybody can still be heard on it."""
        return self._watch is None or self._watch.connected(self._own)

    def close(self) -> None:
        """Stop listening."""
        self._midi_in.close_port()
        self._midi_in.delete()


def _api(rtmidi: Any, name: str) -> int:
    return int(getattr(rtmidi, f"API_{name}"))
