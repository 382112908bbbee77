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


def invitation(
    bench: Bench | None, problem: str, keys: Mapping[str, str], waited: float | None, *, some: bool
) -> tuple[str, str, str]:
    """Return the key to press now, what it does and what others do, and the same in fewer words.

    `problem`: why there is no rival; `waited`: seconds since ways are looked for; `some`: there is one to be drilled.
    """
    if bench is None:
        return "ESC", "goes back.", ""
    if waited is not None:
        stops = "stops" if bench.past else "leaves"
        return "", f"Looking for ways through {len(bench.heads)} shapes: {waited:.1f} s. ESC {stops}.", ""
    if bench.past and (problem or not some):
        return keys.get("bench_undo", ""), "goes back to what was asked before.", ""
    if not some:
        return keys.get("bench_keep", ""), "lets other strings be taken, or not; ESC goes back.", ""
    pin, note = keys.get("bench_pin", ""), keys.get("bench_note", "")
    if bench.cursor is None:
        brief = f"drills this way; {pin} sets the shape as it is"
        more = f"{note} goes to a note, {keys.get('bench_save', '')} keeps a file"
    else:
        brief = f"drills it; {pin} sets this note, {keys.get('bench_finger', '')} another finger"
        more = f"{note} goes to the next note"
    return keys.get("bench_drill", ""), f"{brief}, {more}.", f"{brief}."


def reasons(bench: Bench, outcome: Outcome) -> str:
    """Return what coming to the shape costs in the way that is looked at, dearest first, and what it saves."""
    column = outcome.looked_at(bench.column)
    if column is None:
        return ""
    told = "; ".join(f"{clause.words} {clause.cost:+.1f}" for clause in column.reasons(bench.at))
    return f"{outcome.columns.index(column) + 1} {column.name}: {told or 'costs nothing to speak of'}"
