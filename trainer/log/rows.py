"""Making sure that a row holds what a program of ours has written; one byte changed on the disk may change its kind."""

from __future__ import annotations

import math
import sqlite3
from enum import StrEnum
from typing import TYPE_CHECKING, Any, TypeAlias, TypeVar

if TYPE_CHECKING:
    from collections.abc import Sequence

_Kind = TypeVar("_Kind", bound=StrEnum)
Row: TypeAlias = tuple[Any, ...]
Shape: TypeAlias = tuple[tuple[type, ...], ...]
"""For each column the kinds of value it may hold."""

TEXT, REAL, COUNT = (str,), (float,), (int,)
MAYBE_TEXT, MAYBE_REAL, MAYBE_COUNT = (str, type(None)), (float, type(None)), (int, type(None))
_INFINITE = frozenset({math.inf, -math.inf})
_UNSOUND = "a row that no program of ours has written"


def sound(row: Row | None, shape: Shape) -> Row:
    """Return `row` where it is there and holds what its columns should, else raise sqlite3.DatabaseError."""
    if row is None or not all(map(isinstance, row, shape)) or not _INFINITE.isdisjoint(row):
        raise sqlite3.DatabaseError(_UNSOUND)
    return row


def sound_columns(rows: Sequence[Row], shape: Shape) -> list[list[Any]]:
    """Return the columns of very many `rows`: as `sound` for each, in a fraction of the time."""
    columns = [[row[at] for row in rows] for at in range(len(shape))]
    for column, kinds in zip(columns, shape, strict=True):
        if not set(map(type, column)) <= set(kinds) or any(infinite in column for infinite in _INFINITE):
            raise sqlite3.DatabaseError(_UNSOUND)
    return columns


def one_of(kind: type[_Kind], word: str) -> _Kind:
    """Return the member of `kind` that is written `word`, else raise sqlite3.DatabaseError."""
    try:
        return kind(word)
    except ValueError as error:
        raise sqlite3.DatabaseError(str(error)) from error
