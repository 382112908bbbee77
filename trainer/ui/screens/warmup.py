"""A warm-up, step by step: away from the guitar, then drills to a slow beat with rests; it is over by itself."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult

from trainer.errors import plain
from trainer.practice.warming import Held, Place, following, held
from trainer.practice.warmup import CAUTION, Kind, Part
from trainer.ui.board.widget import Board
from trainer.ui.command import Call
from trainer.ui.command import Place as Where
from trainer.ui.drilling.parts import Beats, Figure
from trainer.ui.drilling.passings import Passings
from trainer.ui.loop import LoopScheduler
from trainer.ui.screens.base import HEIGHTS, WIDTHS, CommandScreen
from trainer.ui.services import Services
from trainer.ui.warming.materials import OVER
from trainer.ui.warming.under_way import WarmUp
from trainer.ui.widgets.lines import TopLine
from trainer.ui.widgets.names import Names
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.readout import Readout
from trainer.ui.widgets.words import Words

_ONLY_BEFORE = frozenset({"warm_shorter", "warm_longer", "warm_easy"})
"""Commands that mean something only before it begins."""
_ONLY_LATER = frozenset({"warm_next"})
"""Those that do only once it has begun."""


class WarmupScreen(CommandScreen):
    """A warm-up of some minutes."""

    place = Where.WARMUP
    CSS_PATH = "warmup.tcss"
    heading = "Warm-up"
    HORIZONTAL_BREAKPOINTS = WIDTHS
    VERTICAL_BREAKPOINTS = HEIGHTS

    def __init__(self, services: Services) -> None:
        """Plan nothing yet."""
        super().__init__(services)
        self._under_way: WarmUp | None = None
        self._passings: dict[str, Passings] = {}

    def body(self) -> ComposeResult:
        """Lay out what is seen."""
        yield Names(fine=self.fine)
        yield Board(look=self.services.look)
        yield Readout(fine=self.fine)
        yield Words()
        yield Prompt()

    def on_mount(self) -> None:
        """Plan it."""
        scheduler = LoopScheduler(self.services.clock, self.fail)
        self._under_way = WarmUp(self.services, scheduler, self.app.bell, self._show)
        self._passings = {name: Passings(drill, self.services.hand) for name, drill in self.warm_up.drills.items()}
        self._show()

    def on_unmount(self) -> None:
        """Write down the spell that was left, and let go of the click."""
        self.warm_up.close()

    @property
    def warm_up(self) -> WarmUp:
        """What stands behind the screen, as soon as it is mounted."""
        assert self._under_way is not None  # noqa: S101  # nothing is asked of a screen before it is mounted
        return self._under_way

    @property
    def may_turn(self) -> bool:
        """False while it goes: the one key puts both hands down for a while."""
        return not self.warm_up.state.going

    def do_warm_go(self, call: Call) -> None:
        """Begin, rest, or go on; once it is over, leave."""
        if self.warm_up.state.place(call.at) is None:
            self.do_close(call)
        else:
            self.warm_up.turn(call.at)

    def do_warm_next(self, call: Call) -> None:
        """Go on to the next part."""
        self.warm_up.skip(call.at)

    def do_warm_shorter(self, _: Call) -> None:
        """Take a minute off."""
        self.warm_up.take(self.warm_up.minutes - 1, easy=self.warm_up.easy)

    def do_warm_longer(self, _: Call) -> None:
        """Add a minute."""
        self.warm_up.take(self.warm_up.minutes + 1, easy=self.warm_up.easy)

    def do_warm_easy(self, _: Call) -> None:
        """Take it easy, or not."""
        self.warm_up.take(self.warm_up.minutes, easy=not self.warm_up.easy)

    def _show(self) -> None:
        """Show the part at hand."""
        if self._under_way is None or not self.query(TopLine):  # while it is taken down
            return
        warm_up = self._under_way
        place = warm_up.place
        left = f"{_clock(0.0 if place is None else place.left)} left"
        way = (f"{warm_up.minutes} minutes", *(("sore day",) if warm_up.easy else ()))
        self.query_one(TopLine).show(self.heading, left, way, self.signs.dot)
        if place is not None and warm_up.begun:
            self._show_part(place)
        else:
            self._show_ends(over=place is None)
        self._prompt(place)

    def _show_ends(self, *, over: bool) -> None:
        """Show what is to be known before it begins, or that it is over."""
        self.set_class(True, "-away")
        warm_up, parts = self.warm_up, self.warm_up.state.parts
        problem = "" if warm_up.problem is None else str(warm_up.problem)
        if problem and not parts:
            self.query_one(Readout).show(Figure("", ""), Figure("", ""), ())
            self.query_one(Words).show("", problem, warn=True)
            return
        if over:
            self.query_one(Readout).show(Figure("warm-up", "DONE"), Figure("", ""), (), tone="go")
            self.query_one(Words).show(OVER)
            return
        spells = [part for part in parts if part.kind is Kind.PLAY]
        facts = (
            ((f"{len(spells)} spells",), (f"{spells[0].tempo:g} to {spells[-1].tempo:g} a minute",)) if spells else ()
        )
        self.query_one(Readout).show(Figure("minutes", f"{warm_up.minutes}"), Figure("", ""), facts)
        caution = " ".join(CAUTION) if warm_up.cautious else ""
        self.query_one(Words).show(_outline(parts), problem or caution, warn=True)

    def _show_part(self, place: Place) -> None:
        warm_up, part = self.warm_up, place.part
        drill = None if part.material is None else warm_up.drills[part.material.name]
        seconds = Figure("seconds left", f"{max(round(place.part_left), 0)}")
        self.set_class(drill is None, "-away")
        after = following(warm_up.state.parts, place.index)
        then = "" if after is None else f"Then: {plain(after.words)}."
        if drill is None or part.material is None:
            caption = f"{part.kind}, {seconds.caption}"
            self.query_one(Readout).show(replace(seconds, caption=caption), Figure("", ""), ())
            self.query_one(Words).show(plain(part.words), then)
            return
        now = held(warm_up.beat, drill)
        passing = self._passings[part.material.name][now.pair]
        self.query_one(Board).show(passing.change, drill.instrument)
        count = len(drill.steps)
        then_names = tuple(drill.steps[(now.pair[1] + ahead) % count].name for ahead in (1, 2))
        self.query_one(Names).show((passing.before.name, passing.after.name), then_names, "")
        facts = ((f"at {part.tempo:g} a minute",), (f"load {part.load:.1f}",))
        self.query_one(Readout).show(_beats(now), seconds, facts, tone="beat")
        mind = plain(part.material.caution)
        told = f"{mind or then} {warm_up.said}".strip()
        self.query_one(Words).show(f"{plain(part.words)}; {passing.words}", told, warn=bool(mind))

    def _prompt(self, place: Place | None) -> None:
        does = "begins."
        if place is None:
            does = "leaves."
        elif self.warm_up.begun:
            does = "puts both hands down: the clock stops." if self.warm_up.state.going else "goes on."
        self.query_one(Prompt).show(self.first_key("warm_go"), does)
        self.show_own_keys()

    def show_own_keys(self) -> None:
        """Show the keys of this moment: what is set before it begins cannot be set later."""
        if self._under_way is not None:
            begun = self._under_way.begun
            does = "rest" if self._under_way.state.going else "go on" if begun else "begin"
            self.show_keys({"warm_go": does}, _ONLY_BEFORE if begun else _ONLY_LATER)


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
