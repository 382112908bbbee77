"""Progress in four tables, a key for each: changes, drills, weeks, runs; below, what is highlighted and its plot."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from rich.text import Text
from textual import events, work
from textual.app import ComposeResult
from textual.widgets import DataTable

from trainer.errors import ChangeoverError, Problem
from trainer.files.library import titled
from trainer.log.history import History, Summary, reading
from trainer.practice.plan import target_ms
from trainer.practice.record import Attempt, Run
from trainer.ui.command import Call, Place
from trainer.ui.messages import Open
from trainer.ui.offers import MODES
from trainer.ui.played import drill_of, name_of
from trainer.ui.progress.inbar import NOTHING, Fell, fell
from trainer.ui.progress.stretches import RUNS, Stretch, since_weeks, stretches
from trainer.ui.progress.views import MOST, Changes, Drills, Runs, Told, View, Weeks
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.plot import Plot
from trainer.ui.widgets.trends import Trends
from trainer.ui.widgets.words import Words

_T = TypeVar("_T")
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
    """What was played, and what became of it."""

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
        self._view: View = self._changes()

    def body(self) -> ComposeResult:
        """Lay out the table, the plot and the numbers."""
        yield DataTable(cursor_type="row", zebra_stripes=True)
        yield Plot()
        yield Trends(fine=self.fine)
        yield Words()

    def on_screen_resume(self) -> None:
        """Read the log anew: a change may have been played since."""
        try:
            with reading(self.services.log_path) as history:
                self._summaries = tuple(history.summaries())
                self._runs = tuple(history.runs(newest=MOST))
        except ChangeoverError as error:
            self._fail(error.problems[0])
            return
        self._look(self._changes())

    def on_resize(self, _: events.Resize) -> None:
        """Show as many columns as there is room for now."""
        self._show(keep=True)

    def on_data_table_row_highlighted(self, _: DataTable.RowHighlighted) -> None:
        """Show the plot and the numbers of this row."""
        self._tell()

    def on_data_table_row_selected(self, _: DataTable.RowSelected) -> None:
        """Drill what was chosen with enter or a click."""
        self._drill()

    def do_drill_change(self, _: Call) -> None:
        """Drill the change or the drill that is highlighted."""
        self._drill()

    def do_hand(self, _: Call) -> None:
        """Show what costs the player's hand most."""
        self.post_message(Open("hand"))

    def do_sort(self, _: Call) -> None:
        """Order the changes another way."""
        self._order = (self._order + 1) % len(ORDERS)
        self._look(self._changes())

    def do_changes(self, _: Call) -> None:
        """Show change by change."""
        self._look(self._changes())

    def do_drills(self, _: Call) -> None:
        """Show drill by drill."""
        self._read_drills()

    def do_weeks(self, _: Call) -> None:
        """Show week by week."""
        self._read_weeks()

    def do_runs(self, _: Call) -> None:
        """Show the last runs, or the changes again."""
        self._look(self._changes() if isinstance(self._view, Runs) else self._of_runs())

    def _changes(self) -> Changes:
        order, key = ORDERS[self._order]
        tempo = self.services.settings.goal_tempo
        ordered = sorted(self._summaries, key=key)
        return Changes(ordered, self._attempts, goal_tempo=tempo, order=order, fine=self.fine)

    @work(thread=True, exclusive=True, group="view")
    def _read_drills(self) -> None:
        """Read which drills were played, away from the screen."""
        try:
            with reading(self.services.log_path) as history:
                view = Drills(history.drills_played(), self._days, fine=self.fine)
        except ChangeoverError as error:
            self.from_thread(self._fail, error.problems[0])
        else:
            self.from_thread(self._look, view)

    @work(thread=True, exclusive=True, group="view")
    def _read_weeks(self) -> None:
        """Read the weeks and what stands out, away from the screen."""
        from trainer.log.highlights import highlights
        from trainer.log.looks import looks
        from trainer.ui.progress.highlighted import sentences, since_recent

        today, goal_ms = self.services.today, target_ms(self.services.settings.goal_tempo)
        try:
            with reading(self.services.log_path) as history:
                weeks = stretches(history.weeks(since_weeks(today)))
                found = highlights(history, looks(history, today, goal_ms), since_recent(self.services.wall()))
        except ChangeoverError as error:
            self.from_thread(self._fail, error.problems[0])
        else:
            self.from_thread(self._look, Weeks(weeks, sentences(found), fine=self.fine))

    def _look(self, view: View) -> None:
        self._view = view
        self._show()

    def _show(self, *, keep: bool = False) -> None:
        shown: DataTable[Text] = self.query_one(DataTable)
        row = shown.cursor_row
        shown.clear(columns=True)
        heads, rows = self._view.table(self.size.width - _SCROLLBAR)
        shown.add_columns(*map(Text, heads))
        for cells in rows:
            shown.add_row(*map(Text, cells))
        shown.move_cursor(row=row if keep else 0)
        self._tell()

    def _tell(self) -> None:
        told: Told = self._view.tell(self.query_one(DataTable).cursor_row)
        self.query_one(Plot).show(told.draw, told.above)
        self.query_one(Trends).show(told.lines)
        self.query_one(TopLine).show(self.heading, told.subject, (self._view.name,), self.signs.dot)
        self.query_one(Words).show(told.text, told.message)
        self.set_class(isinstance(self._view, Runs) and told.draw is None, "-runs")
        self.set_class(isinstance(self._view, Weeks), "-weeks")
        self.set_class(bool(told.lines) and told.draw is None, "-untimed")

    def _fail(self, problem: Problem) -> None:
        self.query_one(Words).show("", str(problem), warn=True)

    def _attempts(self, summary: Summary) -> list[Attempt]:
        return self._answered(lambda history: history.attempts(summary.series), [])

    def _of_runs(self) -> Runs:
        return Runs(self._runs, self._fell, fine=self.fine)

    def _fell(self, run: Run) -> Fell:
        return self._answered(lambda history: fell(history, titled, run, self._runs), NOTHING)

    def _days(self, title: str) -> list[Stretch]:
        return self._answered(lambda history: stretches(history.days_of_drill(title, newest=RUNS)), [])

    def _answered(self, ask: Callable[[History], _T], nothing: _T) -> _T:
        """Return what the log answers; `nothing` where it cannot be read, which the screen has said as it came up."""
        try:
            with reading(self.services.log_path) as history:
                return ask(history)
        except ChangeoverError:
            return nothing

    def _drill(self) -> None:
        row = self.query_one(DataTable).cursor_row
        if isinstance(self._view, Changes) and 0 <= row < len(self._view.summaries):
            series = self._view.summaries[row].series
            drill = drill_of("", (series.change,))
            if drill is not None:
                self.post_message(Open("drill", drill=drill, mode=MODES.get(series.timing)))
        elif isinstance(self._view, Drills) and 0 <= row < len(self._view.drills):
            drill = titled(self._view.drills[row].title)
            if drill is not None:
                self.post_message(Open("drill", drill=drill))
