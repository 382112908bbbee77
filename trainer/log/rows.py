"""Making sure that a row holds what a program of ours has written; one byte changed on the disk may change its kind."""

from __future__ import annotations

import math
import sqlite3
from enum import StrEnum
from typing import Any, TypeAlias, TypeVar

_Kind = TypeVar("_Kind", bound=StrEnum)
Row: TypeAlias = tuple[Any, ...]
Shape: TypeAlias = tuple[tuple[type, ...], ...]
"""For each column the kinds of value it may hold."""

TEXT, REAL, COUNT = (str,), (float,), (int,)
MAYBE_TEXT, MAYBE_REAL, MAYBE_COUNT = (str, type(None)), (float, type(None)), (int, type(None))
_INFINITE = frozenset({math.inf, -math.inf})


def sound(row: Row, shape: Shape) -> Row:
    """Return `row` where it holds what its columns should, else raise sqlite3.DatabaseError."""
    if not all(map(isinstance, row, shape)) or not _INFINITE.isdisjoint(row):
        raise sqlite3.DatabaseError("a row that no program of ours has written")
    return row


def one_of(kind: type[_Kind], word: str) -> _Kind:
    """Return the member of `kind` that is written `word`, else raise sqlite3.DatabaseError."""
    try:
        return kind(word)
    except ValueError as error:
        raise sqlite3.DatabaseError(str(error)) from error
