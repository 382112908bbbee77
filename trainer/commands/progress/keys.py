"""What several forms of progress share: the parts of a change's key, moments as text."""

from __future__ import annotations

from datetime import UTC, datetime


def split(change: str) -> tuple[str, str, str, str]:
    """Return tuning, capo and both shapes of a change's key; what is no such key stands whole where a shape would."""
    parts = change.split(" | ")
    if len(parts) != 4:
        return ("", "", change, "")
    return (parts[0], parts[1], parts[2], parts[3])


def iso(at: float) -> str:
    """Return a moment by ISO 8601 in UTC, to the millisecond; nothing for one no calendar knows."""
    moment = local(at)
    return "" if moment is None else moment.astimezone(UTC).isoformat(timespec="milliseconds")


def local(at: float) -> datetime | None:
    """Return a moment where the player is; None for one no calendar knows."""
    try:
        return datetime.fromtimestamp(at, tz=UTC).astimezone()
    except (OverflowError, ValueError, OSError):
        return None
