"""The views of the progress screen: rows of a table, and what is told of the one that is highlighted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Protocol

from trainer.practice.plan import target_ms
from trainer.ui.days import minute_name
from trainer.ui.fitting import shortened
from trainer.ui.played import TIMED, by_heart, name_of, source_name
from trainer.ui.progress.columns import table
from trainer.ui.progress.inbar import Fell, draw
from trainer.ui.progress.learning import learning
from trainer.ui.progress.plots import plot
from trainer.ui.progress.sentences import sentence
from trainer.ui.progress.stretches import (
    DRILL_HEADS,
    PACE,
    WEEK_HEADS,
    Stretch,
    drill_cells,
    drill_plot,
    drill_sentence,
    week_cells,
    week_name,
    week_plot,
    week_sentence,
)
from trainer.ui.progress.trends import Line, lines

if TYPE_CHECKING:
    from trainer.log.history import Summary
    from trainer.log.spans import DrillPlayed
    from trainer.practice.record import Attempt, Run

MOST = 500
"""Rows shown; a player has fewer changes than that."""
_TITLE = 25
"""Cells of a drill's title among the runs, most of the shipped ones whole."""
_LEAST_REMARK = 12
"""Cells below which remarks stand under the table alone."""
_BETWEEN = 2
"""Cells that a table puts around each entry."""

Table = tuple[tuple[str, ...], list[tuple[str, ...]]]
"""The heads of a table and its rows."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of one row."""

    text: str = ""
    """In sentences."""
    message: str = ""
    """And what goes with them."""
    subject: str = ""
    """What the row is about."""
    draw: Callable[[int, int], list[str]] | None = None
    """Draws a plot of a width and a height; None where there is none."""
    above: str = ""
    """Stands above the plot."""
    lines: tuple[Line, ...] = ()
    """Measures over time, each a line."""


class View(Protocol):
    """One way to look at progress."""

    name: str
    """What it shows."""

    def table(self, width: int) -> Table:
        """Return the table in so many cells."""

    def tell(self, row: int) -> Told:
        """Return what is told of a row; one that is not there is the word that there is none."""


class Changes:
    """Each change however it was timed, with its curve."""

    name = "changes"

    def __init__(
        self,
        summaries: Sequence[Summary],
        attempts: Callable[[Summary], list[Attempt]],
        *,
        goal_tempo: float,
        order: str,
        fine: bool,
    ) -> None:
        """Show `summaries` as ordered; `attempts` reads those of one."""
        self.summaries = tuple(summaries[:MOST])
        self._attempts, self._goal_ms, self._order, self._fine = attempts, target_ms(goal_tempo), order, fine

    def table(self, width: int) -> Table:
        """Return a row for each change, with as many columns as fit."""
        return table(self.summaries, width)

    def tell(self, row: int) -> Told:
        """Return the curve, the measures and the numbers of a change."""
        if not 0 <= row < len(self.summaries):
            return Told("Nothing is logged yet: drill a change with two presses, and it will stand here.")
        series = self.summaries[row].series
        attempts = self._attempts(self.summaries[row])
        times = [one.change_ms for one in attempts if one.change_ms is not None]
        learned = learning(times, self._goal_ms)
        source = source_name(series.source) + by_heart(series.how)
        return Told(
            sentence(attempts),
            f"from {source}; {self._order}; times taken in different ways are never pooled",
            name_of(series.change),
            (lambda width, height: plot(times, width, height, fine=self._fine, curve=learned.curve)) if times else None,
            learned.words,
            lines(attempts),
        )


class Runs:
    """The last runs with their remarks."""

    name = "runs"

    def __init__(self, runs: Sequence[Run], fell: Callable[[Run], Fell], *, fine: bool) -> None:
        """Show `runs`, the newest first; `fell` reads how the changes of one fell on their beats."""
        # Up to twenty runs are read for one: not again each time that it is highlighted.
        self._runs, self._fell, self._fine = tuple(runs), cache(fell), fine

    def table(self, width: int) -> Table:
        """Return a row for each run, with as much of the remarks as there is room for."""
        rows: list[tuple[str, ...]] = [
            (
                shortened(run.drill, _TITLE),
                minute_name(run.at),
                f"{TIMED[run.timing]}{by_heart(run.how)}",
                "" if run.tempo is None else f"{run.tempo:.0f}",
                "" if run.landed is None else f"{run.landed} of {run.asked}",
            )
            for run in self._runs
        ]
        heads, rows = _fitted(("drill", "when", "timed", "tempo", "landed"), rows, width, ("tempo",))
        left = width - sum(_widths(heads, rows)) - _BETWEEN
        if left < _LEAST_REMARK:
            return heads, rows
        remarks = [shortened(run.remark or "", left) for run in self._runs]
        return (*heads, "remark"), [(*row, remark) for row, remark in zip(rows, remarks, strict=True)]

    def tell(self, row: int) -> Told:
        """Return the remark of a run; where it was heard to the beat, also how it went beat by beat."""
        newest = f"the newest of {len(self._runs)} first"
        if not 0 <= row < len(self._runs):
            return Told("", newest)
        run, fine = self._runs[row], self._fine
        fell = self._fell(run)
        return Told(
            "; ".join(filter(None, (fell.words, run.remark))),
            newest,
            run.drill if fell.words else "",
            (lambda width, height: draw(fell.by_beat, width, height, fine=fine)) if fell.words else None,
            "Late by beat of the bar" if fell.words else "",
        )


class Weeks:
    """Week by week, and what stands out lately."""

    name = "weeks"

    def __init__(self, weeks: Sequence[Stretch], standing_out: Sequence[str], *, fine: bool) -> None:
        """Show `weeks`, oldest first as they are played; the newest stands on top."""
        self._weeks, self._fine = tuple(weeks), fine
        self._standing_out = [f"{told[0].lower()}{told[1:].rstrip('.')}" for told in standing_out if told]

    def table(self, width: int) -> Table:
        """Return a row for each week, the newest first."""
        return _fitted(WEEK_HEADS, [week_cells(week) for week in reversed(self._weeks)], width, ("from", "clean"))

    def tell(self, row: int) -> Told:
        """Return a week in words, all of them as bars, and with the newest what stands out."""
        if not 0 <= row < len(self._weeks):
            return Told("Nothing was practised in the last half year.")
        week = self._weeks[-1 - row]
        text = week_sentence(week)
        return Told(
            "; ".join([text, *self._standing_out]) if row == 0 else text,
            PACE,
            week_name(week.span.begins),
            week_plot(self._weeks, week.span.begins, fine=self._fine),
            "Tries a week",
        )


class Drills:
    """Each drill, and how it went day by day."""

    name = "drills"

    def __init__(self, drills: Sequence[DrillPlayed], days: Callable[[str], list[Stretch]], *, fine: bool) -> None:
        """Show `drills`, the one played last first; `days` reads those of a title."""
        self.drills = tuple(drills[:MOST])
        self._days, self._fine = cache(days), fine

    def table(self, width: int) -> Table:
        """Return a row for each drill."""
        return _fitted(DRILL_HEADS, [drill_cells(drill) for drill in self.drills], width, ("since", "runs"))

    def tell(self, row: int) -> Told:
        """Return a drill in words and its pace from day to day."""
        if not 0 <= row < len(self.drills):
            return Told("No drill was played yet.")
        drill = self.drills[row]
        days = self._days(drill.title)
        draw, above = drill_plot(days, fine=self._fine)
        return Told(drill_sentence(drill, days), PACE, drill.title, draw, above)


def _widths(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[int]:
    """Return the cells that each column takes."""
    return [max(map(len, column)) + _BETWEEN for column in zip(heads, *rows, strict=True)]


def _fitted(heads: tuple[str, ...], rows: list[tuple[str, ...]], width: int, spared: Sequence[str]) -> Table:
    """Return a table in `width` cells: the `spared` columns go first, then the first column is cut."""
    kept = list(range(len(heads)))
    for name in ("", *spared):
        if name:
            kept.remove(heads.index(name))
        wide = _widths([heads[at] for at in kept], [[row[at] for at in kept] for row in rows])
        if sum(wide) <= width:
            break
    first = max(wide[0] - _BETWEEN - max(sum(wide) - width, 0), 1)
    cut = [(shortened(row[0], first), *(row[at] for at in kept[1:])) for row in rows]
    return tuple(heads[at] for at in kept), cut
