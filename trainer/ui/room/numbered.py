"""A class of numbered seats that nobody wrote down: rounds are marked and the tempo follows, nothing is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.practice.roster import Seat
from trainer.ui.room.desk import Group

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
    from trainer.practice.rounds import Round


def numbered(count: int) -> Group:
    """Return a class of so many seats; each has a key of its own."""
    return Group(
        f"{count} seats", tuple(Seat(f"seat{number}", number) for number in range(1, count + 1)), _keep_nothing
    )


def _keep_nothing(_: Drill, __: Round, ___: float) -> str:
    return ""
