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
from trainer.practice.measures import NUMBERS
from trainer.practice.statistics import WINDOW, Trend, describe, share
from trainer.ui.played import ARROW, TIMED, name_of, seconds, source_name

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import date

    from rich.table import Table

    from trainer.log.history import History, Summary
    from trainer.practice.measures import Answer, Measures
    from trainer.practice.record import Attempt, Series
    from trainer.practice.statistics import Statistics

_ROWS = 20
"""Rows of the table unless more are asked for."""
_ONE_LINE = 19
"""Cells up to which both shapes of a change stand on one line, else below each other; one shape mostly takes less."""
_ROOMY = 79
"""Columns from which the best time and the trend have room too."""
_WIDE = 100
"""Columns from which nothing needs folding."""
_LONGEST_SHAPES = 40
"""Cells of the shapes where nothing needs folding."""
_LONGEST_WAY = max(map(len, TIMED.values()))
_STANDARD = "E2 A2 D3 G3 B3 E4"
"""The tuning that goes without saying."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes text that begins so for a formula (OWASP, CSV Injection)."""
_YES_OR_NO = {True: "yes", False: "no", None: None}
_NUMBERS = tuple(name for name in NUMBERS if name != "change_ms")
_BY_HEART = {"recalled": ", by heart"}
_CSV: tuple[tuple[str, Callable[[Attempt], object]], ...] = (
    ("change", lambda attempt: attempt.change),
    ("from", lambda attempt: split(attempt.change)[2]),
    ("to", lambda attempt: split(attempt.change)[3]),
    ("timing", lambda attempt: attempt.timing),
    ("tempo", lambda attempt: attempt.tempo),
    ("texture", lambda attempt: attempt.texture),
    ("source", lambda attempt: attempt.source),
    ("how", lambda attempt: attempt.how),
    ("at", lambda attempt: _iso(attempt.at)),
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
            from trainer.commands.hand import hand_document, own_model
            from trainer.commands.output import print_json

            changes = [_change(history, summary, options.limit) for summary in summaries[: options.slowest]]
            print_json({"changes": changes, "hand": hand_document(own_model(history))})
        elif options.csv:
            _write_csv(history, summaries[: options.slowest], options.limit)
        elif summaries:
            _print_table(history, summaries, options.slowest or _ROWS)
            if options.drill is None:
                _print_hand(history)
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
    return describe(history.attempts(summary.series, measures=False))


def _change(history: History, summary: Summary, limit: int) -> dict[str, Any]:
    """Return one series as JSON."""
    series = summary.series
    attempts = history.attempts(series, newest=max(limit, WINDOW))
    now = describe(attempts[-WINDOW:])
    change = plain(series.change)
    tuning, capo, before, after = split(change)
    return {
        "change": change,
        "name": plain(name_of(series.change)),
        "tuning": tuning.split(),
        "capo": int(capo) if capo.isdecimal() else None,
        "from": before,
        "to": after or None,
        "timing": series.timing,
        "tempo": series.tempo,
        "texture": series.texture,
        "source": plain(series.source),
        "how": series.how,
        "count": summary.count,
        "best_ms": summary.best_ms,
        "median_ms": now.median_ms,
        "iqr_ms": now.iqr_ms,
        "last_ten_ms": now.last_ten_ms,
        "clean": summary.clean,
        "answered": summary.answered,
        "measured": summary.measured,
        "gap_ms": summary.gap_ms,
        "spread_ms": summary.spread_ms,
        "late_ms": summary.late_ms,
        "kept": summary.kept,
        "kept_answered": summary.kept_answered,
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
        "measures": None if attempt.measures is None else _measures(attempt.measures),
    }


def _measures(measures: Measures) -> dict[str, Any]:
    """Return what was heard of one attempt as JSON; the change time stands with the attempt."""
    return {
        **{name: getattr(measures, name) for name in _NUMBERS},
        "direction": measures.direction,
        "kept_down": {str(finger): answer for finger, answer in measures.kept_down.items()},
        "guides": {str(finger): answer for finger, answer in measures.guides.items()},
        "wrong": measures.wrong,
        "octaves": measures.octaves,
        "missing": measures.missing,
        "expected": measures.expected,
        "device": plain(measures.device),
        "calibration": plain(measures.calibration),
    }


def _measure(attempt: Attempt, name: str) -> Any:
    return None if attempt.measures is None else getattr(attempt.measures, name)


def _answers(answers: Mapping[int, Answer] | None) -> str | None:
    """Return what is known of each finger as a cell: `1 yes, 3 not heard`."""
    return None if answers is None else ", ".join(f"{finger} {answer}" for finger, answer in answers.items())


def _count_of(notes: Sequence[object] | None) -> int | None:
    return None if notes is None else len(notes)


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
    screen.print(_table(history, summaries[:rows], today, screen.width), soft_wrap=False)
    if len(summaries) > rows:
        screen.print(f"The {rows:,} slowest of {len(summaries):,}; --slowest N shows more.")
    screen.print(
        f"Median, IQR (the width of the middle half) and trend: newest {WINDOW} attempts; best and shares: all."
    )
    if any(summary.measured for summary in summaries[:rows]):
        screen.print("Gap: silence before the new shape, negative where both sound. Spread: first to last note of it.")


def _print_hand(history: History) -> None:
    from trainer.commands.hand import hand_lines, own_model
    from trainer.commands.output import console

    screen = console()
    screen.print()
    for line in hand_lines(own_model(history)):
        screen.print(line)


def _table(history: History, summaries: list[Summary], today: date, width: int) -> Table:
    """Return the table, two lines to a change: the first says how it stands, the second what that rests on."""
    from rich.table import Table
    from rich.text import Text

    heard, roomy = any(summary.measured for summary in summaries), width >= _ROOMY
    table = Table(box=None, header_style="", padding=(0, 1, 0, 0), pad_edge=False)
    shapes = [_shapes(summary.series.change) for summary in summaries]
    longest = max(len(line) for cell in shapes for line in cell.split("\n"))
    table.add_column("change", width=min(longest, _ONE_LINE if width < _WIDE else _LONGEST_SHAPES), overflow="fold")
    table.add_column("timed by", overflow="fold", max_width=_LONGEST_WAY if width < _WIDE else None)
    numbers = ("count\nlast", *(("best",) if roomy else ()), "median\nIQR", *(("gap\nspread",) if heard else ()))
    for name in numbers:
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("clean\nkept" if heard else "clean", no_wrap=True)
    if roomy:
        table.add_column("trend")
    for summary, shape in zip(summaries, shapes, strict=True):
        now = _current(history, summary)
        cells = (
            shape,
            _timed_by(summary.series),
            f"{summary.count:,}\n{_ago(_local(summary.last_at), today)}",
            *((_span(summary.best_ms),) if roomy else ()),
            f"{_span(now.median_ms)}\n{_span(now.iqr_ms)}",
            *((f"{_fine(summary.gap_ms)}\n{_fine(summary.spread_ms)}",) if heard else ()),
            f"{share(summary.clean, summary.answered)}\n{_kept(summary)}",
            *((f"{now.trend.verdict}\n{now.trend.detail}" if now.timed else _late(summary),) if roomy else ()),
        )
        # Text, not markup: a shape or a port may be called anything.
        table.add_row(*(Text(cell.rstrip("\n")) for cell in cells))
    return table


def _shapes(change: str) -> str:
    """Return a change's shapes by name, with a line more where the guitar is not as usual."""
    tuning, capo, _, _ = (plain(part) for part in split(change))
    name = plain(name_of(change))
    lines = [name] if len(name) <= _ONE_LINE else name.split(ARROW)
    unusual = [f"capo {capo}"] if capo not in {"", "0"} else []
    unusual += [tuning] if tuning not in {"", _STANDARD} else []
    if unusual:
        lines.append(", ".join(unusual))
    return "\n".join(lines)


def _timed_by(series: Series) -> str:
    tempo = "" if series.tempo is None else f" {series.tempo:g}"
    return f"{TIMED[series.timing]}{tempo}\n{source_name(series.source)}{_BY_HEART.get(series.how, '')}"


def _span(ms: float | None) -> str:
    """Return a change time as the app shows it."""
    return "" if ms is None else seconds(ms)


def _fine(ms: float | None) -> str:
    """Return a gap or a spread, which are shorter than a change takes, in milliseconds."""
    return "" if ms is None else f"{round(ms):,} ms"


def _late(summary: Summary) -> str:
    """Return how late the notes of a figure came, which stands in for a change time."""
    return "" if summary.late_ms is None else f"late\n{_fine(summary.late_ms)}"


def _kept(summary: Summary) -> str:
    """Return how many fingers stayed down; nothing where none was to, or none could be heard."""
    return share(summary.kept, summary.kept_answered) if summary.kept_answered else ""


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
