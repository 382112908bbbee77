"""A warm-up: planned anew until it begins, then gone through by the clock, each spell with its beat and logged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError, Problem
from trainer.practice.minutes import LONGEST, SHORTEST
from trainer.practice.record import WARM_UP, Run, Timing
from trainer.practice.warming import Place, Warming
from trainer.practice.warmup import Kind, plan
from trainer.ui.drilling.beating import Beating
from trainer.ui.warming.materials import days_off, drills, materials, runs_lately

if TYPE_CHECKING:
    from collections.abc import Callable

    from trainer.ui.drilling.scheduler import Cancel, Scheduler
    from trainer.ui.services import Services

_LEAST_LOGGED_S = 10.0
"""A spell that was left sooner is not logged."""


class WarmUp:
    """One warm-up. Every method that asks for something shows what came of it."""

    def __init__(
        self, services: Services, scheduler: Scheduler, ring: Callable[[], None], show: Callable[[], None]
    ) -> None:
        """Plan it; `ring` rings the terminal's bell, `show` is called when there is something new to show."""
        self._services, self._scheduler, self._show = services, scheduler, show
        self.minutes = services.settings.warmup_minutes
        """How long it is to be."""
        self.easy = False
        """True on a sore day."""
        self.cautious = services.kept.caution_shown != services.today
        """True where the caution is still to be shown today."""
        self.said = ""
        """What there is to say of the click; empty: nothing."""
        self.state = Warming(())
        """How far it is."""
        self.drills = drills()
        """The drills that it may be made from, by name."""
        self._runs, problems = runs_lately(services.log_path)
        self.problem: Problem | None = problems[0] if problems else None
        """Why the log was not read, or why there is no warm-up; None where neither is so."""
        self._beating = Beating(services, scheduler, ring, self._say, self._beat)
        self._place: Place | None = None
        self._began: float | None = None
        self._cancel: Cancel | None = None
        self._plan()

    @property
    def begun(self) -> bool:
        """True from the first press on."""
        return self.state.going or self.state.elapsed > 0

    @property
    def place(self) -> Place | None:
        """Where it is now; None once it is over."""
        return self.state.place(self._services.clock())

    @property
    def beat(self) -> int:
        """The number of the beat that was heard last in the spell at hand, from 0."""
        return max(self._beating.fallen - 1, 0)

    def take(self, minutes: int, *, easy: bool) -> None:
        """Take another length, or another kind of day, within the limits; without effect once it has begun."""
        if not self.begun:
            self.minutes, self.easy = min(max(minutes, SHORTEST), LONGEST), easy
            self._plan()
            self._show()

    def turn(self, at: float) -> None:
        """Begin, rest, or go on."""
        if self.state.going:
            self._log(self.state.place(at))
            self.state = self.state.rest(at)
            self._beating.end()
        else:
            if self.cautious:
                self.cautious = False
                self._services.keep_caution(self._services.today)
            self.state = self.state.go(at)
            self._enter(at)
        self._step()

    def skip(self, at: float) -> None:
        """Go on to the next part; without effect before it has begun."""
        if self.begun:
            self._log(self.state.place(at))
            self.state = self.state.skip(at)
            self._enter(at)
            self._step()

    def close(self) -> None:
        """Write down the spell that was left, and let go of the click."""
        self._wait_no_more()
        self._beating.close()
        self._log(self.place)

    def _plan(self) -> None:
        fit = materials(self.drills, self._services.hand, self._runs)
        off = days_off(self._runs, self._services.today)
        try:
            self.state = Warming(plan(fit, self.minutes, days_off=off, easy=self.easy))
        except ChangeoverError as error:
            self.state, self.problem = Warming(()), error.problems[0]

    def _step(self) -> None:
        """Come back when something else is due, and show what is."""
        self._wait_no_more()
        moment = self.state.next_moment(self._services.clock())
        if moment is not None:
            self._cancel = self._scheduler.at(moment, lambda: self._due(moment))
        self._show()

    def _due(self, moment: float) -> None:
        """Take what comes by itself: a second, the next part, the end."""
        last = self._place
        # A moment is taken as it was meant, however late the loop is.
        place = self._place = self.state.place(moment)
        if last is not None and last.part.kind is Kind.PLAY:
            self._services.playing = self._services.playing.at(moment)
        if place is None or last is None or place.index != last.index:
            self._log(last, whole=True)
            self._enter(moment)
        if place is None:
            self.state = self.state.rest(moment)
        self._step()

    def _enter(self, at: float) -> None:
        """Begin to count what is played of the part at hand, and its beat."""
        self._place, self.said = self.state.place(at), ""
        part = None if self._place is None or not self.state.going else self._place.part
        if part is None or part.material is None or part.tempo is None:
            self._began = None
            self._beating.end()
        else:
            self._began = at
            self._beating.begin(self.drills[part.material.name], part.tempo)

    def _beat(self) -> None:
        """Ring where nothing else sounds the beat, and show it."""
        self._beating.bell()
        self._show()

    def _say(self, text: str) -> None:
        """Say something of the click, until the next part."""
        self.said = text
        self._show()

    def _log(self, place: Place | None, *, whole: bool = False) -> None:
        """Write down what was played of a part up to `place`; all of it where it is over."""
        if place is None or self._began is None or place.part.material is None:
            return
        services = self._services
        if whole or services.clock() - self._began >= _LEAST_LOGGED_S:
            title = place.part.material.title
            began = services.to_wall(self._began)
            services.log.begin(Run(services.new_id(), title, began, Timing.BEAT, place.part.tempo, remark=WARM_UP))
        self._began = None

    def _wait_no_more(self) -> None:
        if self._cancel is not None:
            self._cancel()
            self._cancel = None
