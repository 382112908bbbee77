"""Where a press came from."""

from __future__ import annotations

MIDI_PEDAL = "MIDI pedal"
"""Stands for the key where a MIDI pedal was trodden."""

_PEDAL_KEYS = frozenset({"pageup", "pagedown", MIDI_PEDAL})
"""What page-turner pedals send and hardly a hand types while it holds a guitar."""


def source(key: str, *, browser: bool) -> str:
    """Return what the log calls the source of a press of `key`."""
    if browser:
        return "browser"
    return "pedal" if key in _PEDAL_KEYS else "keys"
