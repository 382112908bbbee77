"""Marking a round: a grid of seats, a key for each; a pedal alone keeps it as it stands, by exception all had it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from trainer.ui.command import Call, Command, Place
from trainer.ui.room import seating
from trainer.ui.room.desk import Desk, Group
from trainer.ui.screens.projected import Projected
from trainer.ui.services import Services
from trainer.ui.widgets.room import RoomView


class _Next(Enum):
    """What the key of a seat does next."""

    MARK = "mark it"
    AWAY = "say that it is away"
    PORT = "find its guitar"


_LABELS: Mapping[_Next, Mapping[str, str]] = {
    _Next.MARK: {},
    _Next.AWAY: {"mark_away": "who is away?"},
    _Next.PORT: {"mark_port": "whose guitar?"},
}
"""What stands at the keys while one waits for a seat."""
_ASKS: Mapping[_Next, str] = {
    _Next.AWAY: "who is away? the seat's key says it",
    _Next.PORT: "whose guitar? the seat's key says it",
}
"""What is asked meanwhile above the seats; the bar of keys may have no room for it."""


class MarksScreen(Projected):
    """The round that is over, to be marked. Every seat has a key, and no command shares it."""

    place = Place.MARKS

    def __init__(self, services: Services, desk: Desk) -> None:
        """Mark the round that `desk` has played."""
        super().__init__(services)
        self._desk = desk
        self._begun = desk.marking
        self._next = _Next.MARK
        self._settled = False

    def on_mount(self) -> None:
        """Show the seats; what is heard late is shown when it comes."""
        self._desk.heard = self._show
        self._show()

    def on_unmount(self) -> None:
        """Keep what was marked where the program ends in the middle."""
        self._desk.heard = None
        self._desk.ears.bind(None)
        if not self._settled and self._desk.marking != self._begun:
            self._desk.finish()

    def keys_in_turn(self, command: Command) -> Sequence[str]:
        """Return a key for each seat there is, of any other command as ever."""
        keys = super().keys_in_turn(command)
        return keys[: len(self._group.seats)] if command.id == "mark" else keys

    def do_mark(self, call: Call) -> None:
        """Mark a seat, or take its mark back."""
        seat = None if call.key == "" else seating.seat_of(self._group, call.key)
        if seat is None:
            return
        asked, self._next = self._next, _Next.MARK
        marking = self._desk.marking
        if asked is _Next.PORT:
            self._desk.ears.bind(seat)
        else:
            self._desk.mark(marking.away(seat.id) if asked is _Next.AWAY else marking.toggled(seat.id))
        self._show()

    def do_mark_way(self, _: Call) -> None:
        """Mark the other way."""
        self._desk.mark(self._desk.marking.other_way())
        self._show()

    def do_mark_away(self, _: Call) -> None:
        """Let the next key say who is away, or not."""
        self._ask(_Next.AWAY)

    def do_mark_port(self, _: Call) -> None:
        """Let the next key say whose guitar is to be found by playing it, or not."""
        self._desk.ears.bind(None)
        self._ask(_Next.PORT)

    def do_mark_done(self, call: Call) -> None:
        """Keep the round as it is marked."""
        self._settled = True
        self._desk.finish()
        super().do_close(call)

    def do_close(self, call: Call) -> None:
        """Leave the round unmarked."""
        self._settled = True
        self._desk.drop()
        super().do_close(call)

    def show_own_keys(self) -> None:
        """Say what leaving means here."""
        self.show_keys({"close": "not marked", **_LABELS[self._next]})

    @property
    def _group(self) -> Group:
        if self._desk.group is None:
            raise RuntimeError("nobody to mark")
        return self._desk.group

    def _ask(self, what: _Next) -> None:
        self._next = _Next.MARK if self._next is what else what
        self._show()

    def _show(self) -> None:
        if not self.query(RoomView):  # while it is taken down, a guitar may still play
            return
        group, marking, look, ears = self._group, self._desk.marking, self.services.look, self._desk.ears
        left, said = ears.left, _ASKS.get(self._next, ears.said)
        self.query_one(RoomView).show(
            lambda width, height: seating.to_mark(group, marking, look, width, height, left, said)
        )
        self.show_own_keys()
