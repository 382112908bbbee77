"""How the changes stand, as a table, two lines to a change."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from trainer.commands.output import bare_table, console
from trainer.commands.progress.keys import local, split
from trainer.errors import plain
from trainer.practice.statistics import WINDOW, iqr, share, trend
from trainer.ui.played import ARROW, TIMED, by_heart, name_of, seconds, source_name

if TYPE_CHECKING:
    from datetime import date

    from rich.table import Table

    from trainer.log.history import History, Summary
    from trainer.practice.record import Series

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


def print_table(history: History, summaries: list[Summary], count: int) -> None:
    """Print the slowest changes, of so many, and what the columns mean."""
    screen = console()
    # A table fits the width by folding its cells; only running text is left to the terminal.
    today = datetime.now(tz=UTC).astimezone().date()
    screen.print(_table(history, summaries, today, screen.width), soft_wrap=False)
    if len(summaries) < count:
        screen.print(f"The {len(summaries):,} slowest of {count:,}; --slowest N shows more.")
    screen.print(
        f"Median, IQR (the width of the middle half) and trend: newest {WINDOW} attempts; best and shares: all."
    )
    if any(summary.measured for summary in summaries):
        screen.print("Gap: silence before the new shape, negative where both sound. Spread: first to last note of it.")


def _table(history: History, summaries: list[Summary], today: date, width: int) -> Table:
    """Return the table, two lines to a change: the first says how it stands, the second what that rests on."""
    from rich.text import Text

    heard, roomy = any(summary.measured for summary in summaries), width >= _ROOMY
    table = bare_table()
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
        times = history.times(summary.series)
        newest = trend(times)
        cells = (
            shape,
            _timed_by(summary.series),
            f"{summary.count:,}\n{_ago(local(summary.last_at), today)}",
            *((_span(summary.best_ms),) if roomy else ()),
            f"{_span(summary.median_ms)}\n{_span(iqr(sorted(times)))}",
            *((f"{_fine(summary.gap_ms)}\n{_fine(summary.spread_ms)}",) if heard else ()),
            f"{share(summary.clean, summary.answered)}\n{_kept(summary)}",
            *((f"{newest.verdict}\n{newest.detail}" if times else _late(summary),) if roomy else ()),
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
    return f"{TIMED[series.timing]}{tempo}\n{source_name(series.source)}{by_heart(series.how)}"


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
