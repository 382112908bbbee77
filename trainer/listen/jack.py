"""What RtMidi does not tell about JACK: whether a port of ours is still connected, and whether the server still runs.

RtMidi goes on listing the ports of a server that has died, and goes on listening to nobody when a port goes and comes
back under its name between two looks at the list.
"""

from __future__ import annotations

import ctypes
from collections.abc import Mapping
from types import MappingProxyType
from typing import Self

from trainer.hush import loaded

_NO_START = 1
"""JackNoStartServer: do not start one (JACK's types.h)."""

_POINTER, _TEXT = ctypes.c_void_p, ctypes.c_char_p
_CALLS: Mapping[str, tuple[type | None, tuple[type, ...]]] = MappingProxyType(
    {
        "jack_client_open": (_POINTER, (_TEXT, ctypes.c_int, _POINTER)),
        "jack_client_close": (ctypes.c_int, (_POINTER,)),
        "jack_get_client_name": (_TEXT, (_POINTER,)),
        "jack_get_uuid_for_client_name": (_POINTER, (_POINTER, _TEXT)),
        "jack_port_by_name": (_POINTER, (_POINTER, _TEXT)),
        "jack_port_get_all_connections": (_POINTER, (_POINTER, _POINTER)),
        "jack_free": (None, (_POINTER,)),
    }
)
"""Result and arguments of each function used (JACK's jack.h)."""


class Watch:
    """A client of the JACK server that only asks."""

    def __init__(self, library: ctypes.CDLL, client: int) -> None:
        """Take a client that is open; use `open`."""
        self._library, self._client = library, client

    @classmethod
    def open(cls, name: str) -> Self | None:
        """Return a watch on the server that RtMidi speaks to; None where there is none, or no way to ask it."""
        for library in loaded("libjack"):
            try:
                for call, (result, arguments) in _CALLS.items():
                    function = getattr(library, call)
                    function.restype, function.argtypes = result, arguments
            except AttributeError:
                continue
            client = library.jack_client_open(name.encode(), _NO_START, None)
            if client:
                return cls(library, client)
        return None

    @property
    def alive(self) -> bool:
        """Tell whether the server still answers."""
        found = self._library.jack_get_uuid_for_client_name(
            self._client, self._library.jack_get_client_name(self._client)
        )
        if found:
            self._library.jack_free(found)
        return bool(found)

    def connected(self, port: str) -> bool:
        """Tell whether anything is connected to `port`, called by its full name."""
        handle = self._library.jack_port_by_name(self._client, port.encode())
        names = self._library.jack_port_get_all_connections(self._client, handle) if handle else None
        if names:
            self._library.jack_free(names)
        return bool(names)

    def close(self) -> None:
        """Leave the server."""
        self._library.jack_client_close(self._client)
