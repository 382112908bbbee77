"""What a MIDI pedal calls, on whichever screen is seen."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from trainer.listen.decoder import Call as PedalCall
from trainer.ui.command import Place
from trainer.ui.commands import commands_of
from trainer.ui.drilling.sources import MIDI_PEDAL
from trainer.ui.screens.base import CommandScreen

MEANS: Mapping[Place, Mapping[str, str]] = MappingProxyType(
    {
        Place.ROOM: MappingProxyType(
            {
                "press": "room_again",
                "again": "room_again",
                "restart": "room_again",
                "next": "room_next",
                "previous": "room_before",
                "slower": "room_slower",
                "faster": "room_faster",
                "pause": "room_freeze",
                "memory": "room_hide",
                "course": "room_part",
            }
        ),
        Place.MARKS: MappingProxyType({"press": "mark_done", "next": "mark_done", "again": "close", "undo": "close"}),
    }
)
"""What a pedal that was set up for a drill means elsewhere, by the command's id; others call what they name."""
_AS_NAMED: Mapping[str, str] = MappingProxyType({})


def call(screen: object, called: PedalCall) -> None:
    """Do what a MIDI pedal calls on `screen`, as if its key had been pressed at that moment."""
    if not isinstance(screen, CommandScreen):
        return
    wanted = MEANS.get(screen.place, _AS_NAMED).get(called.id, called.id)
    for command in commands_of(screen.place):
        if command.id == wanted and not command.fixed:
            screen.ask(command, called.at, MIDI_PEDAL)
