"""The access code, and how fast it may be guessed.

A code of six letters out of 23 is one of 148 million. Whoever is wrong has to wait, twice as long each time, up to a
minute: from one address half of them take 140 years. Addresses are cheap, so whoever serves takes one knock at a time
and holds a wrong one for `HOLD_S`: ten tries a second from everywhere together are 86 days for half of them, and a code
lives as long as one lesson.
"""

from __future__ import annotations

import hmac
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from types import MappingProxyType

LETTERS = "ABCDEFGHJKLMNPQRTUVWXYZ"
"""What codes are made of: nothing that is read as a digit from the back of a room (I, O and S)."""
LENGTH = 6
"""Letters of a code."""
FREE = 3
"""So many wrong tries in a row before there is a wait: everybody mistypes."""
LONGEST_S = 60.0
"""No wait is longer, in seconds: a pupil who was locked out plays again within the exercise."""
HOLD_S = 0.1
"""How long a wrong knock is held while others queue behind it, in seconds."""
REMEMBERED = 1000
"""So many addresses are remembered; the one that was wrong longest ago is forgotten first."""


class Answer(Enum):
    """What the door says."""

    OPEN = "open"
    """Come in."""
    WRONG = "wrong"
    """Not this code."""
    WAIT = "wait"
    """Too soon after a wrong one; this one was not looked at."""


@dataclass(frozen=True, slots=True)
class Tries:
    """The wrong tries of one address."""

    wrong: int
    """So many in a row."""
    until: float
    """Before this moment no try is looked at, in seconds of the caller's clock."""


@dataclass(frozen=True, slots=True)
class Door:
    """A door with a code, and who has been wrong at it."""

    code: str
    """As `code_from` made it."""
    tries: Mapping[str, Tries] = field(default_factory=lambda: MappingProxyType({}))
    """Addresses that were wrong, the latest last."""

    def knock(self, address: str, said: str, at: float) -> tuple[Door, Answer]:
        """Return the door and its answer to the code `said` from `address` at the moment `at`, in seconds.

        While an address has to wait its tries are not looked at, right ones neither, and the wait is not made longer.
        """
        before = self.tries.get(address, Tries(0, at))
        if at < before.until:
            return self, Answer.WAIT
        others = {known: tries for known, tries in self.tries.items() if known != address}
        if hmac.compare_digest(_plain(said).encode(), self.code.encode()):
            return replace(self, tries=MappingProxyType(others)), Answer.OPEN
        wrong = before.wrong + 1
        others[address] = Tries(wrong, at + wait_s(wrong))
        while len(others) > REMEMBERED:
            del others[next(iter(others))]
        return replace(self, tries=MappingProxyType(others)), Answer.WRONG

    def waits(self, address: str, at: float) -> float:
        """Return how long an address has to wait from the moment `at`, in seconds."""
        tries = self.tries.get(address)
        return 0.0 if tries is None else max(0.0, tries.until - at)


def wait_s(wrong: int) -> float:
    """Return the wait after so many wrong tries in a row, in seconds: none, then 1, 2, 4 … up to `LONGEST_S`."""
    # The exponent is bounded before it is raised: a float overflows at 1024.
    return 0.0 if wrong < FREE else min(2.0 ** min(wrong - FREE, 10), LONGEST_S)


def code_from(choose: Callable[[str], str]) -> str:
    """Return a new code; `choose` picks one letter of several by chance that nobody can foresee."""
    return "".join(choose(LETTERS) for _ in range(LENGTH))


def _plain(said: str) -> str:
    """Return a typed code without the spaces and dashes people put between letters, in capitals."""
    return "".join(said.split()).replace("-", "").upper()[: 4 * LENGTH]
