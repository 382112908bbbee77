"""Tickets and seats: one browser at a time on a seat, no more than the limit at work."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule

from trainer.serve.guests import TICKETS, Guests


def test_a_seat_is_for_one_browser_at_a_time() -> None:
    guests = Guests(limit=9).admit("first").admit("second")
    guests = guests.sit("first", "seat 1") or guests
    guests = guests.begin("first") or guests
    assert guests.taken == {"seat 1"}
    assert guests.sit("second", "seat 1") is None
    assert guests.begin("first") is None  # a second window of the same browser
    free = guests.end("first")
    assert free.taken == frozenset()
    assert free.seats["first"] == "seat 1"
    assert free.sit("second", "seat 1") is not None


def test_two_who_chose_the_same_seat_do_not_both_play() -> None:
    guests = Guests(limit=9).admit("first").admit("second")
    for ticket in ("first", "second"):
        guests = guests.sit(ticket, "seat 1") or guests
    guests = guests.begin("second") or guests
    assert guests.begin("first") is None


def test_no_ticket_no_seat_no_room() -> None:
    guests = Guests(limit=1).admit("first").admit("second")
    assert guests.begin("nobody") is None
    assert guests.sit("nobody", "seat 1") is None
    assert guests.begin("first") is None
    guests = guests.sit("first", "seat 1") or guests
    guests = guests.sit("second", "seat 2") or guests
    guests = guests.begin("first") or guests
    assert guests.begin("second") is None


def test_old_tickets_are_forgotten_but_never_one_at_work() -> None:
    guests = Guests(limit=9).admit("worker")
    guests = guests.sit("worker", "seat 1") or guests
    guests = guests.begin("worker") or guests
    for number in range(TICKETS + 20):
        guests = guests.admit(str(number))
    assert len(guests.seats) == TICKETS
    assert "worker" in guests.seats
    assert str(TICKETS + 19) in guests.seats


class Room(RuleBasedStateMachine):
    """Whatever is done in whatever order: nobody shares a seat, nobody is above the limit."""

    def __init__(self) -> None:
        super().__init__()
        self.guests = Guests(limit=3)

    @rule(ticket=st.sampled_from("abcdef"))
    def admit(self, ticket: str) -> None:
        if ticket not in self.guests.seats:
            self.guests = self.guests.admit(ticket)

    @rule(ticket=st.sampled_from("abcdef"), seat=st.sampled_from("1234"))
    def sit(self, ticket: str, seat: str) -> None:
        self.guests = self.guests.sit(ticket, seat) or self.guests

    @rule(ticket=st.sampled_from("abcdef"))
    def begin(self, ticket: str) -> None:
        self.guests = self.guests.begin(ticket) or self.guests

    @rule(ticket=st.sampled_from("abcdef"))
    def end(self, ticket: str) -> None:
        self.guests = self.guests.end(ticket)

    def teardown(self) -> None:
        at_work = [self.guests.seats[ticket] for ticket in self.guests.at_work]
        assert len(at_work) == len(set(at_work)) <= 3
        assert None not in at_work


TestRoom = Room.TestCase


@given(st.lists(st.text(max_size=3), unique=True, max_size=20))
def test_everybody_admitted_is_known(tickets: list[str]) -> None:
    guests = Guests(limit=1)
    for ticket in tickets:
        guests = guests.admit(ticket)
    assert list(guests.seats) == tickets
