"""A class of numbered seats that nobody wrote down: rounds are marked and the tempo follows, nothing is kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.ui.room.desk import Group

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
    from trainer.practice.rounds import Round


@dataclass(frozen=True, slots=True)
class NumberedSeat:
    """A seat with a number alone."""

    number: int
    """Counted from 1."""

    @property
    def id(self) -> str:
        """What its marks go by, as long as the class lasts."""
        return str(self.number)

    @property
    def name(self) -> str | None:
        """Nobody said who sits there."""
        return None


def numbered(count: int) -> Group:
    """Return a class of so many seats; 40 have a key each."""
    return Group(f"{count} seats", tuple(NumberedSeat(number) for number in range(1, count + 1)), _keep_nothing)


def _keep_nothing(_: Drill, __: Round, ___: float) -> str:
    return ""
