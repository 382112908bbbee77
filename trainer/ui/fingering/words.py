"""What the bench says in words: what is asked for, and what a change costs."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.ui.fingering.bench import KEEPS, Bench
from trainer.ui.fingering.schools import SCHOOLS
from trainer.ui.fingering.signs import Signs
from trainer.ui.fingering.ways import Outcome


def wishes(bench: Bench, signs: Signs, keys: Mapping[str, str]) -> str:
    """Return in one row whose weights count, what is to be easy, what stays, and how much is set.

    Each begins with the key that changes it: `keys` has them by command.
    """
    asked = bench.asked
    count = len(asked.pins)
    pins = f"{count} note{'s' if count > 1 else ''} set {signs.set}" if count else "nothing set"
    told = {
        "bench_school": SCHOOLS[asked.school].says,
        "bench_aim": str(asked.aim),
        "bench_keep": KEEPS[asked.keep],
        "bench_pin": pins,
    }
    return signs.dot.join(f"{keys.get(command, '')} {text}".strip() for command, text in told.items())


def reasons(bench: Bench, outcome: Outcome) -> str:
    """Return what coming to the shape costs in the way that is looked at, dearest first, and what it saves."""
    column = outcome.looked_at(bench.column)
    if column is None:
        return ""
    told = "; ".join(f"{clause.words} {clause.cost:+.1f}" for clause in column.reasons(bench.at))
    return f"{outcome.columns.index(column) + 1} {column.name}: {told or 'costs nothing to speak of'}"
