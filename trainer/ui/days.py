"""Days as the player lives them: by the clock on the wall, where the player is."""

from __future__ import annotations

from datetime import date


def day_of(at: float) -> int:
    """Return the number of the day, where the player is, of a moment in seconds since 1970-01-01 UTC."""
    return date.fromtimestamp(at).toordinal()
