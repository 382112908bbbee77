"""A warm-up, step by step: away from the guitar, then drills to a slow beat with rests; it is over by itself."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult

from trainer.errors import ChangeoverError, Problem, plain
from trainer.practice.record import WARM_UP, Run, Timing
from trainer.practice.warming import Held, Place, Warming, following, held
from trainer.practice.warmup import CAUTION, LONGEST_MIN, SHORTEST_MIN, Kind, Part, plan
from trainer.ui import warming
from trainer.ui.board.widget import Board
from trainer.ui.command import Call
from trainer.ui.command import Place as Where
from trainer.ui.drilling.beating import Beating
from trainer.ui.drilling.parts import Beats, Figure
from trainer.ui.drilling.passings import Passings
from trainer.ui.drilling.scheduler import Cancel
from trainer.ui.loop import LoopScheduler
from trainer.ui.screens.base import CommandScreen
from trainer.ui.services import Services
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.names import Names
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.readout import Readout
from trainer.ui.widgets.words import Words

OVER = "Done. Warm hands are no licence: stop when something hurts."
_ONLY_BEFORE = frozenset({"warm_shorter", "warm_longer", "warm_easy"})
"""Commands that mean something only before it begins."""
_ONLY_LATER = frozenset({"warm_next"})
"""Those that do only once it has begun."""
_LEAST_LOGGED_S = 10.0
"""A spell that was left sooner is not logged."""


class WarmupScreen(CommandScreen):
    """A warm-up of some minutes."""

    place = Where.WARMUP
    CSS_PATH = "warmup.tcss"
    heading = "Warm-up"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012  # Textual's own type for it is a list
    VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-tall")]  # noqa: RUF012  # as above

    def __init__(self, services: Services) -> None:
        """Plan nothing yet."""
        super().__init__(services)
        self._minutes = services.settings.warmup_minutes
        self._easy = False
        self._warming = Warming(())
        self._passings: dict[str, Passings] = {}
        self._place: Place | None = None
        self._began: float | None = None
        self._cancel: Cancel | None = None
        self._problem: Problem | None = None
        self._noted = ""
        self._cautious = services.kept.caution_shown != self.services.today

    def body(self) -> ComposeResult:
        """Lay out what is seen."""
        yield Names(fine=self.fine)
        yield Board(look=self.services.look)
        yield Readout(fine=self.fine)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Plan it."""
        self._scheduler = LoopScheduler(self.services.clock, self.fail)
        self._beating = Beating(self.services, self._scheduler, self.app.bell, self._note, self._beat)
        self._runs, problems = warming.runs_lately(self.services.log_path)
        self._problem = problems[0] if problems else None
        self._drills = warming.drills()
        self._passings = {name: Passings(drill, self.services.hand) for name, drill in self._drills.items()}
        self._plan()

    def on_unmount(self) -> None:
        """Write down the spell that was left, and let go of the click."""
        self._stop()
        self._beating.close()
        self._log(self._warming.place(self.services.clock()))

    def do_warm_go(self, call: Call) -> None:
        """Begin, rest, or go on; once it is over, leave."""
        if self._warming.place(call.at) is None:
            self.do_close(call)
            return
        if self._warming.going:
            self._log(self._warming.place(call.at))
            self._warming = self._warming.rest(call.at)
            self._beating.end()
        else:
            if self._cautious:
                self._cautious = False
                self.services.keep_caution(self.services.today)
            self._warming = self._warming.go(call.at)
            self._enter(call.at)
        self._step()

    @property
    def may_turn(self) -> bool:
        """False while it goes: the one key puts both hands down for a while."""
        return not self._warming.going

    def do_warm_next(self, call: Call) -> None:
        """Go on to the next part."""
        if self._begun:
            self._log(self._warming.place(call.at))
            self._warming = self._warming.skip(call.at)
            self._enter(call.at)
            self._step()

    def do_warm_shorter(self, _: Call) -> None:
        """Take a minute off."""
        self._set(max(self._minutes - 1, SHORTEST_MIN), self._easy)

    def do_warm_longer(self, _: Call) -> None:
        """Add a minute."""
        self._set(min(self._minutes + 1, LONGEST_MIN), self._easy)

    def do_warm_easy(self, _: Call) -> None:
        """Take it easy, or not."""
        self._set(self._minutes, not self._easy)

    @property
    def _begun(self) -> bool:
        return self._warming.going or self._warming.elapsed > 0

    def _set(self, minutes: int, easy: bool) -> None:
        if not self._begun:
            self._minutes, self._easy = minutes, easy
            self._plan()

    def _plan(self) -> None:
        fit = warming.materials(self._drills, self.services.hand, self._runs)
        off = warming.days_off(self._runs, self.services.today)
        try:
            self._warming = Warming(plan(fit, self._minutes, days_off=off, easy=self._easy))
        except ChangeoverError as error:
            self._warming, self._problem = Warming(()), error.problems[0]
        self._show()

    def _step(self) -> None:
        """Show what is due, and come back when something else is."""
        self._stop()
        now = self.services.clock()
        moment = self._warming.next_moment(now)
        if moment is not None:
            self._cancel = self._scheduler.at(moment, lambda: self._due(moment))
        self._show(now)

    def _due(self, moment: float) -> None:
        """Take what comes by itself: a second, the next part, the end."""
        last = self._place
        # A moment is taken as it was meant, however late the screen is.
        place = self._place = self._warming.place(moment)
        if last is not None and last.part.kind is Kind.PLAY:
            self.services.playing = self.services.playing.at(moment)
        if place is None or last is None or place.index != last.index:
            self._log(last, whole=True)
            self._enter(moment)
        if place is None:
            self._warming = self._warming.rest(moment)
        self._step()

    def _enter(self, at: float) -> None:
        """Begin to count what is played of the part at hand, and its beat."""
        self._place, self._noted = self._warming.place(at), ""
        part = None if self._place is None or not self._warming.going else self._place.part
        if part is None or part.material is None or part.tempo is None:
            self._began = None
            self._beating.end()
        else:
            self._began = at
            self._beating.begin(self._drills[part.material.name], part.tempo)

    def _beat(self) -> None:
        """Ring where nothing else sounds the beat, and show it."""
        self._beating.bell()
        self._show()

    def _note(self, text: str) -> None:
        """Say something of the click, until the next part."""
        self._noted = text
        self._show()

    def _log(self, place: Place | None, *, whole: bool = False) -> None:
        """Write down what was played of a part up to `place`; all of it where it is over."""
        if place is None or self._began is None or place.part.material is None:
            return
        now = self.services.clock()
        if whole or now - self._began >= _LEAST_LOGGED_S:
            began, title = self.services.to_wall(self._began), place.part.material.title
            run = Run(self.services.new_id(), title, began, Timing.BEAT, place.part.tempo, remark=WARM_UP)
            self.services.log.begin(run)
        self._began = None

    def _stop(self) -> None:
        if self._cancel is not None:
            self._cancel()
            self._cancel = None

    def _show(self, at: float | None = None) -> None:
        """Show the part at hand."""
        if not self.query(TopLine):  # while it is taken down
            return
        place = self._warming.place(self.services.clock() if at is None else at)
        left = f"{_clock(0.0 if place is None else place.left)} left"
        way = (f"{self._minutes} minutes", *(("sore day",) if self._easy else ()))
        self.query_one(TopLine).show(self.heading, left, way, self.signs.dot)
        if place is not None and self._begun:
            self._show_part(place)
        else:
            self._show_ends(over=place is None)
        self._prompt(place)

    def _show_ends(self, *, over: bool) -> None:
        """Show what is to be known before it begins, or that it is over."""
        self.set_class(True, "-away")
        if self._problem is not None and not self._warming.parts:
            self.query_one(Readout).show(Figure("", ""), Figure("", ""), ())
            self.query_one(Words).show("", str(self._problem), warn=True)
            return
        if over:
            self.query_one(Readout).show(Figure("warm-up", "DONE"), Figure("", ""), (), tone="go")
            self.query_one(Words).show(OVER)
            return
        parts = self._warming.parts
        spells = [part for part in parts if part.kind is Kind.PLAY]
        facts = (
            ((f"{len(spells)} spells",), (f"{spells[0].tempo:g} to {spells[-1].tempo:g} a minute",)) if spells else ()
        )
        self.query_one(Readout).show(Figure("minutes", f"{self._minutes}"), Figure("", ""), facts)
        caution = " ".join(CAUTION) if self._cautious else ""
        problem = "" if self._problem is None else str(self._problem)
        self.query_one(Words).show(_outline(parts), problem or caution, warn=True)

    def _show_part(self, place: Place) -> None:
        part = place.part
        drill = None if part.material is None else self._drills[part.material.name]
        seconds = Figure("seconds left", f"{max(round(place.part_left), 0)}")
        self.set_class(drill is None, "-away")
        after = following(self._warming.parts, place.index)
        then = "" if after is None else f"Then: {plain(after.words)}."
        if drill is None or part.material is None:
            caption = f"{part.kind}, {seconds.caption}"
            self.query_one(Readout).show(replace(seconds, caption=caption), Figure("", ""), ())
            self.query_one(Words).show(plain(part.words), then)
            return
        now = held(max(self._beating.fallen - 1, 0), drill)
        passing = self._passings[part.material.name][now.pair]
        self.query_one(Board).show(passing.change, drill.instrument)
        count = len(drill.steps)
        then_names = tuple(drill.steps[(now.pair[1] + ahead) % count].name for ahead in (1, 2))
        self.query_one(Names).show((passing.before.name, passing.after.name), then_names, "")
        facts = ((f"at {part.tempo:g} a minute",), (f"load {part.load:.1f}",))
        self.query_one(Readout).show(_beats(now), seconds, facts, tone="beat")
        mind = plain(part.material.caution)
        told = f"{mind or then} {self._noted}".strip()
        self.query_one(Words).show(f"{plain(part.words)}; {passing.words}", told, warn=bool(mind))

    def _prompt(self, place: Place | None) -> None:
        does = "begins."
        if place is None:
            does = "leaves."
        elif self._begun:
            does = "puts both hands down: the clock stops." if self._warming.going else "goes on."
        self.query_one(Prompt).show(self.first_key("warm_go"), does)
        self.show_own_keys()

    def show_own_keys(self) -> None:
        """Show the keys of this moment: what is set before it begins cannot be set later."""
        does = "rest" if self._warming.going else "go on" if self._begun else "begin"
        self.show_keys({"warm_go": does}, _ONLY_LATER if not self._begun else _ONLY_BEFORE)


def _beats(now: Held) -> Figure:
    return Figure("count-in" if now.counting else "beat", "", Beats(now.beats, now.beat, now.beats))


def _outline(parts: tuple[Part, ...]) -> str:
    """Return a warm-up in one sentence: how long away from the guitar, then what is played in order, each once."""
    away = sum(part.seconds for part in parts if part.kind is Kind.AWAY)
    titles = dict.fromkeys(plain(part.material.title) for part in parts if part.material is not None)
    return f"{away} seconds away from the guitar; then {'; '.join(titles)}; rests between"


def _clock(seconds: float) -> str:
    whole = max(round(seconds), 0)
    return f"{whole // 60}:{whole % 60:02}"
