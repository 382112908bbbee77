"""What a command of the player's is to the session."""

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
