"""A practice session as a value, with what a screen reads from it."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction

from trainer.practice.climb import Climb, Played
from trainer.practice.course import Course, Leg, Pair, held_at, shapes_held
from trainer.practice.effects import Clock, Note, StartBeat, Summary
from trainer.practice.events import Event
from trainer.practice.ladder import Target
from trainer.practice.measures import HeardChange
from trainer.practice.phases import TIMINGS, Mode, Phase
from trainer.practice.presses import Presses
from trainer.practice.record import Timing
from trainer.practice.tempo import STEP

_SILENCE = Note("")


@dataclass(frozen=True, slots=True)
class Settings:
    """What a player may set."""

    repeat_s: float = 0.06
    """A press closer than this upon the one before is a repeat or a bounce, in seconds."""
    reaction_s: float = 0.1
    """Nobody lands a change sooner after the cue; a press that does is void, in seconds."""
    longest_s: float = 15.0
    """A change that takes longer was left standing and is void, in seconds; a beginner's takes a few (our choice)."""
    wait_s: tuple[float, float] = (1.0, 3.0)
    """The cue follows after a wait between these, in seconds."""
    scan_s: float = 1.0
    """How long each number stays highlighted where a press answers, in seconds."""
    tempo_step: float = STEP
    """Beats per minute that one step slower or faster makes."""
    accents: tuple[int, ...] = (1,)
    """The accented beats of a bar, from 1."""
    target: Target | None = None
    """The tempo that is wanted; None: as fast as it goes."""


@dataclass(frozen=True, slots=True)
class Try:
    """One timed change that was landed or missed."""

    number: int
    """Never used twice in a session."""
    run: int
    """The run it belongs to."""
    position: int
    """The leg of the run it was."""
    pair: Pair
    """The change."""
    timing: Timing
    """How it was timed."""
    at: float
    """When it landed or was given up, monotonic seconds."""
    landed: bool
    """False where it was missed."""
    change_ms: float | None
    """Change time in milliseconds; None where it has none."""
    clean: bool | None = None
    """What the player said of it, else what was heard; None until then."""
    heard: HeardChange | None = None
    """What was measured of it; None where it was not heard."""
    tempo: float | None = None
    """Beats per minute it was played at; None out of tempo."""


@dataclass(frozen=True, slots=True)
class Question:
    """How many landed?"""

    asked: int
    """How many changes went by."""
    choice: int
    """The number now highlighted, which a press takes."""


@dataclass(frozen=True, slots=True)
class Undo:
    """What it takes to undo the last press that counted."""

    before: Session
    """The session before it."""
    since: tuple[Event, ...] = ()
    """What has happened after it."""


@dataclass(frozen=True, slots=True)
class Session:
    """Everything a practice session knows. Start one with `session.begin`, change it with `session.advance`."""

    course: Course
    """What is practised."""
    mode: Mode
    """How."""
    tempo: float
    """Beats per minute of the next paced run, or of the one under way."""
    phase: Phase
    """Where it stands."""
    route: tuple[Leg, ...]
    """The changes of this run."""
    settings: Settings = field(default_factory=Settings)
    """What the player has set."""
    position: int = 0
    """Index of the current change in `route`."""
    part: int = 0
    """Paced: which part of the course this run plays, from 0."""
    run: int = 1
    """Number of this run."""
    began: float = 0.0
    """When this run began, monotonic seconds; of no meaning before its first press."""
    left: float | None = None
    """When the change in flight began (left, or go); None where none is."""
    tick: int = -1
    """Paced: how many ticks of the beat have come, from 0; -1 before the first."""
    played: float = 0.0
    """Paced: beats per minute this run began at."""
    choice: int = 0
    """The number highlighted while asking how many landed."""
    before_pause: Phase | None = None
    """Where it stood before it was paused; None where it is not."""
    tries: tuple[Try, ...] = ()
    """Every timed change of every run, in order."""
    ended: tuple[Summary, ...] = ()
    """Every run that is over and had anything to log, in order."""
    climb: Climb = field(default_factory=Climb)
    """Paced: how far the runs have climbed the tempo ladder, all but the newest."""
    clock: Clock | None = None
    """What the runner's clock is set to: a beat, a wait, a scan, or nothing."""
    shown: int = 0
    """Walk: how many times a change was to be shown."""
    deaf_in: int = 0
    """Number of the last run to the beat in which the guitar was lost, so that not all of it was heard; 0: in none."""
    expected: int = 0
    """Heard: how many times to listen anew, from the shape that is held."""
    heard_to: int = -1
    """Index of the newest change that was heard; one that comes again and is in no try was taken back."""
    note: Note = _SILENCE
    """What was said last."""
    serial: int = 0
    """The last number given to a clock, a try or a note."""
    presses: Presses = field(default_factory=Presses)
    """What tells a press from a repeat."""
    undo: Undo | None = field(default=None, repr=False, compare=False)
    """How to undo the last press; None once it is certain that it was one."""

    @property
    def pair(self) -> Pair:
        """The change at hand: index of the shape before and of the shape after."""
        return self.route[self.position].pair

    @property
    def counted(self) -> bool:
        """False on the way back to a change that does not start where the last one ended (paced)."""
        return self.route[self.position].counted

    @property
    def upcoming(self) -> tuple[Pair, ...]:
        """The changes of this run after the one at hand."""
        return tuple(leg.pair for leg in self.route[self.position + 1 :])

    @property
    def joined(self) -> bool:
        """True where the change at hand starts from the shape the one before it ended on."""
        return self.position > 0 and self.route[self.position - 1].pair[1] == self.pair[0]

    @property
    def holding(self) -> int:
        """Index of the shape the hand holds, or in flight leaves."""
        if self._held is not None:
            return shapes_held(self.route)[self._held[0]]
        return self.pair[1 if self.phase in {Phase.ASK, Phase.ENDED} else 0]

    @property
    def elapsed(self) -> Fraction:
        """Paced: beats since the first shape began; negative in the count-in."""
        per_beat = self.clock.per_beat if isinstance(self.clock, StartBeat) else 1
        return Fraction(self.tick, per_beat) - self.course.bar

    @property
    def beat(self) -> int | None:
        """Playing: the beat of the shape now held, from 1; None otherwise."""
        return None if self._held is None else math.floor(self._held[1]) + 1

    @property
    def beats(self) -> Fraction:
        """How many beats the shape now held lasts."""
        return self.course.lengths[self.holding]

    @property
    def counting(self) -> int | None:
        """Count-in: its beat, from 1; None otherwise, and before its first."""
        return math.floor(self.elapsed) + self.course.bar + 1 if self.phase is Phase.COUNT_IN and self._ticked else None

    @property
    def accented(self) -> bool:
        """True on the first beat of the count-in and on the beat where a shape begins."""
        return self.counting == 1 if self._held is None else self._held[1] == 0

    @property
    def on_beat(self) -> bool:
        """True where the last tick fell on a beat."""
        return self._ticked and self.elapsed.denominator == 1

    @property
    def round(self) -> int:
        """The round the change at hand belongs to, from 1."""
        return self.route[self.position].round

    @property
    def change(self) -> int:
        """Number of the change at hand among those of this run that count, from 1."""
        return sum(leg.counted for leg in self.route[: self.position]) + 1

    @property
    def changes(self) -> int:
        """How many changes of this run count."""
        return sum(leg.counted for leg in self.route)

    @property
    def timing(self) -> Timing | None:
        """How this run's changes are timed; None in a walk."""
        return TIMINGS.get(self.mode)

    @property
    def run_tries(self) -> tuple[Try, ...]:
        """The timed changes of this run, landed and missed."""
        return tuple(one for one in self.tries if one.run == self.run)

    @property
    def landings(self) -> tuple[Try, ...]:
        """Those that landed."""
        return tuple(one for one in self.run_tries if one.landed)

    @property
    def times_ms(self) -> tuple[float, ...]:
        """The change times of this run in milliseconds, in the order played."""
        return tuple(one.change_ms for one in self.run_tries if one.change_ms is not None)

    @property
    def played_to_the_beat(self) -> tuple[Played, ...]:
        """Every run to the beat of this session that was answered; what was heard to be unclean is not counted."""
        unclean = Counter(one.run for one in self.tries if one.landed and one.clean is False)
        return tuple(
            Played(run.tempo, max(run.landed - unclean[run.run], 0), run.asked)
            for run in self.ended
            if run.tempo is not None
        )

    @property
    def summary(self) -> Summary | None:
        """What this run came to; None before it is over."""
        return self.ended[-1] if self.phase is Phase.ENDED and self.ended else None

    @property
    def question(self) -> Question | None:
        """What is asked of the player; None where nothing is."""
        return Question(self.changes, self.choice) if self.phase is Phase.ASK else None

    @property
    def message(self) -> str:
        """What was said last, as long as it holds; empty where nothing was."""
        return self.note.text

    @property
    def _ticked(self) -> bool:
        return self.tick >= 0 and self.phase in {Phase.COUNT_IN, Phase.PLAYING}

    @property
    def _held(self) -> tuple[int, Fraction] | None:
        """Playing: which of the shapes held in turn is due, and the beats since it began."""
        if self.phase is not Phase.PLAYING:
            return None
        return held_at(self.course.lasting(self.route), self.elapsed)
