"""What of a score was understood and what was not, in plain lines."""

from __future__ import annotations

from trainer.scores.score import Score, Unread

_BARS = 8
"""Bars that are named for one kind of thing."""


def understood_line(score: Score) -> str:
    """Return how many of each kind of thing were read: `understood: notes 24, string 24`."""
    return "understood: " + ", ".join(f"{kind} {count}" for kind, count in score.understood.items())


def unread_lines(unread: tuple[Unread, ...]) -> list[str]:
    """Return a line for each kind of thing that was not understood: `not understood: coda in bars 3, 9`."""
    by_kind: dict[str, list[str]] = {}
    for each in unread:
        by_kind.setdefault(each.what, []).extend([each.bar] if each.bar else [])
    return [f"not understood: {what}{_where(bars)}" for what, bars in by_kind.items()]


def _where(bars: list[str]) -> str:
    if not bars:
        return ""
    return f" in bar{'s' if len(bars) > 1 else ''} {', '.join(bars[:_BARS])}{', …' if len(bars) > _BARS else ''}"
