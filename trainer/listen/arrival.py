"""What a listener reports: a message that came in, a port lost or found, and trouble on the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Arrival:
    """One whole MIDI message."""

    port: str
    """Key of the port it came from (`listen.ports.Port`)."""
    at: float
    """Monotonic seconds, by the driver's own stamps (`listen.stamps`)."""
    data: bytes
    """The message, status byte first."""


@dataclass(frozen=True, slots=True)
class Lost:
    """A port is gone: unplugged, switched off, or its program ended. What sounded on it will not be told to end."""

    port: str
    """As in `Arrival`."""
    at: float
    """When it was noticed, monotonic seconds."""


@dataclass(frozen=True, slots=True)
class Found:
    """A port is open and will be heard from now on: at the start, or again after it was lost."""

    port: str
    """As in `Arrival`."""
    at: float
    """As in `Lost`."""
    name: str = ""
    """What the system calls it."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something went wrong on a port that goes on being heard."""

    port: str
    """As in `Arrival`; empty where it concerns no port alone."""
    at: float
    """As in `Lost`."""
    what: str
    """One short clause to show, without a full stop."""


Report: TypeAlias = Arrival | Lost | Found | Trouble
"""Everything a listener delivers."""
