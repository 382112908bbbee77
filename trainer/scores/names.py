"""How the names of scores end."""

from __future__ import annotations

from pathlib import PurePath

SUFFIXES = (".musicxml", ".mxl", ".xml", ".mid", ".midi")
"""Endings of the files that are read as scores."""


def is_score(word: str) -> bool:
    """Tell by its ending whether `word` names a score."""
    return PurePath(word).suffix.lower() in SUFFIXES
