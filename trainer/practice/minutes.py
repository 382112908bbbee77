"""The limits of a warm-up's length."""

from __future__ import annotations

SHORTEST, LONGEST = 2, 30
"""Limits in minutes."""
