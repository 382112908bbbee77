"""What a command of the player's is to the session, and where it came from."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from trainer.practice import events

EVENTS: MappingProxyType[str, Callable[[float], events.Event]] = MappingProxyType(
    {
        "press": events.Press,
        "leave": events.Leave,
        "land": events.Landed,
        "unclean": events.MarkUnclean,
        "undo": events.TakeBack,
        "miss": events.Missed,
        "next": events.Next,
        "previous": events.Back,
        "again": events.Repeat,
        "restart": events.Restart,
        "slower": events.Slower,
        "faster": events.Faster,
    }
)
"""What each command is to the session, by its id; the others are the runner's own."""

MIDI_PEDAL = "MIDI pedal"
"""Stands for the key where a MIDI pedal was trodden."""

_PEDAL_KEYS = frozenset({"pageup", "pagedown", MIDI_PEDAL})
"""What page-turner pedals send and hardly a hand types while it holds a guitar."""


def source(key: str, *, browser: bool) -> str:
    """Return what the log calls the source of a press of `key`."""
    if browser:
        return "browser"
    return "pedal" if key in _PEDAL_KEYS else "keys"
