"""The guitar beside line mode: everything that it was heard to play, and what is new of it in whole lines."""

from __future__ import annotations

from collections.abc import Iterator

from trainer.errors import Problem
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode, Phase
from trainer.practice.state import Session
from trainer.ui.drilling import heard
from trainer.ui.drilling.ears import Ears
from trainer.ui.drilling.listening import Hearing
from trainer.ui.lines.telling import of_port, stray


class GuitarLines:
    """What was heard, and what of the guitar has been said."""

    def __init__(self, drill: Drill) -> None:
        """Nothing was heard yet, and nothing said."""
        self.changes: list[HeardChange] = []
        """Every change that is over, in order, whether or not the session counted it; its moments are monotonic."""
        self.origin = 0.0
        """When the ear began that heard the first of them, monotonic seconds."""
        self._drill = drill
        self._strays: set[int] = set()
        self._hearing: Hearing | None = None
        self._missing: Problem | None = None
        self._checked = ""

    def hear(self, change: HeardChange, origin: float, session: Session) -> Iterator[str]:
        """Keep a change heard by an ear that began at `origin`; yield a line where it is none of the drill.

        The session does not count such a change; it is not logged, so its line waits for nothing.
        """
        if change.done:
            self.origin = self.origin if self.changes else origin
            self.changes.append(change)
        if not change.expected and session.phase is Phase.LISTENING and change.index not in self._strays:
            self._strays.add(change.index)
            yield stray(change, session, self._drill)

    def news(self, ears: Ears, session: Session, *, wanted: bool) -> Iterator[str]:
        """Yield what is new of port, trouble and check; why no guitar can be had only where one is `wanted`."""
        hearing = ears.hearing
        if hearing is not None:
            strike = self._drill.steps[session.holding].name if session.mode is Mode.HEARD else ""
            yield from of_port(self._hearing, hearing, strike)
            self._hearing = hearing
        if wanted and ears.missing is not None and ears.missing != self._missing:
            self._missing = ears.missing
            yield f"{ears.missing}."
        checked = heard.said(ears)
        if checked and checked != self._checked:
            yield checked
        self._checked = checked
