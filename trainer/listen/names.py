"""Names of MIDI ports that stay the same when numbers of clients and ports do not. Pure."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from trainer.errors import plain
from trainer.practice.wiring import OWN_CLICK

THROUGH = "Midi Through"
"""How the name of a port begins that Linux always has and nobody plays on."""


@dataclass(frozen=True, slots=True)
class Port:
    """A MIDI port that something can be heard from."""

    name: str
    """What the system calls it at this moment; data, may hold anything."""
    key: str
    """A name that stays the same from one session to the next, fit to print: what the log and files call it."""

    @property
    def own(self) -> bool:
        """True where it is our own click that can be heard from it."""
        return OWN_CLICK in self.name


_NUMBERS = MappingProxyType(
    {
        "LINUX_ALSA": re.compile(r"\s+\d+:\d+$"),
        "UNIX_JACK": re.compile(r"-\d\d(?=:)|\s*\[\d+\]"),
        "WINDOWS_MM": re.compile(r"\s+\d+$"),
    }
)
"""What changes in a name, by RtMidi's API. ALSA: RtMidi puts client and port number last. JACK: a client whose name is
taken gets -01 and so on; bridges from ALSA write the client in brackets. Windows: RtMidi puts the port number last."""


def steady(name: str, api: str) -> str:
    """Return a name without the numbers that change."""
    numbers = _NUMBERS.get(api)
    return plain(numbers.sub("", name) if numbers else name).strip() or "port"


def ports(names: Iterable[str], api: str, held: Mapping[str, str] = MappingProxyType({})) -> tuple[Port, ...]:
    """Return the ports that the system lists under `names`, in its order.

    Ports that look alike are told apart by a number, `… #2`. `held` is the key of each name that is in use: it keeps
    that, so that a guitar does not take another's place when that one is unplugged.
    """
    listed = tuple(names)
    count = Counter(listed)
    given: dict[int, str] = {
        place: held[name] for place, name in enumerate(listed) if count[name] == 1 and name in held
    }
    taken = set(given.values())
    for place, name in enumerate(listed):
        if place not in given:
            given[place] = _free(steady(name, api), taken)
            taken.add(given[place])
    return tuple(Port(name, given[place]) for place, name in enumerate(listed))


def _free(key: str, taken: set[str]) -> str:
    number, free = 1, key
    while free in taken:
        number += 1
        free = f"{key} #{number}"
    return free
