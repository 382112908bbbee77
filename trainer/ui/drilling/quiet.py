"""What is said besides a drill: a caution before a stretch, an easier fingering, a break that is due.

A remark is in sight between changes and never inside one. It goes by itself once it has been in sight for long enough,
all its moments together, so that who plays fast may read it in more than one rest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from trainer.errors import ChangeoverError
from trainer.practice import events
from trainer.practice.course import Pair
from trainer.practice.drill import Drill
from trainer.practice.load import stretches
from trainer.practice.phases import Phase
from trainer.practice.state import Session
from trainer.practice.warmup import CAUTION
from trainer.ui.command import key_text, keys_of
from trainer.ui.commands import BY_ID
from trainer.ui.drilling.passings import Passings
from trainer.ui.drilling.scheduler import Cancel, Scheduler

if TYPE_CHECKING:
    from trainer.practice.easier import Easier
    from trainer.ui.services import Services

LOOK_AFTER_S = 1.0
"""Easier fingerings are looked for so long after the drill has opened: its first frame and first press go before."""
EASIER_S, BREAK_S = 12.0, 20.0
"""How long each remark is in sight."""
GLANCE_S = 2.0
"""A remark in sight for less, when the screen was left, was not read: it comes again."""

_RESTS = frozenset({Phase.WALK, Phase.READY, Phase.HOLD, Phase.PAUSED, Phase.ENDED})
"""Phases in which there is time to read; a guitar that is listened to may be inside a change at any moment."""
_PLAYED = (events.Press, events.Leave, events.Landed, events.Missed, events.Heard, events.Beat)
"""Events that tell of hands at play."""


@dataclass(frozen=True, slots=True)
class _Remark:
    """Something to be read."""

    text: str
    lasts: float
    """Seconds in sight."""
    done: Callable[[], None]
    """Called once it has been read."""


class Quiet:
    """The quiet line of one drill under way; what was said, and how long was played, the whole sitting remembers."""

    def __init__(
        self,
        services: Services,
        drill: Drill,
        passings: Passings,
        scheduler: Scheduler,
        show: Callable[[], None],
        session: Callable[[], Session],
        blind: Callable[[], bool] = lambda: False,
        *,
        bench: bool = True,
    ) -> None:
        """`session` is asked for as it is; `show` is called when a remark comes or goes by itself.

        `blind` tells that shapes are asked from memory, which a remark on fingers would give away; `bench`: fingerings
        can be compared from here.
        """
        self._services, self._drill, self._passings = services, drill, passings
        self._scheduler, self._show, self._session, self._blind = scheduler, show, session, blind
        self._to_bench = bench
        self._today = services.today
        cautious = services.kept.caution_shown != self._today and stretches(drill, services.hand)
        self.caution = " ".join(CAUTION) if cautious else ""
        """What to mind before anything is played; empty where it was said today, or there is no stretch."""
        self._to_keep = False
        self._easier: dict[Pair, Easier] = {}
        self._remark: _Remark | None = None
        self._left = 0.0
        self._since: float | None = None
        self._cancel: Cancel | None = None
        self._looking: Cancel | None = None

    @property
    def text(self) -> str:
        """The remark that is in sight; empty where none is."""
        return "" if self._remark is None or self._since is None else self._remark.text

    def start(self) -> None:
        """Say what is due, and look for easier fingerings, aside and soon, where the player wants to know of them."""
        self._attend()
        self._show()
        if self._services.settings.easier:
            self._look_soon()

    def heed(self, event: events.Event) -> None:
        """Take in an event; the session is as it has become by it."""
        if isinstance(event, _PLAYED):
            self._services.playing = self._services.playing.at(event.at)
            self._accept()
        self._attend()

    def close(self) -> None:
        """Say nothing any more."""
        self._keep_caution()
        seen = self._remark is not None and self._remark.lasts - self._out_of_sight() >= GLANCE_S
        if seen and self._remark is not None:
            self._remark.done()
        self._remark = None
        if self._looking is not None:
            self._looking()

    def _accept(self) -> None:
        """Take it that the caution was read: the player has begun."""
        if self.caution:
            self.caution, self._to_keep = "", True
            self._scheduler.soon(self._keep_caution)

    def _keep_caution(self) -> None:
        """Write down that the caution was read today, once and not while a key waits."""
        if self._to_keep:
            self._to_keep = False
            self._services.keep_caution(self._today)

    def _look_soon(self) -> None:
        self._looking = self._scheduler.at(self._services.clock() + LOOK_AFTER_S, self._look)

    def _look(self) -> None:
        # The search has the interpreter for milliseconds at a time, by which keys would be stamped late.
        if self._session().phase not in _RESTS:
            self._look_soon()
            return
        drill, hand = self._drill, self._services.hand

        def work() -> tuple[Easier, ...]:
            # Numpy is paid for aside, too.
            from trainer.practice.easier import easier

            try:
                return easier(drill, hand)
            except ChangeoverError:  # what makes no passage is not compared
                return ()

        self._scheduler.aside(work, self._learn)

    def _learn(self, found: tuple[Easier, ...]) -> None:
        self._easier = {each.pair: each for each in found}
        self._attend()
        if self.text:
            self._show()

    def _attend(self) -> None:
        session = self._session()
        if session.phase not in _RESTS:
            self._out_of_sight()
            return
        if self._remark is None:
            self._remark = self._break() or self._hint(session)
            self._left = 0.0 if self._remark is None else self._remark.lasts
        if self._remark is not None and self._since is None:
            self._since = self._services.clock()
            self._cancel = self._scheduler.at(self._since + self._left, self._over)

    def _out_of_sight(self) -> float:
        """Take the remark out of sight; return how long it is still to be seen."""
        if self._since is not None:
            self._left -= self._services.clock() - self._since
            self._since = None
        if self._cancel is not None:
            self._cancel()
            self._cancel = None
        return self._left

    def _over(self) -> None:
        self._out_of_sight()
        if self._remark is not None:
            self._remark.done()
            self._remark = None
            self._show()

    def _break(self) -> _Remark | None:
        due = self._services.playing.due
        return _Remark(due, BREAK_S, self._given) if due else None

    def _given(self) -> None:
        self._services.playing = self._services.playing.told()

    def _hint(self, session: Session) -> _Remark | None:
        """Return what is to be said of the change at hand; once a run is over, of any change in it."""
        if self._blind():
            return None
        pairs = [leg.pair for leg in session.route] if session.phase is Phase.ENDED else [session.pair]
        for pair in pairs:
            told = f"easier {self._passings[pair].key}"
            if pair in self._easier and told not in self._services.told:
                text = f"Easier {self._easier[pair].words}{self._bench}."
                return _Remark(text, EASIER_S, partial(self._services.told.add, told))
        return None

    @property
    def _bench(self) -> str:
        """Where fingerings are compared, in brackets; empty where that is not to be had."""
        keys = keys_of(BY_ID["bench"], self._services.settings.keys) if self._to_bench else ()
        return f" ({key_text(keys[0])} compares)" if keys else ""
