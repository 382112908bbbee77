"""Every attempt as a line of CSV."""

from __future__ import annotations

import csv
import sys
from typing import TYPE_CHECKING, Any

from trainer.commands.progress.keys import iso, split
from trainer.errors import plain
from trainer.files.cells import guarded
from trainer.practice.measures import NUMBERS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from trainer.log.history import History, Summary
    from trainer.practice.measures import Answer
    from trainer.practice.record import Attempt

_YES_OR_NO = {True: "yes", False: "no", None: None}
_NUMBERS = tuple(name for name in NUMBERS if name != "change_ms")
_CSV: tuple[tuple[str, Callable[[Attempt], object]], ...] = (
    ("change", lambda attempt: attempt.change),
    ("from", lambda attempt: split(attempt.change)[2]),
    ("to", lambda attempt: split(attempt.change)[3]),
    ("timing", lambda attempt: attempt.timing),
    ("tempo", lambda attempt: attempt.tempo),
    ("texture", lambda attempt: attempt.texture),
    ("source", lambda attempt: attempt.source),
    ("how", lambda attempt: attempt.how),
    ("at", lambda attempt: iso(attempt.at)),
    ("change_ms", lambda attempt: attempt.change_ms),
    ("clean", lambda attempt: _YES_OR_NO[attempt.clean]),
    ("run", lambda attempt: attempt.run),
    ("id", lambda attempt: attempt.id),
    *((name, lambda attempt, name=name: _measure(attempt, name)) for name in _NUMBERS),
    ("direction", lambda attempt: _measure(attempt, "direction")),
    ("kept_down", lambda attempt: _answers(_measure(attempt, "kept_down"))),
    ("guides", lambda attempt: _answers(_measure(attempt, "guides"))),
    ("wrong", lambda attempt: _count_of(_measure(attempt, "wrong"))),
    ("octaves", lambda attempt: _count_of(_measure(attempt, "octaves"))),
    ("missing", lambda attempt: _count_of(_measure(attempt, "missing"))),
    ("expected", lambda attempt: _YES_OR_NO[_measure(attempt, "expected")]),
    ("device", lambda attempt: _measure(attempt, "device")),
    ("calibration", lambda attempt: _measure(attempt, "calibration")),
)
"""The columns of the CSV and where each comes from; those after `id` only where a change was heard."""


def write_attempts(history: History, summaries: list[Summary], limit: int) -> None:
    """Write one line for each attempt, oldest first within a change; a cell that is not known stays empty."""
    attempts = (attempt for summary in summaries for attempt in history.attempts(summary.series, newest=limit))
    write_csv((name for name, _ in _CSV), ((value(attempt) for _, value in _CSV) for attempt in attempts))


def write_csv(heads: Iterable[str], rows: Iterable[Iterable[object]]) -> None:
    """Write lines of cells as a spreadsheet may have them."""
    lines = csv.writer(sys.stdout, lineterminator="\n")
    lines.writerow(heads)
    for row in rows:
        lines.writerow(_cell(value) for value in row)


def _cell(value: object) -> object:
    """Return `value` as a spreadsheet may have it: no text starts a formula."""
    return plain(guarded(value)) if isinstance(value, str) else value


def _measure(attempt: Attempt, name: str) -> Any:
    return None if attempt.measures is None else getattr(attempt.measures, name)


def _answers(answers: Mapping[int, Answer] | None) -> str | None:
    """Return what is known of each finger as a cell: `1 yes, 3 not heard`."""
    return None if answers is None else ", ".join(f"{finger} {answer}" for finger, answer in answers.items())


def _count_of(notes: Sequence[object] | None) -> int | None:
    return None if notes is None else len(notes)
