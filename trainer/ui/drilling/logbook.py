"""Writes down what a session says is to be logged, and knows what of it has reached the log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Protocol

from trainer.practice.drill import Drill
from trainer.practice.effects import MarkClean, Measured, RunEnded, RunReopened, Summary, Timed, Unlog
from trainer.practice.measures import Measures, measures_of
from trainer.practice.record import Attempt, How, Run, Series, Timing
from trainer.ui.drilling.passings import Passings
from trainer.ui.drilling.standing import Standings

if TYPE_CHECKING:
    from pathlib import Path

    from trainer.errors import Problem
    from trainer.log.writer import Receipt


_COUNTED = frozenset({Timing.BEAT, Timing.HEARD})
"""Ways of timing in which a run knows of changes that did not land, and no attempt tells of them."""


class Writing(Protocol):
    """The part of `trainer.log.writer.Log` that a logbook uses."""

    path: Path
    """Where the log lies."""

    def begin(self, run: Run) -> Receipt:
        """Write down that a run has begun."""

    def add(self, attempt: Attempt) -> Receipt:
        """Write down a landed change."""

    def mark(self, attempt: str, *, clean: bool | None) -> Receipt:
        """Write down what was said of a change."""

    def measure(self, attempt: str, measures: Measures, clean: bool | None) -> Receipt:
        """Write down what was measured of a change that was heard, and whether it was clean."""

    def take_back(self, attempt: str) -> Receipt:
        """Remove a change."""

    def finish(
        self, run: str, *, asked: int | None = None, landed: int | None = None, remark: str | None = None
    ) -> Receipt:
        """Write down how a run ended."""


@dataclass(slots=True)
class _Opened:
    """A run that stands in the log."""

    id: str
    how: How
    summary: Summary | None = None
    remark: str | None = None


@dataclass
class Logbook:
    """The entries of one session in the log."""

    log: Writing
    """Where they are written."""
    drill: Drill
    """What is practised."""
    passings: Passings
    """Its changes."""
    new_id: Callable[[], str]
    """Gives a new unique id."""
    wall: Callable[[float], float]
    """Turns monotonic seconds into seconds since 1970-01-01 UTC."""
    answered: Callable[[], None] = field(default=lambda: None)
    """Called, from any thread, whenever an entry has reached the log or has failed to."""
    source: str = "keys"
    """Where the presses come from now."""
    heard_from: tuple[str, str] = ("", "")
    """The port that is listened to now, and which calibration is used."""
    how: Callable[[tuple[int, int], int | None], How] = field(default=lambda _, __: How.READ)
    """Tells where the shape a change leads to comes from: at the try of this number, or, for None, next."""
    how_of_run: Callable[[int], How] = field(default=lambda _: How.READ)
    """The same of a run as a whole, which is under way or has just ended."""
    standings: Standings = field(default_factory=Standings)
    """How each change stands."""
    waiting: set[Receipt] = field(default_factory=set)
    """Landed changes that have not yet reached the log."""
    problem: Problem | None = None
    """Why the newest entry was not kept, or waits for another program; None again as soon as one is kept."""
    _runs: dict[int, _Opened] = field(default_factory=dict)
    _attempts: dict[int, Attempt] = field(default_factory=dict)

    def series(
        self, pair: tuple[int, int], timing: Timing, tempo: float | None = None, number: int | None = None
    ) -> Series:
        """Return what times of this change are compared with, from where they come now or came at try `number`."""
        passing = self.passings[pair]
        source = self.heard_from[0] if timing is Timing.HEARD else self.source
        return Series(passing.key, timing, source, tempo, passing.after.texture, self.how(pair, number))

    def how_was(self, run: int) -> How:
        """Return how a run of this session was played; one that is not in the log yet as it would be now."""
        opened = self._runs.get(run)
        return self.how_of_run(run) if opened is None else opened.how

    def turn_page(self) -> None:
        """Begin a new session on the same drill; it counts its runs and changes anew."""
        self._runs.clear()
        self._attempts.clear()

    def timed(self, effect: Timed, began: float) -> None:
        """Write down a landed change of a run that began at `began`, monotonic seconds."""
        series = self.series(effect.pair, effect.timing, effect.tempo, effect.number)
        attempt = Attempt(
            id=self.new_id(),
            run=self._run(effect.run, _run_timing(effect), began, effect.tempo).id,
            change=series.change,
            at=self.wall(effect.at),
            timing=effect.timing,
            source=series.source,
            change_ms=effect.change_ms,
            clean=effect.clean,
            tempo=series.tempo,
            texture=series.texture,
            how=series.how,
            measures=None if effect.heard is None else measures_of(effect.heard, *self.heard_from),
        )
        self._attempts[effect.number] = attempt
        self.standings.add(attempt)
        self._hand_over(self.log.add(attempt), landed=True)

    def unlog(self, effect: Unlog) -> None:
        """Remove a change that did not land after all."""
        attempt = self._attempts.pop(effect.number)
        self.standings.take_back(attempt)
        self._hand_over(self.log.take_back(attempt.id))

    def mark(self, effect: MarkClean) -> None:
        """Write down what the player said of a change."""
        attempt = self._attempts[effect.number]
        self.standings.mark(attempt, effect.clean)
        self._hand_over(self.log.mark(attempt.id, clean=effect.clean))

    def measured(self, effect: Measured) -> None:
        """Write down what else was heard of a change that is over."""
        attempt = self._attempts[effect.number]
        measures = measures_of(effect.heard, *self.heard_from)
        newer = replace(attempt, change_ms=measures.change_ms, clean=effect.clean, measures=measures)
        self._attempts[effect.number] = newer
        self.standings.add(newer)
        self._hand_over(self.log.measure(attempt.id, measures, effect.clean))

    def ended(self, effect: RunEnded) -> None:
        """Write down how a run ended."""
        summary = effect.summary
        opened = self._run(summary.run, summary.timing, summary.began, summary.tempo)
        opened.summary = summary
        self._finish(opened)

    def reopened(self, effect: RunReopened) -> None:
        """Take back how a run ended."""
        if (opened := self._runs.get(effect.run)) is not None:
            opened.summary = None
            self._finish(opened)

    def remark(self, run: int, text: str) -> bool:
        """Leave a remark on the newest run up to `run` that is in the log, an empty one removes it.

        Return False where there is none.
        """
        number = max((number for number in self._runs if number <= run), default=None)
        if number is None:
            return False
        opened = self._runs[number]
        opened.remark = text or None
        self._finish(opened)
        return True

    def _run(self, number: int, timing: Timing, began: float, tempo: float | None = None) -> _Opened:
        opened = self._runs.get(number)
        if opened is None:
            opened = self._runs[number] = _Opened(self.new_id(), self.how_of_run(number))
            run = Run(opened.id, self.drill.title, self.wall(began), timing, tempo, how=opened.how)
            self._hand_over(self.log.begin(run))
        return opened

    def _finish(self, opened: _Opened) -> None:
        """Write down a run's end as it is known now; how many landed is logged where nothing else tells."""
        told = opened.summary if opened.summary is not None and opened.summary.timing in _COUNTED else None
        asked, landed = (None, None) if told is None else (told.asked, told.landed)
        self._hand_over(self.log.finish(opened.id, asked=asked, landed=landed, remark=opened.remark))

    def _hand_over(self, receipt: Receipt, *, landed: bool = False) -> None:
        if landed:
            self.waiting.add(receipt)
        receipt.add_done_callback(self._note)

    def _note(self, receipt: Receipt) -> None:
        """Take note of an answered receipt; on the writer's thread, or at once where it is answered already."""
        self.problem = receipt.result()
        self.waiting.discard(receipt)
        self.answered()


def _run_timing(effect: Timed) -> Timing:
    """Return how the run of a change is timed: one to the beat is, whatever else was heard in it."""
    return effect.timing if effect.tempo is None else Timing.BEAT
