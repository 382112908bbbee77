"""A class of the roster as the room view and the server take it."""

from __future__ import annotations

import time
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, wrong
from trainer.files import classes, paths
from trainer.ui.services import Services

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from trainer.practice.drill import Drill
    from trainer.practice.roster import Class, Seat
    from trainer.practice.rounds import Round
    from trainer.ui.room.desk import Group


def seated(word: str) -> tuple[Path, Class]:
    """Return the class that a person calls `word`, which has seats, and its file. Raises ChangeoverError."""
    path, found = classes.find(word)
    if not found.seats:
        raise wrong(f"'{found.name}' has no seats yet", key="--class", hint="'changeover class add NAME' adds one")
    return path, found


def group(word: str) -> Group:
    """Return a class that plays rounds, each of which is written into its seats' logs. Raises ChangeoverError."""
    from trainer.ui.room.desk import Group

    lesson = _Lesson(*seated(word))
    return Group(lesson.roster.name, lesson.roster.seats, lesson.keep, lesson.bind)


@dataclass
class _Lesson:
    """A class that is being taught."""

    path: Path
    """Its file."""
    roster: Class
    """Who sits where, and on which port, as far as this lesson knows."""

    def keep(self, drill: Drill, done: Round, began: float) -> str:
        """Keep a round that began at a monotonic second; return what went wrong in a line, empty: nothing."""
        from trainer.log.seats import record_rounds
        from trainer.practice.marked import marked

        at = time.time() - (Services.clock() - began)
        seats = {seat.id: seat for seat in self.roster.seats}
        kept = [
            (seats[result.seat], entry)
            for result in done.results
            if (entry := marked(drill, done, result, at, seats[result.seat].port, lambda: str(uuid.uuid4())))
        ]
        there = self._there()
        gone = [seat for seat, _ in kept if seat.id not in there]
        kept = [(seat, entry) for seat, entry in kept if seat.id in there]
        problems = record_rounds([(paths.seat_log(seat.id), entry) for seat, entry in kept])
        lost = [(seat, problem) for (seat, _), problem in zip(kept, problems, strict=True) if problem is not None]
        if lost:
            return f"Not kept for {_numbers(seat for seat, _ in lost)}: {lost[0][1].what}"
        return f"Not kept for {_numbers(gone)}: no longer in the class" if gone else ""

    def _there(self) -> frozenset[str]:
        """Return the seats that the class still has: what was forgotten since the lesson began is not begun anew."""
        now, _ = classes.load(self.path)
        if now is None and self.path.exists():
            now = self.roster  # a slip in the file costs nobody a round
        return frozenset() if now is None else frozenset(seat.id for seat in now.seats)

    def bind(self, seat: str, port: str) -> str:
        """Keep that a seat plays on a port, and no other does; return what went wrong in a line, empty: nothing."""
        try:
            self.roster = self.roster.bind(seat, port)
            # Somebody may have written to the file since the lesson began.
            now, problems = classes.load(self.path)
            if now is None:
                raise ChangeoverError(*problems)
            classes.save(self.path, now.bind(seat, port))
        except ChangeoverError as error:
            return f"Not kept in the class's file: {error.problems[0].what}"
        except KeyError:
            return "Not kept in the class's file: that seat was removed"
        return ""


def _numbers(seats: Iterable[Seat]) -> str:
    """Return seats by their numbers, in words."""
    numbers = [str(seat.number) for seat in seats]
    return f"seat{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"
