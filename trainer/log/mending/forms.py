"""What a row of ours looks like, in every format there has been: by that it is known, and anything else turned down."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING, TypeAlias

from trainer.practice.record import How, Texture, Timing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from trainer.log.mending.pages import Stored, Value

_Column: TypeAlias = "tuple[type, ...] | frozenset[str]"
_T, _N, _R = (str,), (int,), (float, int)
_MAYBE_T, _MAYBE_N, _MAYBE_R = (str, type(None)), (int, type(None)), (float, int, type(None))
_TIMING, _TEXTURE, _HOW = (frozenset(map(str, words)) for words in (Timing, Texture, How))


@dataclass(frozen=True, slots=True)
class Form:
    """How the rows of one table or index look."""

    columns: tuple[_Column, ...]
    """The kinds of value or the words that each column may hold, the row's own number left out. A fraction that happens
    to be whole is stored as a whole number."""
    lengths: tuple[int, ...] = ()
    """How many of the columns a row may have: later formats added some at the end. Empty: all of them."""
    numbered: bool = True
    """Whether a row has a number of its own beside its columns; not so in an index."""
    alone: bool = True
    """Whether the rows of no other table or index look like that."""

    def fit(self, row: Stored) -> tuple[Value, ...] | None:
        """Return what is in a row of this form, None of any other."""
        values = row.values
        if self.numbered:
            if row.number is None or not values or values[0] is not None:
                return None
            values = values[1:]
        elif row.number is not None:
            return None
        if len(values) not in (self.lengths or (len(self.columns),)):
            return None
        found = tuple(_fitting(values, self.columns))
        return found if len(found) == len(values) else None


def _fitting(values: Sequence[Value], columns: Sequence[_Column]) -> Iterator[Value]:
    """Yield values as long as each is what its column may hold."""
    for value, column in zip(values, columns, strict=False):
        if isinstance(column, tuple):
            if not isinstance(value, column) or (isinstance(value, float) and not isfinite(value)):
                return
            yield float(value) if float in column and value is not None else value
        elif value in column:
            yield value
        else:
            return


FORMS = {
    "guitars": Form((_T, _T), alone=False),
    "series": Form(
        (
            *(_T, _TIMING, _T, _MAYBE_R, _TEXTURE),
            *(_N, _MAYBE_R, _MAYBE_R, _N, _N, _MAYBE_R),
            *(_N, _MAYBE_R, _MAYBE_R, _MAYBE_R, _N, _N),
            _HOW,
        ),
        (5, 11, 17, 18),
    ),
    "runs": Form((_T, _T, _R, _TIMING, _MAYBE_R, _MAYBE_N, _MAYBE_N, _MAYBE_T, _HOW), (8, 9)),
    "attempts": Form((_T, _N, _N, _R, _MAYBE_R, _MAYBE_N)),
    "measures": Form((_N, _N, *(_MAYBE_R,) * 7, _MAYBE_T, _MAYBE_R)),
    "fingers": Form((_N, _T, _N, _T), numbered=False),
    "notes": Form((_N, _T, _N, _MAYBE_N, _N), numbered=False),
    "series_once": Form((_T, _TIMING, _T, _TEXTURE, _R, _HOW, _N), numbered=False),
    "series_once before recall": Form((_T, _TIMING, _T, _TEXTURE, _R, _N), numbered=False),
    "sqlite_autoindex_guitars_1": Form((_T, _T, _N), numbered=False),
    "sqlite_autoindex_runs_1": Form((_T, _N), numbered=False, alone=False),
    "runs_by_time": Form((_R, _N), numbered=False, alone=False),
    "sqlite_autoindex_attempts_1": Form((_T, _N), numbered=False, alone=False),
    "attempts_by_run": Form((_N, _N), numbered=False, alone=False),
    "attempts_by_series": Form((_N, _R, _N, _MAYBE_R, _N), numbered=False),
}
"""By the name of the table or index. A table without numbers is stored like an index."""
