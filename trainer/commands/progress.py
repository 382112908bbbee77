"""`changeover progress`: how fast each change has become, as a table, as JSON or as CSV."""

from __future__ import annotations

import argparse
import csv
import sys
from datetime import UTC, datetime
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from trainer.errors import plain, wrong
from trainer.log.history import reading
from trainer.practice.statistics import WINDOW, Trend, describe, share

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from rich.table import Table

    from trainer.log.history import History, Summary
    from trainer.practice.record import Attempt, Series
    from trainer.practice.statistics import Statistics

_ROWS = 20
"""Rows of the table unless more are asked for."""
_STANDARD = "E2 A2 D3 G3 B3 E4"
"""The tuning that goes without saying."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes text that begins so for a formula (OWASP, CSV Injection)."""
_CSV: tuple[tuple[str, Callable[[Attempt], object]], ...] = (
    ("change", lambda attempt: attempt.change),
    ("from", lambda attempt: split(attempt.change)[2]),
    ("to", lambda attempt: split(attempt.change)[3]),
    ("timing", lambda attempt: attempt.timing),
    ("tempo", lambda attempt: attempt.tempo),
    ("texture", lambda attempt: attempt.texture),
    ("source", lambda attempt: attempt.source),
    ("at", lambda attempt: _iso(attempt.at)),
    ("change_ms", lambda attempt: attempt.change_ms),
    ("clean", lambda attempt: {True: "yes", False: "no", None: None}[attempt.clean]),
    ("run", lambda attempt: attempt.run),
    ("id", lambda attempt: attempt.id),
)
"""The columns of the CSV and where each comes from."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="one JSON document, attempts included")
    form.add_argument("--csv", action="store_true", help="one line for each attempt")
    parser.add_argument("--drill", metavar="TITLE", help="only the changes practised in the drill of this title")
    parser.add_argument(
        "--slowest", type=_count, metavar="N", help=f"only the N slowest changes (table: {_ROWS}, else all)"
    )
    parser.add_argument(
        "--limit",
        type=_count,
        default=WINDOW,
        metavar="N",
        help="with --json and --csv: the newest N attempts of each change (%(default)s)",
    )


def run(options: argparse.Namespace) -> int:
    """Print how the changes stand."""
    from trainer.files.paths import log_file

    with reading(log_file()) as history:
        summaries = _chosen(history, options.drill)
        if options.json:
            from trainer.commands.output import print_json

            changes = [_change(history, summary, options.limit) for summary in summaries[: options.slowest]]
            print_json({"changes": changes})
        elif options.csv:
            _write_csv(history, summaries[: options.slowest], options.limit)
        elif summaries:
            _print_table(history, summaries, options.slowest or _ROWS)
        else:
            sys.stdout.write("No change practised yet. Start 'changeover', drill one, and it will stand here.\n")
    return 0


def split(change: str) -> tuple[str, str, str, str]:
    """Return tuning, capo and both shapes of a change's key; what is no such key stands whole where a shape would."""
    parts = change.split(" | ")
    if len(parts) != 4:
        return ("", "", change, "")
    return (parts[0], parts[1], parts[2], parts[3])


def _count(text: str) -> int:
    """Return a number from 1 up; argparse words the error."""
    number = int(text) if text.isascii() and text.isdigit() else 0
    if number < 1:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number from 1 up")
    return number


def _chosen(history: History, drill: str | None) -> list[Summary]:
    summaries = history.summaries(drill=drill)
    titles = history.drills() if drill is not None else []
    if titles and drill is not None and drill not in titles:
        near = get_close_matches(drill, titles, n=1, cutoff=0.0)
        raise wrong(f"no drill '{drill}' in the log", key="--drill", hint=f"the nearest title is '{near[0]}'")
    return summaries


def _current(history: History, summary: Summary) -> Statistics:
    """Return the statistics of the newest attempts of a series."""
    return describe(history.attempts(summary.series, newest=WINDOW))


def _change(history: History, summary: Summary, limit: int) -> dict[str, Any]:
    """Return one series as JSON."""
    series = summary.series
    attempts = history.attempts(series, newest=max(limit, WINDOW))
    now = describe(attempts[-WINDOW:])
    change = plain(series.change)
    tuning, capo, before, after = split(change)
    return {
        "change": change,
        "tuning": tuning.split(),
        "capo": int(capo) if capo.isdecimal() else None,
        "from": before,
        "to": after or None,
        "timing": series.timing,
        "tempo": series.tempo,
        "texture": series.texture,
        "source": plain(series.source),
        "count": summary.count,
        "best_ms": summary.best_ms,
        "median_ms": now.median_ms,
        "iqr_ms": now.iqr_ms,
        "last_ten_ms": now.last_ten_ms,
        "clean": summary.clean,
        "answered": summary.answered,
        "trend": _trend(now.trend),
        "last_at": summary.last_at,
        "attempts": [_attempt(attempt) for attempt in attempts[-limit:]],
    }


def _trend(trend: Trend) -> dict[str, Any]:
    return {
        "verdict": trend.verdict,
        "ms_per_attempt": trend.ms_per_attempt,
        "attempts": trend.attempts,
        "words": trend.words,
    }


def _attempt(attempt: Attempt) -> dict[str, Any]:
    return {
        "id": plain(attempt.id),
        "run": plain(attempt.run),
        "at": attempt.at,
        "change_ms": attempt.change_ms,
        "clean": attempt.clean,
        "source": plain(attempt.source),
        "timing": attempt.timing,
        "tempo": attempt.tempo,
    }


def _write_csv(history: History, summaries: list[Summary], limit: int) -> None:
    """Write one line for each attempt, oldest first within a change; a cell that is not known stays empty."""
    lines = csv.writer(sys.stdout, lineterminator="\n")
    lines.writerow(name for name, _ in _CSV)
    for summary in summaries:
        for attempt in history.attempts(summary.series, newest=limit):
            lines.writerow(_cell(value(attempt)) for _, value in _CSV)


def _cell(value: object) -> object:
    """Return `value` as a spreadsheet may have it: text that would start a formula is set behind an apostrophe."""
    if not isinstance(value, str):
        return value
    return plain(f"'{value}" if value.startswith(_FORMULA) else value)


def _print_table(history: History, summaries: list[Summary], rows: int) -> None:
    from trainer.commands.output import console

    screen = console()
    # A table fits the width by folding its cells; only running text is left to the terminal.
    today = datetime.now(tz=UTC).astimezone().date()
    screen.print(_table(history, summaries[:rows], today), soft_wrap=False)
    if len(summaries) > rows:
        screen.print(f"The {rows:,} slowest of {len(summaries):,}; --slowest N shows more.")
    screen.print(
        f"Times in ms. Median, IQR (width of the middle half) and trend: newest {WINDOW} attempts; best and clean: all."
    )


def _table(history: History, summaries: list[Summary], today: date) -> Table:
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, header_style="", padding=(0, 1, 0, 0))
    table.add_column("change")
    table.add_column("timed by", overflow="fold")
    for name in ("count", "best", "median", "IQR"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("clean", max_width=7)
    table.add_column("trend")
    table.add_column("last", justify="right", no_wrap=True)
    for summary in summaries:
        now = _current(history, summary)
        cells = (
            _shapes(summary.series.change),
            _timed_by(summary.series),
            f"{summary.count:,}",
            _ms(summary.best_ms),
            _ms(now.median_ms),
            _ms(now.iqr_ms),
            share(summary.clean, summary.answered),
            f"{now.trend.verdict}\n{now.trend.detail}" if now.timed else "",
            _ago(_local(summary.last_at), today),
        )
        # Text, not markup: a shape or a port may be called anything.
        table.add_row(*(Text(cell) for cell in cells))
    return table


def _shapes(change: str) -> str:
    """Return a change's key on two lines, with a third where the guitar is not as usual."""
    tuning, capo, before, after = (plain(part) for part in split(change))
    lines = [before]
    if after:
        lines.append(f"to {after}")
    unusual = [f"capo {capo}"] if capo not in {"", "0"} else []
    unusual += [tuning] if tuning not in {"", _STANDARD} else []
    if unusual:
        lines.append(", ".join(unusual))
    return "\n".join(lines)


def _timed_by(series: Series) -> str:
    lines = [series.timing, plain(series.source)]
    if series.tempo is not None:
        lines.append(f"at {series.tempo:g}")
    return "\n".join(lines)


def _ms(value: float | None) -> str:
    return "" if value is None else f"{value:,.0f}"


def _ago(then: datetime | None, today: date) -> str:
    """Return how long ago a day was: `today`, `3 d`."""
    if then is None:
        return ""
    days = (today - then.date()).days
    return f"{days:,} d" if days > 0 else "today"


def _iso(at: float) -> str:
    moment = _local(at)
    return "" if moment is None else moment.astimezone(UTC).isoformat(timespec="milliseconds")


def _local(at: float) -> datetime | None:
    """Return a moment where the player is; None for one no calendar knows."""
    try:
        return datetime.fromtimestamp(at, tz=UTC).astimezone()
    except (OverflowError, ValueError, OSError):
        return None
