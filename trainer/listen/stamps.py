"""When a message came in, by the driver's own stamps. Pure: every clock reading is an argument.

RtMidi stamps a message in the driver's thread, but tells only the seconds since the message before it. The rule that
chains these onto the monotonic clock:

1. The sum of the deltas is the driver's clock. It runs at the speed of ours and is off by a constant.
2. A message cannot have arrived after it was drained. So the constant is at most 'drained minus sum', for each message;
   the least of these is the estimate, for that message was drained with the least delay: the earliest possible arrival.
3. The estimate rises by `FORGET` of the time that passes. So it follows two clocks that drift apart, and heals.
4. A message cannot have arrived before the queue was last seen empty. One that would be more than `SLACK_S` too early
   shows that the chain has lost time (a gap): the chain starts afresh with it, and the loss is told.
5. The chain starts afresh, too, with a delta that is none (negative, not a number), after messages were lost, and after
   a system exclusive message, of whose parts RtMidi counts the last alone.
6. Stamps never run backwards and never leave what rules 2 and 4 allow.

What a stamp is worth: it lies after the driver's own by no more than the least delay with which a message was drained
since the chain began, plus `FORGET` of the time since that message; and before it never, but for a loss of time below
`SLACK_S`, which rule 3 heals. Whatever the deltas are, it lies no more than `SLACK_S` before the queue was last empty,
and not after the draining. On top of that comes what the driver does: JACK's messages are stamped when the period that
they came in is handled, Windows counts whole milliseconds (both from RtMidi's source).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

FORGET = 0.0002
"""Seconds by which the estimate rises in a second: twice what two quartz clocks of 50 parts in a million part (common
practice); 1 ms in 5 s without a message that was drained at once."""
SLACK_S = 0.02
"""How long before it can be drained a driver may have stamped a message: its thread waits to be woken, too. A few
times what a busy machine takes (common practice); a loss below it is healed in 100 s."""


@dataclass(frozen=True, slots=True)
class Stamped:
    """The moments of some messages, and what was noticed."""

    times: tuple[float, ...]
    """Monotonic seconds, one for each message, never falling."""
    lost_s: float = 0.0
    """How much time the driver's clock has lost, where a gap was found."""


class Stamps:
    """The chain of one port."""

    def __init__(self) -> None:
        self._sum = 0.0
        self._offset = math.inf
        self._drained = 0.0
        self._last = -math.inf

    def restart(self) -> None:
        """Forget the driver's clock: its next delta is worth nothing."""
        self._offset = math.inf

    def take(self, empty: float, drained: float, deltas: Iterable[float]) -> Stamped:
        """Stamp messages that were drained together, in the order they came.

        `empty` is when the queue was last seen empty and `drained` when these were taken, monotonic seconds.
        """
        if drained > self._drained:
            self._offset += (drained - self._drained) * FORGET
            self._drained = drained
        earliest = empty - SLACK_S
        chains: list[_Chain] = []
        lost_s = 0.0
        for delta in deltas:
            sound = math.isfinite(delta) and delta >= 0
            self._sum += delta if sound else 0.0
            offset = min(self._offset, drained - self._sum)
            early_s = earliest - (self._sum + offset)
            if early_s > 0:
                lost_s = max(lost_s, early_s + SLACK_S)
            if early_s > 0 or not sound or self._offset == math.inf:
                self._sum, offset = 0.0, drained
                chains.append(_Chain(offset))
            elif not chains:
                chains.append(_Chain(offset))
            chains[-1].sums.append(self._sum)
            # The last of a batch was drained with the least delay, so it tells of those before it.
            self._offset = chains[-1].offset = offset
        times = [total + chain.offset for chain in chains for total in chain.sums]
        return Stamped(tuple(self._in_bounds(time, earliest, drained) for time in times), lost_s)

    def _in_bounds(self, time: float, earliest: float, drained: float) -> float:
        self._last = max(min(max(time, earliest), drained), self._last)
        return self._last


@dataclass(slots=True)
class _Chain:
    """Messages drained together whose deltas count from one to the next."""

    offset: float
    sums: list[float] = field(default_factory=list)
