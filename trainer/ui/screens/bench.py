"""The fingering bench: ways to finger a drill side by side, change by change; set fingers, take a way over, undo."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.events import Resize
from textual.widgets import Static

from trainer.errors import ChangeoverError
from trainer.practice.drill import Drill
from trainer.ui.board.widget import Board
from trainer.ui.command import Call, Place, key_text
from trainer.ui.drilling.passings import Passings
from trainer.ui.fingering import words
from trainer.ui.fingering.bench import Asked, Bench
from trainer.ui.fingering.schools import SCHOOLS
from trainer.ui.fingering.signs import ASCII, FINE, Signs
from trainer.ui.fingering.ways import Column, Outcome, sought
from trainer.ui.keeping import keep_and_tell
from trainer.ui.loop import LoopScheduler
from trainer.ui.messages import Open
from trainer.ui.screens.base import HEIGHTS, CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.fingerings import Shapes, Ways
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words
from trainer.ui.working_out import WorkingOut

_TICK_S = 0.25
"""How often it is said how long the search takes."""


class BenchScreen(CommandScreen):
    """One drill's fingerings."""

    place = Place.BENCH
    CSS_PATH = "bench.tcss"
    heading = "Fingering bench"
    VERTICAL_BREAKPOINTS = HEIGHTS

    def __init__(self, services: Services, drill: Drill) -> None:
        """Look for nothing yet."""
        super().__init__(services)
        self._bench: Bench | None = None
        self._dead = ""
        try:
            self._bench = Bench(drill, Asked(next(iter(SCHOOLS))))
        except ChangeoverError as error:
            self._dead = f"{drill.title}: {error.problems[0].what}"
        self._outcome: Outcome | None = None
        self._known: dict[Asked, Outcome] = {}
        self._passings: dict[int, Passings] = {}
        self._working_out: WorkingOut[Bench, Outcome] | None = None
        self._said = ""

    def body(self) -> ComposeResult:
        """Lay out what is asked, the passage, the board, the ways and the reasons."""
        yield Static(id="wishes", markup=False)
        yield Shapes(self._signs)
        yield Board(look=self.services.look)
        yield Ways(self._signs)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Look for ways, away from the screen."""
        scheduler = LoopScheduler(self.services.clock, self.fail)
        hand, log = self.services.hand, self.services.log_path

        def work(wish: Bench) -> Outcome:
            return sought(wish.drill, wish.asked, hand, lambda: SCHOOLS[wish.asked.school].weigh(log, hand))

        self._working_out = WorkingOut(scheduler, self.services.clock, work, self._have_found)
        self.set_interval(_TICK_S, self._prompt)
        if self._bench is not None:
            self._working_out.ask(self._bench)
        self._show()

    def on_resize(self, _: Resize) -> None:
        """Show what there is room for now: a low window tells some of it elsewhere."""
        if self._working_out is not None:
            self.call_after_refresh(self._show)

    def on_unmount(self) -> None:
        """Wait for nothing any more."""
        if self._working_out is not None:
            self._working_out.leave()

    def on_shapes_chosen(self, message: Shapes.Chosen) -> None:
        """Look at the shape that was clicked."""
        self._turn(lambda bench: bench.at_shape(message.at))

    def on_ways_chosen(self, message: Ways.Chosen) -> None:
        """Look at the way that was clicked."""
        self._turn(lambda bench: bench.looking(message.column))

    def do_bench_next(self, _: Call) -> None:
        """On to the next shape."""
        self._turn(lambda bench: bench.at_shape(bench.at + 1))

    def do_bench_before(self, _: Call) -> None:
        """Back to the shape before."""
        self._turn(lambda bench: bench.at_shape(bench.at - 1))

    def do_bench_apart(self, _: Call) -> None:
        """On to the next shape that the ways take differently, round the end."""
        outcome = self._outcome
        if outcome is None or self._bench is None:
            return
        here = self._bench.at
        apart = sorted(outcome.apart, key=lambda at: (at <= here, at))
        if apart:
            self._turn(lambda bench: bench.at_shape(apart[0]))
        else:
            self._say("The ways take every shape alike.")

    def do_bench_way(self, call: Call) -> None:
        """Look at the way with this number."""
        self._look_at(int(call.key) - 1)

    def do_bench_up(self, _: Call) -> None:
        """Look at the way before."""
        self._turn(lambda bench: bench.looking(max(bench.column - 1, 0)))

    def do_bench_down(self, _: Call) -> None:
        """Look at the next way."""
        if self._bench is not None:
            self._look_at(self._bench.column + 1)

    def do_bench_note(self, _: Call) -> None:
        """Look at the shape's next note, or at all of it."""
        self._turn(Bench.next_note)

    def do_bench_pin(self, _: Call) -> None:
        """Set what is looked at, or let it go."""
        self._with_way(lambda bench, way: bench.pin(way.way.notes))

    def do_bench_finger(self, _: Call) -> None:
        """Set another finger."""
        if self._bench is not None and self._bench.cursor is None:
            self._say(f"{self.first_key('bench_note')} chooses a note of the shape first.")
        else:
            self._with_way(lambda bench, way: bench.other_finger(way.way.notes))

    def do_bench_undo(self, _: Call) -> None:
        """Ask for what was asked before."""
        if self._bench is not None and not self._bench.past:
            self._say("Nothing to undo.")
        else:
            self._turn(Bench.undo)

    def do_bench_school(self, _: Call) -> None:
        """Weigh as others do."""
        self._turn(lambda bench: bench.other_school(tuple(SCHOOLS)))

    def do_bench_aim(self, _: Call) -> None:
        """Make something else easy."""
        self._turn(Bench.other_aim)

    def do_bench_keep(self, _: Call) -> None:
        """Let other strings be taken, or none."""
        self._turn(Bench.other_keep)

    def do_bench_drill(self, _: Call) -> None:
        """Take the way that is looked at over, and drill it."""
        way = self._answered()
        if way is not None:
            self._turn(lambda bench: bench if way.drill is bench.drill else bench.take_over(way.way.notes))
            self.post_message(Open("drill", drill=way.drill))

    def do_bench_save(self, _: Call) -> None:
        """Keep the way that is looked at as a drill file."""
        way = self._answered()
        if way is not None:
            self._say(keep_and_tell(way.drill))

    def do_close(self, call: Call) -> None:
        """Stop looking and go back to what was asked before, else leave."""
        if self._waited is not None and self._bench is not None and self._bench.past:
            self._turn(Bench.undo)
        else:
            super().do_close(call)

    @property
    def _signs(self) -> Signs:
        return FINE if self.fine else ASCII

    @property
    def _first_keys(self) -> dict[str, str]:
        """The first key of each command, by the command."""
        return {command.id: key_text(key).upper() for key, command in reversed(list(self.keys.items()))}

    @property
    def _way(self) -> Column | None:
        """The way that is looked at, as long as it answers what is asked."""
        bench, outcome = self._bench, self._outcome
        if bench is None or outcome is None or outcome.asked != bench.asked:
            return None
        return outcome.looked_at(bench.column)

    @property
    def _waited(self) -> float | None:
        return None if self._working_out is None else self._working_out.waited

    def _with_way(self, change: Callable[[Bench, Column], Bench]) -> None:
        way = self._answered()
        if way is not None:
            self._turn(lambda bench: change(bench, way))

    def _answered(self) -> Column | None:
        """Return the way that is looked at; where it is still looked for, say so."""
        if self._waited is not None:
            self._say("Not yet: the ways are being looked for.")
        return self._way

    def _look_at(self, column: int) -> None:
        if self._outcome is not None and column < len(self._outcome.columns):
            self._turn(lambda bench: bench.looking(column))

    def _say(self, text: str) -> None:
        self._said = text
        self._show()

    def _turn(self, change: Callable[[Bench], Bench]) -> None:
        """Take on what `change` makes of the bench, and look for ways where something else is asked."""
        if self._bench is None or self._working_out is None:
            return
        before, self._bench = self._bench, change(self._bench)
        self._said = ""
        if self._bench.asked != before.asked:
            known = self._known.get(self._bench.asked)
            if known is None:
                self._working_out.ask(self._bench)
            else:
                self._working_out.leave()
                self._have_found(known)
        self._show()

    def _have_found(self, outcome: Outcome) -> None:
        if not self.is_attached or self._bench is None:
            return
        self._known[outcome.asked] = self._outcome = outcome
        self._said = outcome.said
        column = outcome.set if outcome.set is not None and self._bench.follows else self._bench.column
        self._bench = self._bench.looking(max(min(column, len(outcome.columns) - 1), 0))
        if outcome.stuck is not None and not outcome.columns:
            self._bench = self._bench.at_shape(outcome.stuck)
        self._passings.clear()
        self._show()

    def _show(self) -> None:
        bench, outcome = self._bench, self._outcome
        if bench is None:
            self.query_one(Words).show("", self._dead, warn=True)
            self._prompt()
            return
        # A low window has no row for what is asked; whose weights count is to be seen even there.
        after = (SCHOOLS[bench.asked.school].says,) if self.has_class("-low") else ()
        along = f"shape {bench.at + 1} of {len(bench.heads)}"
        self.query_one(TopLine).show(bench.drill.title, along, after, self._signs.dot)
        self.query_one("#wishes", Static).update(words.wishes(bench, self._signs, self._first_keys))
        self.query_one(Shapes).show(bench, outcome)
        self.query_one(Ways).show(bench, outcome)
        if outcome is not None:
            self._show_board(bench, outcome)
            warn = bool(outcome.problem) and not self._said
            # What came with the ways is said at once, and afterwards where there is room beside the reasons.
            told, hint = self._said or outcome.problem, outcome.said
            self.query_one(Words).show(words.reasons(bench, outcome), told, warn=warn, hint=hint)
        self._prompt()

    def _show_board(self, bench: Bench, outcome: Outcome) -> None:
        """Draw the change into the shape as the way that is looked at fingers it, or as it came."""
        way = outcome.looked_at(bench.column)
        drill = bench.drill if way is None else way.drill
        passings = self._passings.setdefault(bench.column, Passings(drill, self.services.hand))
        passing = passings[max(bench.at - 1, 0), bench.at]
        self.query_one(Board).show(passing.change, drill.instrument)

    def _prompt(self) -> None:
        bench, problem = self._bench, "" if self._outcome is None else self._outcome.problem
        told = words.invitation(bench, problem, self._first_keys, self._waited, some=self._way is not None)
        self.query_one(Prompt).show(*told)
