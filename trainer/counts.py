"""How many there are, in words."""

from __future__ import annotations


def plural(count: int, one: str, many: str = "") -> str:
    """Return a number with its word: `1 try`, `1,200 tries`; `many` where an s is not enough."""
    return f"{count:,} {one if count == 1 else many or f'{one}s'}"
