"""A class: who sits where. Names are optional, seats are not: a class can be taught with numbers alone."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches

from trainer.errors import ChangeoverError, Problem, plain, wrong

MOST_SEATS = 40
"""Seats of a class; in a round each has a key of its own."""
LONGEST_NAME = 60
"""Characters of a name, of a class as well as of a player."""
LONGEST_PORT = 200
"""Characters of a port's key."""
_ID = re.compile(r"[a-z][a-z0-9]{2,31}")
"""What an id looks like. It names a folder, so it leads nowhere else; a number never looks like one."""


@dataclass(frozen=True, slots=True)
class Seat:
    """One seat of a class. Raises ChangeoverError where a part of it cannot be."""

    id: str
    """What its log is kept under: small letters and digits that say nothing of who sits there."""
    number: int
    """Its place in the room, from 1; its key in a round hangs on it."""
    name: str | None = None
    """Who sits there, where that is to be written down."""
    port: str | None = None
    """The key of the MIDI port whose guitar is played there (`listen.names`)."""

    def __post_init__(self) -> None:
        if not _ID.fullmatch(self.id):
            raise wrong("is no id of a seat", key="id", hint="3 to 32 small letters and digits, a letter first")
        if not 1 <= self.number <= MOST_SEATS:
            raise wrong(f"seats are numbered 1 to {MOST_SEATS}, not {self.number}", key="number")
        if self.name is not None:
            object.__setattr__(self, "name", checked_name(self.name))
        if self.port is not None:
            if not self.port.strip() or len(self.port) > LONGEST_PORT:
                raise wrong(f"a port's name has 1 to {LONGEST_PORT} characters", key="port")
            if plain(self.port) != self.port:
                raise wrong("a port's name holds a control character", key="port", hint="take it out")

    @property
    def title(self) -> str:
        """What to call it: `3 Name`, or `seat 3` where nobody wrote a name down."""
        return f"{self.number} {self.name}" if self.name else f"seat {self.number}"


@dataclass(frozen=True, slots=True)
class Class:
    """The seats of a class, in the order of their numbers. Raises ChangeoverError where two of them clash."""

    name: str
    """What it is called."""
    seats: tuple[Seat, ...] = ()
    """At most `MOST_SEATS`; numbers, ids, names and ports each belong to one seat."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", checked_name(self.name))
        if problems := tuple(problem for _, problem in clashes(self.seats)):
            raise ChangeoverError(*problems)
        object.__setattr__(self, "seats", tuple(sorted(self.seats, key=lambda seat: seat.number)))

    @property
    def free_number(self) -> int:
        """The lowest number that no seat has. Raises ChangeoverError where all are taken."""
        taken = {seat.number for seat in self.seats}
        free = next((number for number in range(1, MOST_SEATS + 1) if number not in taken), None)
        if free is None:
            raise wrong(f"'{self.name}' has {MOST_SEATS} seats, and no class has more", hint="begin a second class")
        return free

    def add(self, key: str, number: int | None = None, name: str | None = None, port: str | None = None) -> Class:
        """Return the class with one more seat of the id `key`, on the lowest free number unless one is given."""
        seat = Seat(key, self.free_number if number is None else number, name, port)
        return replace(self, seats=(*self.seats, seat))

    def rename(self, key: str, name: str | None) -> Class:
        """Return the class with another name on a seat; None: nobody's."""
        return self.change(replace(self.seat(key), name=name))

    def change(self, seat: Seat) -> Class:
        """Return the class with `seat` in place of the one with its id."""
        self.seat(seat.id)
        return replace(self, seats=tuple(seat if known.id == seat.id else known for known in self.seats))

    def bind(self, key: str, port: str) -> Class:
        """Return the class with the seat playing on a port, and no other seat."""
        seat = replace(self.seat(key), port=port)
        others = (replace(known, port=None) if known.port == port else known for known in self.seats)
        return replace(self, seats=tuple(seat if known.id == key else known for known in others))

    def remove(self, key: str) -> Class:
        """Return the class without a seat; the others keep their numbers."""
        self.seat(key)
        return replace(self, seats=tuple(seat for seat in self.seats if seat.id != key))

    def seat(self, key: str) -> Seat:
        """Return the seat with the id `key`. Raises KeyError where there is none."""
        for seat in self.seats:
            if seat.id == key:
                return seat
        raise KeyError(key)

    def find(self, word: str) -> Seat:
        """Return the seat that a person calls `word`: by its number, or by its name however it is spelt in capitals.

        Raises ChangeoverError where there is none.
        """
        said = word.strip()
        for seat in self.seats:
            if said == str(seat.number) or (seat.name is not None and same_name(said) == same_name(seat.name)):
                return seat
        names = {same_name(seat.name): seat.name for seat in self.seats if seat.name}
        near = get_close_matches(same_name(said), names, n=1)
        numbers = ", ".join(str(seat.number) for seat in self.seats) or "none yet"
        hint = f"did you mean '{names[near[0]]}'?" if near else f"its seats: {numbers}"
        raise wrong(f"no seat '{said}' in '{self.name}'", hint=hint)


def checked_name(name: str) -> str:
    """Return a name as it is kept: without spaces around it. Raises ChangeoverError where it cannot be one."""
    said = name.strip()
    if not said:
        raise wrong("a name is empty", key="name", hint="leave it out where nobody's is to be written down")
    if len(said) > LONGEST_NAME:
        raise wrong(f"a name has at most {LONGEST_NAME} characters, not {len(said)}", key="name")
    if not said.isprintable():
        raise wrong("a name holds a control character", key="name", hint="take it out")
    if said.isdecimal():
        raise wrong(f"'{said}' would be taken for a number", key="name", hint="add a letter to the name")
    return said


def clashes(seats: Iterable[Seat]) -> list[tuple[int, Problem]]:
    """Return what seats have against each other: the index of the later one of two, and what is wrong with it."""
    found: list[tuple[int, Problem]] = []
    known: dict[tuple[str, object], int] = {}
    for index, seat in enumerate(seats):
        for key, value, what in (
            ("number", seat.number, f"two seats have the number {seat.number}"),
            ("id", seat.id, f"two seats have the id '{seat.id}'"),
            ("name", seat.name and same_name(seat.name), f"two seats have the name '{seat.name}'"),
            ("port", seat.port, f"two seats listen to the port '{seat.port}'"),
        ):
            if value is not None and known.setdefault((key, value), index) != index:
                found.append((index, Problem(what, key=key, hint="give each its own")))
        if index == MOST_SEATS:
            found.append((index, Problem(f"a class has at most {MOST_SEATS} seats", hint="begin a second class")))
    return found


def same_name(name: str) -> str:
    """Return a name so that two that differ in capitals and spaces alone are equal."""
    return " ".join(name.split()).casefold()
