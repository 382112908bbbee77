"""Progress week by week, with what stands out: records, the most improved, what is stuck."""

from __future__ import annotations

import sys
import time
from datetime import date
from typing import TYPE_CHECKING, Any

from trainer.commands.progress.keys import split
from trainer.commands.progress.lines import write_csv as write_lines
from trainer.errors import plain
from trainer.log.highlights import Highlights, highlights
from trainer.practice.plan import target_ms
from trainer.ui.played import name_of
from trainer.ui.progress.highlighted import sentences, since_recent
from trainer.ui.progress.stretches import (
    PACE,
    WEEK_HEADS,
    WEEKS,
    Stretch,
    since_weeks,
    stretches,
    week_cells,
    week_name,
    week_plot,
    week_sentence,
)

if TYPE_CHECKING:
    from trainer.log.history import History
    from trainer.practice.record import Series

_PLOT_ROWS = 9
_ROOMY = 72
"""Columns from which the Monday of each week has room too."""
_NUMBERS = ("days", "runs", "tries", "changes", "clean", "answered")


def print_text(history: History, limit: int | None) -> None:
    """Print a table of the weeks, their tries as bars, the last week in words and what stands out."""
    weeks = _weeks(history, limit)
    if not weeks:
        sys.stdout.write("Nothing practised in these weeks. Start 'changeover', drill a change, and they will fill.\n")
        return
    from trainer.commands.output import console, drawn, table

    screen, last = console(), weeks[-1]
    shown = [at for at, head in enumerate(WEEK_HEADS) if head != "from" or screen.width >= _ROOMY]
    heads, *cells = ([row[at] for at in shown] for row in (WEEK_HEADS, *map(week_cells, reversed(weeks))))
    screen.print(table(heads, cells, right=("days", "minutes", "tries", "changes", "pace")), soft_wrap=False)
    screen.print("\n".join(["", "Tries a week", *drawn(week_plot(weeks), screen.width, _PLOT_ROWS), ""]))
    screen.print(f"{week_name(last.span.begins)}: {week_sentence(last)}.")
    for sentence in sentences(_standing_out(history)):
        screen.print(sentence)
    screen.print(f"{PACE} Minutes: from landing to landing, pauses beyond one minute cut.")


def print_json(history: History, limit: int | None) -> None:
    """Print the weeks, oldest first, and what stands out as JSON."""
    from trainer.commands.output import print_json as write

    found = _standing_out(history)
    improved = None
    if found.improved is not None:
        series, better = found.improved
        shift = {"ms": better.shift.middle, "low_ms": better.shift.low, "high_ms": better.shift.high}
        improved = {**_series(series), "first_ms": better.first_ms, "now_ms": better.now_ms, "shift": shift}
    write(
        {
            "weeks": [dict(zip(_CSV, _row(week), strict=True)) for week in _weeks(history, limit)],
            "records": [
                {
                    **_series(series),
                    "at": record.run.at,
                    "median_ms": record.run.median_ms,
                    "timed": record.run.timed,
                    "before_ms": record.before_ms,
                }
                for series, record in found.records
            ],
            "most_improved": improved,
            "stuck": [
                {
                    **_series(look.series),
                    "median_ms": look.now.median_ms,
                    "level_ms": None if look.curve is None else look.curve.level.middle,
                    "target_ms": look.target_ms,
                }
                for look in found.stuck
            ],
        }
    )


def write_csv(history: History, limit: int | None) -> None:
    """Write a line for each week in which something was played, oldest first."""
    write_lines(_CSV, map(_row, _weeks(history, limit)))


_CSV = ("week", "monday", *_NUMBERS, "minutes", "pace")


def _row(week: Stretch) -> tuple[object, ...]:
    span = week.span
    numbers = (getattr(span, name) for name in _NUMBERS)
    return (week_name(span.begins), span.begins.isoformat(), *numbers, span.played_s / 60, week.pace)


def _weeks(history: History, limit: int | None) -> list[Stretch]:
    return stretches(history.weeks(since_weeks(date.today(), limit or WEEKS)))


def _standing_out(history: History) -> Highlights:
    from trainer.commands.own import own_settings
    from trainer.log.looks import looks

    known = looks(history, date.today(), target_ms(own_settings().goal_tempo))
    return highlights(history, known, since_recent(time.time()))


def _series(series: Series) -> dict[str, Any]:
    _, _, before, after = split(plain(series.change))
    return {
        "change": plain(series.change),
        "name": plain(name_of(series.change)),
        "from": before,
        "to": after or None,
        "timing": series.timing,
        "tempo": series.tempo,
        "source": plain(series.source),
        "how": series.how,
    }
