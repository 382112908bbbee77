"""Seats and who sits where: a ticket for each browser that was let in, one browser at a time on each seat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

TICKETS = 200
"""So many tickets are remembered; the oldest without a browser at work is forgotten first."""


@dataclass(frozen=True, slots=True)
class Seat:
    """A place from which a browser plays."""

    id: str
    """What forms call it."""
    name: str
    """What people call it."""
    own: Mapping[str, str]
    """Variables of its process: where its files lie, and that it is a seat."""


@dataclass(frozen=True, slots=True)
class Guests:
    """Everybody who was let in."""

    limit: int
    """So many browsers may be at work at once."""
    seats: Mapping[str, str | None] = field(default_factory=lambda: MappingProxyType({}))
    """The seat of each ticket, the latest ticket last; None until one is chosen."""
    at_work: frozenset[str] = frozenset()
    """Tickets whose browser is at work."""

    def admit(self, ticket: str) -> Guests:
        """Return them with one more, who has no seat yet."""
        seats = {**self.seats, ticket: None}
        idle = [known for known in seats if known not in self.at_work and known != ticket]
        for known in idle[: max(0, len(seats) - TICKETS)]:
            del seats[known]
        return replace(self, seats=MappingProxyType(seats))

    def sit(self, ticket: str, seat: str) -> Guests | None:
        """Return them with the owner of `ticket` on `seat`; None where somebody plays there, or the owner plays."""
        if ticket not in self.seats or ticket in self.at_work or seat in self.taken:
            return None
        return replace(self, seats=MappingProxyType({**self.seats, ticket: seat}))

    def begin(self, ticket: str) -> Guests | None:
        """Return them with the owner of `ticket` at work; None where there is no seat, no room, or it is taken."""
        seat = self.seats.get(ticket)
        if seat is None or seat in self.taken or len(self.at_work) >= self.limit:
            return None
        return replace(self, at_work=self.at_work | {ticket})

    def end(self, ticket: str) -> Guests:
        """Return them without the owner of `ticket` at work; the seat stays theirs to come back to."""
        return replace(self, at_work=self.at_work - {ticket})

    @property
    def taken(self) -> frozenset[str]:
        """Seats at which somebody is at work."""
        return frozenset(seat for ticket in self.at_work if (seat := self.seats[ticket]) is not None)
