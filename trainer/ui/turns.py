"""One key for everything: what can be asked for takes turns, and the one key takes what has its turn. No Textual."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from trainer.ui.command import Command

if TYPE_CHECKING:
    from trainer.ui.drilling.scheduler import Cancel

REST = 3
"""So many turns long nothing is pressed before the turns begin."""
_REACTION_S = 0.1
"""A press so soon after a turn began was meant for the one before: nobody reacts faster (as for a press on cue)."""
_HELD_S = 0.7
"""Presses so soon after one that took a turn are the same press, held or trembling. From memory: keyboards begin to
repeat after a quarter to two thirds of a second."""
BEHIND = ("quit",)
"""Commands whose turn is the last."""
_LEFT_OUT = frozenset({"leave", "land", "answer", "remark", "bar_number"})
"""Commands that have no turn: those that the one key does by itself, and those that need letters or digits typed."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Something that can be asked for."""

    command: Command
    """What."""
    key: str
    """The key that asks for it."""
    label: str
    """A word or two."""


def in_turn(
    commands: Sequence[Command],
    keys: Callable[[Command], Sequence[str]],
    labels: Callable[[Command, str], str],
    hidden: frozenset[str],
) -> tuple[Turn, ...]:
    """Return what takes turns, in order: the first command, the way back, then the others as the table has them.

    `keys` gives the keys of a command that have a turn each, `labels` what one is called; `hidden`: ids without a turn.
    """
    shown = [one for one in commands if one.id not in hidden | _LEFT_OUT]
    order = [
        *shown[:1],
        *(one for one in shown[1:] if one.id == "close"),
        *(one for one in shown[1:] if one.id not in {"close", *BEHIND}),
        *(one for one in shown[1:] if one.id in BEHIND),
    ]
    return tuple(Turn(one, key, labels(one, key)) for one in order for key in keys(one))


class Turns:
    """Turns that begin after a rest, and end with a press or after everything had its turn."""

    def __init__(
        self,
        each_s: float,
        found: Callable[[], tuple[Turn, ...]],
        show: Callable[[Turn | None], None],
        after: Callable[[float, Callable[[], None]], Cancel],
        now: Callable[[], float],
    ) -> None:
        """Rest; a turn takes `each_s`. `found` returns what may be asked for, nothing while a hand is timed.

        `show` shows whose turn it is, None: nobody's; `after` does something in so many seconds.
        """
        self._each_s, self._found, self._show, self._after, self._now = each_s, found, show, after, now
        self._turns: tuple[Turn, ...] = ()
        self._at = -1
        self._began = 0.0
        self._taken = float("-inf")
        self._cancel: Cancel | None = None
        self.rest()

    def rest(self) -> bool:
        """End the turns; they begin after a rest. Returns False: nothing is taken."""
        self.stop()
        self._cancel = self._after(REST * self._each_s, self._begin)
        return False

    def stop(self) -> None:
        """End the turns."""
        if self._cancel is not None:
            self._cancel()
        if self._at >= 0:
            self._show(None)
        self._cancel, self._at, self._turns = None, -1, ()

    def press(self, at: float) -> Turn | bool:
        """Take a press of the one key at a moment: return the turn it takes; True where it does nothing more.

        False: it is nobody's turn, and the press means what it always means.
        """
        if at - self._taken < _HELD_S:
            return True
        if self._at < 0:
            self.rest()
            return False
        late = at - self._began < _REACTION_S
        place = self._at - (1 if late and self._at else 0)
        turn = self._turns[place]
        # The first turn is the one key's own meaning: what follows upon it may be the landing of a change.
        self._taken = at if place else float("-inf")
        self.rest()
        return turn

    def _begin(self) -> None:
        self._turns = self._found()
        self._go_on()

    def _go_on(self) -> None:
        # What may be asked for can have changed: a beat that was started by a guitar, or by a pedal.
        if self._at + 1 >= len(self._turns) or not self._found():
            self.rest()
            return
        self._at += 1
        self._began = self._now()
        self._show(self._turns[self._at])
        self._cancel = self._after(self._each_s, self._go_on)
