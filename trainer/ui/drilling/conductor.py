"""Conducts practice on one drill: events in, effects carried out, and what may be shown of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from trainer.errors import ChangeoverError, Problem
from trainer.practice import effects, events
from trainer.practice.clock import Interruption
from trainer.practice.course import Course
from trainer.practice.effects import Note
from trainer.practice.ladder import Target
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode, Phase
from trainer.practice.runs import say
from trainer.practice.session import advance, begin
from trainer.practice.state import Session, Settings
from trainer.ui.drilling.guard import Guard
from trainer.ui.drilling.joining import Joining
from trainer.ui.drilling.listening import Listening
from trainer.ui.drilling.logbook import Logbook
from trainer.ui.drilling.memory import ByHeart
from trainer.ui.drilling.pacing import Pacing
from trainer.ui.drilling.ports import Ports
from trainer.ui.drilling.quiet import Quiet
from trainer.ui.drilling.scheduler import Cancel
from trainer.ui.drilling.standing import Past, read_past

PATIENCE_S = 0.01
"""A landed change is shown once it is in the log, or after this long, then with the word that it is not saved yet."""

_GUARDED = frozenset({Phase.WAIT, Phase.CHANGING, Phase.COUNT_IN, Phase.PLAYING, Phase.LISTENING})
"""Phases in which a clock that was disturbed spoils something."""
_OF_THE_HAND = (events.Press, events.Leave, events.Landed, events.Missed, events.Heard)
"""Events that belong to the change in flight, and go with it where it is void."""


class Conductor:
    """Holds the session. Feed it through `send`; show `shown`, never what is not yet written down."""

    def __init__(
        self,
        course: Course,
        mode: Mode,
        logbook: Logbook,
        ports: Ports,
        tempo: float | None = None,
        settings: Settings | None = None,
        by_heart: ByHeart | None = None,
    ) -> None:
        """Stand before the first change."""
        self.logbook = logbook
        self.session: Session = begin(course, mode, tempo, settings)
        """As it is."""
        self.shown: Session = self.session
        """As it may be shown: every landing in it is in the log, or has been waited for long enough."""
        self._told: Note | None = None  # what `say` said last: what the session says has its own time
        self._ports = ports
        self._pacing = Pacing(ports, self.send)
        self._guard = Guard(ports.scheduler, ports.clocks, self._void)
        self._patience: Cancel | None = None
        self.listening: Listening | None = None
        """The guitar beside it; None where none is listened to."""
        self.by_heart = by_heart
        """What is played from memory; None where that is not to be had."""
        if by_heart is not None:
            logbook.how = lambda pair, number: by_heart.how(self.session, pair, number)
            logbook.how_of_run = lambda run: by_heart.how_of_run(self.session, run)
        self.joining: Joining | None = None
        """The join plan whose step is practised; None where something else is."""
        self.quiet: Quiet | None = None
        """What is said besides; None where nothing is."""
        self._past_problem: Problem | None = None
        logbook.answered = lambda: ports.scheduler.soon(self._saved)

    @property
    def saved(self) -> bool:
        """False while a landed change that is shown has not reached the log."""
        return not self.logbook.waiting

    @property
    def problem(self) -> Problem | None:
        """What is wrong with the log; practice goes on."""
        return self.logbook.problem or self._past_problem

    def look_up(self) -> None:
        """Read what the log holds of the drill's changes, aside, and show it when it is there."""
        path, drill, keys = self.logbook.log.path, self.logbook.drill.title, self.logbook.passings.keys

        def read() -> Past | Problem:
            try:
                return read_past(path, drill, keys)
            except ChangeoverError as error:
                return error.problems[0]

        self._ports.scheduler.aside(read, self._learn)

    def send(self, event: events.Event) -> None:
        """Take in an event: advance the session, carry out what follows, show it when it may be shown."""
        found = self._guard.check()
        if found is not None:
            self._apply(events.Void(event.at, found))
        before = self.session
        if found is None or not isinstance(event, _OF_THE_HAND):
            self._apply(event)
        if isinstance(event, events.Beat):
            self._pacing.keep(self.session, self.listening)
        self._guard.watch(self.session.phase in _GUARDED)
        if self.session.note is self._told and not isinstance(event, events.Ticking):
            self.session = say(self.session, "")
        self._join(before, event.at)
        self._go_on_by_heart(before)
        if self.quiet is not None:
            self.quiet.heed(event)
        self._show_when_saved()

    def listen(self, listening: Listening) -> None:
        """Practise with a guitar beside the keys from here on."""
        self.listening = listening
        listening.take_course(self.session.course, self.session.holding)

    def hear(self, change: HeardChange, port: str, calibration: str) -> None:
        """Take in a change that was heard on `port`, with the calibration that was used."""
        self.logbook.heard_from = (port, calibration)
        self.send(events.Heard(self._ports.now(), change))

    def say(self, text: str) -> None:
        """Say a line to the player until something happens."""
        self.session = say(self.session, text)
        self._told = self.session.note
        self._show_when_saved()

    def aim(self, target: Target | None) -> None:
        """Have the tempo follow up to another target from the next run on."""
        self.session = replace(self.session, settings=replace(self.session.settings, target=target))
        self._show_when_saved()

    def begin_anew(self, course: Course, at: float, joining: Joining | None = None) -> None:
        """Close the session and begin another over `course`, in the same mode and at the same tempo.

        `joining`: the join plan whose step the course is.
        """
        old = self.session
        self.close(at)
        self.joining = joining
        self.logbook.turn_page()
        # A key that is held across it is still held.
        self.session = replace(begin(course, old.mode, old.tempo, old.settings), presses=old.presses)
        if self.by_heart is not None:
            self.by_heart.renew(old, self.session)
        if self.listening is not None:
            self.listening.take_course(course, self.session.holding)
        self._show_when_saved()

    def recall(self) -> bool:
        """Ask for shapes from memory from here on, or show them all again; return which."""
        if self.by_heart is None:
            return False
        (self.by_heart.end if self.by_heart.on else self.by_heart.begin)(self.session)
        self._show_when_saved()
        return self.by_heart.on

    def close(self, at: float) -> None:
        """End the session: what was begun is written down, no clock runs on."""
        if self.listening is not None:
            self.listening.close()
        if self.joining is not None:
            self.joining.take(self.session)
        self._apply(events.Quit(at))
        self._guard.watch(on=False)

    def _apply(self, event: events.Event) -> None:
        waited = self.session.phase is Phase.WAIT
        self.session, todo = advance(self.session, event)
        if waited and isinstance(event, events.Go) and self.session.phase is Phase.CHANGING:
            self._ports.bell(True)  # a player looks at the neck
        for effect in todo:
            if (carry_out := _CARRY_OUT.get(type(effect))) is not None:
                carry_out(self, effect)

    def _join(self, before: Session, at: float) -> None:
        """Tell what a run that is over means for the join plan, and go on with the plan as soon as the player does.

        Until then the run's end may be taken back, and what landed be called unclean.
        """
        if self.joining is None:
            return
        if self.session.phase is Phase.ENDED:
            outlook = self.joining.outlook(self.session)
            if outlook and (before.phase is not Phase.ENDED or before.tries is not self.session.tries):
                self.say(f"{self.session.message} {outlook}".strip())
        elif before.phase is Phase.ENDED and self.session.run > before.run and self.joining.take(before):
            self.begin_anew(self.joining.course, at, self.joining)
            self.say(f"Now: {self.joining.name}.")

    def _go_on_by_heart(self, before: Session) -> None:
        """Once a run is over, keep what is known by heart, and have the next one ask in the order that it allows."""
        hearts = self.by_heart
        if hearts is not None and self.session is not before and Phase.ENDED in {self.session.phase, before.phase}:
            hearts.save(self.session)
        over = self.session.phase is Phase.ENDED and before.phase is not Phase.ENDED
        if over and hearts is not None and hearts.on and self.joining is None and self.listening is None:
            self.session = replace(self.session, course=hearts.next_course(self.session))

    def _void(self, found: Interruption, at: float) -> None:
        self.send(events.Void(at, found))

    def _learn(self, past: Past | Problem) -> None:
        if isinstance(past, Problem):
            self._past_problem = past
        else:
            self.logbook.standings.learn(past)
        self._ports.show()

    def _timed(self, effect: effects.Timed) -> None:
        self.logbook.timed(effect, self.session.began)

    def _pace(self, effect: effects.Clock) -> None:
        self._pacing.start(effect, self.session, self.listening)

    def _expect(self, effect: effects.Expect) -> None:
        if self.listening is not None:
            self.listening.expect(effect.step)

    def _show_when_saved(self) -> None:
        if self.saved:
            self._show()
        elif self._patience is None:
            self._patience = self._ports.scheduler.at(self._ports.now() + PATIENCE_S, self._show)

    def _saved(self) -> None:
        if self.saved:
            self._show()

    def _show(self) -> None:
        if self._patience is not None:
            self._patience()
            self._patience = None
        self.shown = self.session
        self._ports.show()


_CARRY_OUT: dict[type[effects.Effect], Callable[[Conductor, Any], None]] = {
    effects.Timed: lambda conductor, effect: conductor._timed(effect),
    effects.Unlog: lambda conductor, effect: conductor.logbook.unlog(effect),
    effects.MarkClean: lambda conductor, effect: conductor.logbook.mark(effect),
    effects.Measured: lambda conductor, effect: conductor.logbook.measured(effect),
    effects.Expect: lambda conductor, effect: conductor._expect(effect),
    effects.RunEnded: lambda conductor, effect: conductor.logbook.ended(effect),
    effects.RunReopened: lambda conductor, effect: conductor.logbook.reopened(effect),
    effects.StartBeat: lambda conductor, effect: conductor._pace(effect),
    effects.CueAfterWait: lambda conductor, effect: conductor._pace(effect),
    effects.AskLanded: lambda conductor, effect: conductor._pace(effect),
    effects.StopClock: lambda conductor, _: conductor._pacing.stop(conductor.listening),
    effects.Bell: lambda conductor, effect: conductor._ports.bell(effect.accent),
}
"""How each effect is carried out; what is to be shown or said stands in the session itself."""
