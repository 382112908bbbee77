"""Progress drill by drill: how much each was played, and its pace day by day."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from trainer.commands.progress.lines import write_csv as write_lines
from trainer.errors import plain
from trainer.ui.progress.stretches import (
    DRILL_HEADS,
    PACE,
    RUNS,
    Stretch,
    drill_cells,
    drill_plot,
    drill_sentence,
    pace_words,
    percent,
    stretches,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trainer.log.history import History
    from trainer.log.spans import DrillPlayed

_ROWS = 20
"""Drills told as text, those played last."""
_PLOT_ROWS = 12
_NUMBERS = ("runs", "tries", "changes", "clean", "answered")


def print_text(history: History, drills: Sequence[DrillPlayed], limit: int | None) -> None:
    """Print a table of the drills; of a single one a sentence and its plot too."""
    if not drills:
        sys.stdout.write("No drill practised yet. Start 'changeover', drill one, and it will stand here.\n")
        return
    from trainer.commands.output import console, drawn, table

    screen = console()
    told = [(drill, _days(history, drill, limit)) for drill in drills[:_ROWS]]
    heads = (*DRILL_HEADS, "pace")
    rows = [(*map(plain, drill_cells(drill)), percent(days[-1].pace if days else None)) for drill, days in told]
    screen.print(table(heads, rows, right=("runs", "tries", "pace")), soft_wrap=False)
    if len(drills) > _ROWS:
        screen.print(f"The {_ROWS} played last of {len(drills):,}; --drill TITLE shows any of them.")
    if len(told) == 1:
        drill, days = told[0]
        draw, above = drill_plot(days)
        screen.print("\n".join(["", above, *drawn(draw, screen.width, _PLOT_ROWS), ""]))
        screen.print(f"{drill_sentence(drill, days)}.")
    else:
        for drill, days in told:
            screen.print(f"{plain(drill.title)}: pace {pace_words(days)}.")
    screen.print(f"{PACE} Here on the last day each was played.")


def print_json(history: History, drills: Sequence[DrillPlayed], limit: int | None) -> None:
    """Print every drill with its days as JSON."""
    from trainer.commands.output import print_json as write

    write({"drills": [_document(drill, _days(history, drill, limit)) for drill in drills]})


def write_csv(history: History, drills: Sequence[DrillPlayed], limit: int | None) -> None:
    """Write a line for each day of each drill, oldest first within a drill."""
    days = ((drill.title, *_row(day)) for drill in drills for day in _days(history, drill, limit))
    write_lines(("drill", *_CSV), days)


_CSV = ("date", *_NUMBERS, "minutes", "pace")


def _row(day: Stretch) -> tuple[object, ...]:
    numbers = (getattr(day.span, name) for name in _NUMBERS)
    return (day.span.begins.isoformat(), *numbers, day.span.played_s / 60, day.pace)


def _days(history: History, drill: DrillPlayed, limit: int | None) -> list[Stretch]:
    return stretches(history.days_of_drill(drill.title, newest=limit or RUNS))


def _document(drill: DrillPlayed, days: Sequence[Stretch]) -> dict[str, Any]:
    return {
        "title": plain(drill.title),
        "runs": drill.runs,
        "tries": drill.tries,
        "first_at": drill.first_at,
        "last_at": drill.last_at,
        "days": [dict(zip(_CSV, _row(day), strict=True)) for day in days],
    }
