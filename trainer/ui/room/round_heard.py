"""What is heard of one round, seat by seat, and why a seat is left to be marked by hand. No Textual."""

from __future__ import annotations

from dataclasses import replace
from threading import Lock
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError
from trainer.listen.arrival import Arrival
from trainer.listen.ear import Ear, Heard
from trainer.practice.notes import NoteOn
from trainer.ui.room.graded import Due, Tally

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from trainer.listen.arrival import Report
    from trainer.listen.matcher import Grid
    from trainer.practice.drill import Drill
    from trainer.practice.rounds import SeatHeard
    from trainer.practice.wiring import Wiring

ABSENT = "no guitar"
"""Said of a seat whose port was not there when the round began."""
GONE = "guitar gone"
"""Said of a seat whose port was lost in the middle of the round."""
HALF_HEARD = "half heard"
"""Said of a seat of which something was or may have been missed."""
SILENT = "silent"
"""Said of a seat that played nothing at all."""


class RoundHeard:
    """What is heard of one round. Notes come on the listener's thread, all else on the loop's: a lock parts them."""

    def __init__(
        self,
        drill: Drill,
        asked: tuple[Due, ...],
        grid: Grid,
        first_beat: Callable[[], float],
        why: dict[str, str],
    ) -> None:
        """Wait for what is `asked`; `first_beat` tells, as it is known by then, when the first beat of `grid` falls."""
        self.why = why
        """Why the seat at a port is left to be marked by hand, by every seat's port; empty: it is heard."""
        self.players: dict[str, Player] = {}
        """Who is heard, by port; nobody until the ears are ready."""
        self._drill, self._asked, self._grid, self._first_beat = drill, asked, grid, first_beat
        self._lock = Lock()

    def ready(self, wirings: Mapping[str, Wiring], began: float) -> dict[str, Player] | str:
        """Return an ear for each port, or why there can be none at this drill; may be called on any thread."""
        grid = self._grid
        try:
            return {
                port: Player(
                    Ear(self._drill, wiring, grid=grid, first=grid.step, origin=began),
                    Tally(self._asked, grid.beat_s),
                )
                for port, wiring in wirings.items()
            }
        except ChangeoverError as error:
            return error.problems[0].what

    def hear(self, report: Report) -> bool:
        """Take a message of a seat that is heard, on the listener's thread; tell whether it was one."""
        if not isinstance(report, Arrival):
            return False
        with self._lock:
            player = self.players.get(report.port)
            if player is None:
                return False
            player.take(player.ear.hear(report.at, report.data))
        return True

    def keep_pace(self, now: float) -> None:
        """Set right where the beats lie."""
        grid = replace(self._grid, at=self._first_beat())
        if self.players and grid != self._grid:
            self._grid = grid
            with self._lock:
                for player in self.players.values():
                    player.take(player.ear.pace(grid, now))

    def told(self, seat: str, port: str) -> SeatHeard | str:
        """End a seat's round; return what was heard, or why it is left to be marked by hand."""
        with self._lock:
            # Out of reach for what is still on its way: an ear that has finished takes nothing more.
            player = self.players.pop(port, None)
        if player is None or self.why.get(port):
            return self.why.get(port) or HALF_HEARD
        player.take(player.ear.finish())
        return player.tally.told(seat) if player.played else SILENT


class Player:
    """One seat in one round."""

    def __init__(self, ear: Ear, tally: Tally) -> None:
        """Hear nothing yet; `tally` counts what `ear` hears."""
        self.ear, self.tally = ear, tally
        self.played = False
        """Whether a note was heard."""

    def take(self, heard: Heard) -> None:
        """Take what came of something that the ear took in."""
        self.played = self.played or any(isinstance(note, NoteOn) for note in heard.notes)
        for change in heard.changes:
            self.tally.take(change)
