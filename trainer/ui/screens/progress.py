"""How fast each change has become: a table to order, a curve and the numbers of the highlighted one; the last runs."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.widgets import DataTable

from trainer.errors import ChangeoverError
from trainer.log.history import Summary, reading
from trainer.practice.plan import target_ms
from trainer.practice.record import Attempt, How, Run
from trainer.ui.commands import Call, Place
from trainer.ui.messages import Open
from trainer.ui.offers import MODES
from trainer.ui.played import TIMED, drill_of, name_of, source_name
from trainer.ui.progress.columns import table
from trainer.ui.progress.learning import learning
from trainer.ui.progress.sentences import sentence
from trainer.ui.progress.trends import lines
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.lines import TopLine, shortened
from trainer.ui.widgets.plot import Plot
from trainer.ui.widgets.trends import Trends
from trainer.ui.widgets.words import Words

_MOST = 500
"""Rows shown; a player has fewer changes than that."""
_TITLE = 25
"""Cells of a drill's title among the runs, most of the shipped ones whole."""
_SCROLLBAR = 1
"""Cells at the right of the table."""

ORDERS: tuple[tuple[str, Callable[[Summary], Any]], ...] = (
    ("slowest first", lambda summary: (summary.median_ms is None, -(summary.median_ms or 0))),
    ("latest first", lambda summary: -summary.last_at),
    ("most played first", lambda summary: -summary.count),
    ("by name", lambda summary: name_of(summary.series.change)),
)
"""The ways to order changes."""


class ProgressScreen(CommandScreen):
    """Every change that was played, and what became of it."""

    place = Place.PROGRESS
    CSS_PATH = "progress.tcss"
    AUTO_FOCUS = "DataTable"
    heading = "Progress"
    VERTICAL_BREAKPOINTS = [(0, "-low"), (24, "-usual"), (30, "-tall")]  # noqa: RUF012  # Textual's own type for it is a list

    def __init__(self, services: Services) -> None:
        """Show the slowest change first."""
        super().__init__(services)
        self._summaries: tuple[Summary, ...] = ()
        self._runs: tuple[Run, ...] = ()
        self._order = 0
        self._of_runs = False

    def body(self) -> ComposeResult:
        """Lay out the table, the curve and the numbers."""
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield Plot(fine=self.services.look.glyphs.fine)
        yield Trends(fine=self.services.look.glyphs.fine)
        yield Words()

    def on_screen_resume(self) -> None:
        """Read the log anew: a change may have been played since."""
        super().on_screen_resume()
        try:
            with reading(self.services.log_path) as history:
                self._summaries = tuple(history.summaries())
                self._runs = tuple(history.runs(newest=_MOST))
        except ChangeoverError as error:
            self.query_one(Words).show("", str(error.problems[0]), warn=True)
            return
        self._show()

    def on_resize(self, event: events.Resize) -> None:
        """Show as many columns as there is room for now."""
        super().on_resize(event)
        self._show(keep=True)

    def on_data_table_row_highlighted(self, _: DataTable.RowHighlighted) -> None:
        """Show the curve and the numbers of this change."""
        self._tell()

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """Drill the change that was chosen with enter or a click."""
        self._drill()

    def do_drill_change(self, _: Call) -> None:
        """Drill the change that is highlighted."""
        self._drill()

    def do_hand(self, _: Call) -> None:
        """Show what costs the player's hand most."""
        self.post_message(Open("hand"))

    def do_sort(self, _: Call) -> None:
        """Order the changes another way."""
        self._order = (self._order + 1) % len(ORDERS)
        self._of_runs = False
        self._show()

    def do_runs(self, _: Call) -> None:
        """Show the last runs, or the changes again."""
        self._of_runs = not self._of_runs
        self._show()

    def _show(self, *, keep: bool = False) -> None:
        shown: DataTable[Text] = self.query_one(DataTable)
        row = shown.cursor_row
        shown.clear(columns=True)
        heads, rows = self._run_rows() if self._of_runs else self._change_rows()
        shown.add_columns(*map(Text, heads))
        for cells in rows:
            shown.add_row(*map(Text, cells))
        shown.move_cursor(row=row if keep else 0)
        self.set_class(self._of_runs, "-runs")
        self._tell()

    def _change_rows(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        _, key = ORDERS[self._order]
        self._summaries = tuple(sorted(self._summaries, key=key))
        return table(self._summaries[:_MOST], self.size.width - _SCROLLBAR)

    def _run_rows(self) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
        rows: list[tuple[str, ...]] = [
            (
                time.strftime("%Y-%m-%d %H:%M", time.localtime(run.at)),
                shortened(run.drill, _TITLE),
                TIMED[run.timing],
                "" if run.tempo is None else f"{run.tempo:.0f}",
                "" if run.landed is None else f"{run.landed} of {run.asked}",
                run.remark or "",
            )
            for run in self._runs
        ]
        return ("when", "drill", "timed", "tempo", "landed", "remark"), rows

    @property
    def _chosen(self) -> Summary | None:
        row = self.query_one(DataTable).cursor_row
        return self._summaries[row] if not self._of_runs and 0 <= row < len(self._summaries) else None

    @property
    def _run(self) -> Run | None:
        row = self.query_one(DataTable).cursor_row
        return self._runs[row] if self._of_runs and 0 <= row < len(self._runs) else None

    def _tell(self) -> None:
        chosen, words = self._chosen, self.query_one(Words)
        attempts = [] if chosen is None else self._attempts(chosen)
        times = [one.change_ms for one in attempts if one.change_ms is not None]
        learned = learning(times, target_ms(self.services.settings.goal_tempo))
        self.query_one(Plot).show(times, learned.curve, learned.words)
        self.query_one(Trends).show(heard := lines(attempts))
        self.query_one(TopLine).show(self.heading, "" if chosen is None else name_of(chosen.series.change))
        self.set_class(bool(heard), "-heard")
        self.set_class(bool(heard) and not times, "-untimed")
        if self._of_runs:
            remark = None if self._run is None else self._run.remark
            words.show(remark or "", f"the newest of {len(self._runs)} first")
        elif chosen is None:
            words.show("Nothing is logged yet: drill a change with two presses, and it will stand here.")
        else:
            by_heart = ", by heart" if chosen.series.how is How.RECALLED else ""
            source = f"from {source_name(chosen.series.source)}{by_heart}"
            order = ORDERS[self._order][0]
            words.show(sentence(attempts), f"{source}; {order}; times taken in different ways are never pooled")

    def _attempts(self, summary: Summary) -> list[Attempt]:
        try:
            with reading(self.services.log_path) as history:
                return history.attempts(summary.series)
        except ChangeoverError:
            return []

    def _drill(self) -> None:
        chosen = self._chosen
        drill = None if chosen is None else drill_of("", (chosen.series.change,))
        if chosen is not None and drill is not None:
            self.post_message(Open("drill", drill=drill, mode=MODES.get(chosen.series.timing)))
