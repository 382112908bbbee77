"""A class of the roster as the room view and the server take it."""

from __future__ import annotations

import time
import uuid
from functools import partial
from typing import TYPE_CHECKING

from trainer.errors import wrong
from trainer.files import classes, paths
from trainer.ui.services import Services

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
    from trainer.practice.roster import Class
    from trainer.practice.rounds import Round
    from trainer.ui.room.desk import Group


def seated(word: str) -> Class:
    """Return the class that a person calls `word`, which has seats. Raises ChangeoverError."""
    _, found = classes.find(word)
    if not found.seats:
        raise wrong(f"'{found.name}' has no seats yet", key="--class", hint="'changeover class add NAME' adds one")
    return found


def group(found: Class) -> Group:
    """Return a class that plays rounds, each of which is written into its seats' logs."""
    from trainer.ui.room.desk import Group

    return Group(found.name, found.seats, partial(_keep, found))


def _keep(found: Class, drill: Drill, done: Round, began: float) -> str:
    """Keep a round that began at a monotonic second; return what went wrong in a line, empty: nothing."""
    from trainer.log.seats import record_rounds
    from trainer.practice.marked import marked

    at = time.time() - (Services.clock() - began)
    seats = {seat.id: seat for seat in found.seats}
    kept = [
        (seats[result.seat], entry)
        for result in done.results
        if (entry := marked(drill, done, result, at, seats[result.seat].port, lambda: str(uuid.uuid4()))) is not None
    ]
    problems = record_rounds([(paths.seat_log(seat.id), entry) for seat, entry in kept])
    lost = [(seat, problem) for (seat, _), problem in zip(kept, problems, strict=True) if problem is not None]
    if not lost:
        return ""
    numbers = ", ".join(str(seat.number) for seat, _ in lost)
    return f"Not kept for seat{'s' if len(lost) > 1 else ''} {numbers}: {lost[0][1].what}"
