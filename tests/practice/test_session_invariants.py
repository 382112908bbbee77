"""What holds whatever happens in whatever order, with a model of the runner kept beside the session."""

from dataclasses import replace

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.practice.playing import drill, ring
from trainer.practice.course import Course, back_and_forth, one_change, whole
from trainer.practice.effects import (
    AskLanded,
    CueAfterWait,
    Effect,
    Expect,
    MarkClean,
    Measured,
    RunEnded,
    RunReopened,
    StartBeat,
    StopClock,
    Summary,
    Timed,
    Unlog,
)
from trainer.practice.events import (
    Back,
    Beat,
    Event,
    Faster,
    Go,
    Heard,
    Landed,
    Leave,
    MarkUnclean,
    Missed,
    Next,
    Pause,
    Press,
    Quit,
    Repeat,
    Restart,
    Resume,
    Said,
    Scan,
    SetMode,
    SetTempo,
    Slower,
    TakeBack,
    Void,
)
from trainer.practice.measures import HeardChange
from trainer.practice.phases import TIMINGS, Mode, Phase
from trainer.practice.record import Texture, Timing
from trainer.practice.session import advance, begin
from trainer.practice.state import Session
from trainer.practice.tempo import FASTEST, SLOWEST
from trainer.practice.wording import said

COURSES = (ring(2), back_and_forth(drill(), 0, 2, 2), one_change(drill(), 1, 2, 3), whole(drill(4, 1)))
PLAIN = (Leave, Landed, Missed, Next, Back, Repeat, Restart, Pause, Resume, MarkUnclean, TakeBack, Slower, Faster)
# Repeats, bounces, reactions too fast, presses of the player's, long waits, and a stamp a little late.
GAPS = st.sampled_from([-0.01, 0.0, 0.015, 0.03, 0.045, 0.07, 0.11, 0.3, 0.5, 2.0, 4.0])


class Practice(RuleBasedStateMachine):
    """A session under any events, and what its runner would have made of the effects."""

    @initialize(course=st.sampled_from(COURSES), mode=st.sampled_from(Mode))
    def start(self, course: Course, mode: Mode) -> None:
        self.session = begin(course, mode)
        self.now = 0.0
        self.log: dict[int, Timed] = {}
        self.runs: dict[int, Summary] = {}
        self.clock: StartBeat | CueAfterWait | AskLanded | None = None
        self.numbers: set[int] = set()
        self.starts: set[float] = set()
        self.stamps: set[float] = set()
        self.pauses: list[float] = []
        self.logged = self.unlogged = 0
        self.index = 0
        self.open: HeardChange | None = None
        self.restarts = 0

    def give(self, event: Event) -> None:
        if isinstance(event, Press | Leave | Go):
            self.starts.add(event.at)
        self.stamps.add(event.at)
        before = self.session
        self.session, effects = advance(before, event)
        for effect in effects:
            self.carry_out(before, event, effect)

    def carry_out(self, before: Session, event: Event, effect: Effect) -> None:
        match effect:
            case Timed():
                self.check_timed(before, event, effect)
                self.log[effect.number] = effect
                self.logged += 1
            case Unlog():
                del self.log[effect.number]
                self.unlogged += 1
            case MarkClean():
                assert self.log[effect.number].clean is not effect.clean
                self.log[effect.number] = replace(self.log[effect.number], clean=effect.clean)
            case Measured():
                assert isinstance(event, Press) or (isinstance(event, Heard) and effect.heard == event.change)
                self.log[effect.number] = replace(
                    self.log[effect.number], clean=effect.clean, heard=effect.heard, change_ms=effect.heard.change_ms
                )
            case Expect():
                assert self.session.mode is Mode.HEARD
                assert effect.step == self.session.holding
                self.restarts += 1
            case RunEnded():
                self.runs[effect.summary.run] = effect.summary
            case RunReopened():
                del self.runs[effect.run]
            case StopClock():
                assert self.clock is not None
                assert self.clock.clock == effect.clock
                self.clock = None
            case StartBeat() | CueAfterWait() | AskLanded():
                assert self.clock is None
                assert effect.clock not in self.numbers
                self.numbers.add(effect.clock)
                self.clock = effect

    def check_timed(self, before: Session, event: Event, timed: Timed) -> None:
        assert timed.number not in self.numbers
        self.numbers.add(timed.number)
        if timed.timing is Timing.HEARD:
            # A press that shows a key was held brings to light again what was heard meanwhile.
            assert isinstance(event, Press) or (isinstance(event, Heard) and timed.heard == event.change)
            assert timed.heard is not None
            assert timed.heard.landed
            assert before.phase is not Phase.PAUSED
            assert isinstance(event, Press) or timed.tempo == (before.tempo if before.mode is Mode.PACED else None)
            return
        assert timed.change_ms is not None
        assert timed.change_ms >= 0
        assert timed.at in self.stamps
        # It began with a press, a leave or a go.
        began = timed.at - timed.change_ms / 1000
        assert any(abs(start - began) < 1e-6 for start in self.starts)
        if timed.timing is Timing.CUE:
            assert timed.change_ms >= 100 - 1e-6
        assert timed.pair in before.course.pairs
        # Only a press that shows a key was held can bring to light what happened before a pause.
        assert before.phase is not Phase.PAUSED or (isinstance(event, Press) and timed.at <= event.at)
        assert before.phase is not Phase.PAUSED or timed.at <= self.pauses[-1]

    def later(self, gap: float) -> float:
        self.now += gap
        return self.now

    @rule(gap=GAPS)
    def press(self, gap: float) -> None:
        self.give(Press(self.later(gap)))

    @rule(gap=GAPS, repeats=st.integers(1, 4))
    def hold(self, gap: float, repeats: int) -> None:
        self.give(Press(self.later(gap)))
        self.give(Press(self.later(0.3)))
        for _ in range(repeats):
            self.give(Press(self.later(0.03)))

    @rule(gap=GAPS, kind=st.sampled_from(PLAIN))
    def plain(self, gap: float, kind: type[Pause]) -> None:
        at = self.later(gap)
        if kind is Pause and self.session.phase is not Phase.PAUSED:
            self.pauses.append(at)
        self.give(kind(at))

    @rule(gap=GAPS, count=st.integers(1, 12))
    def tick(self, gap: float, count: int) -> None:
        kinds: dict[type, type[Go | Beat | Scan]] = {StartBeat: Beat, CueAfterWait: Go, AskLanded: Scan}
        clock = self.clock
        for _ in range(count if clock else 0):
            assert clock is not None
            self.give(kinds[type(clock)](self.later(gap), clock.clock))

    @rule(gap=st.sampled_from([0.11, 0.5, 2.0]), count=st.integers(1, 8))
    def play_on(self, gap: float, count: int) -> None:
        """Do what a player would, on the way to the end of a run."""
        for _ in range(count):
            if isinstance(self.clock, CueAfterWait):
                self.give(Go(self.later(gap), self.clock.clock))
            elif isinstance(self.clock, StartBeat):
                self.tick(gap, 12)
            else:
                self.press(gap)

    @rule(gap=GAPS, kind=st.sampled_from((Go, Beat, Scan)), clock=st.integers(0, 60))
    def any_tick(self, gap: float, kind: type[Go], clock: int) -> None:
        self.give(kind(self.later(gap), clock))

    @rule(gap=GAPS, landed=st.integers(-1, 10))
    def say(self, gap: float, landed: int) -> None:
        self.give(Said(self.later(gap), landed))

    @rule(gap=GAPS, tempo=st.floats(0, 500))
    def tempo(self, gap: float, tempo: float) -> None:
        self.give(SetTempo(self.later(gap), tempo))

    @rule(gap=GAPS, mode=st.sampled_from(Mode))
    def mode(self, gap: float, mode: Mode) -> None:
        self.give(SetMode(self.later(gap), mode))

    @rule(gap=GAPS, landed=st.booleans(), kind=st.sampled_from(("next", "again", "stray")), over=st.booleans())
    def hear(self, gap: float, landed: bool, kind: str, over: bool) -> None:
        """Hear a change: the one at hand, any other of the course, or none of it; the one before it is over then."""
        at = self.later(gap)
        if self.open is not None:
            self.give(Heard(at, replace(self.open, done=True, clean=over, change_ms=210.0)))
        pairs = {"next": self.session.pair, "again": self.session.course.pairs[-1], "stray": (1, 0)}
        before, after = pairs[kind]
        change = HeardChange(self.index, before, after, kind != "stray", Texture.BLOCK, struck_s=at - 0.5)
        self.index += 1
        if landed:
            self.open = replace(change, landed_s=at, change_ms=200.0)
            self.give(Heard(at, self.open))
        else:
            self.open = None
            self.give(Heard(at, replace(change, done=True)))

    @rule(gap=GAPS)
    def void(self, gap: float) -> None:
        self.give(Void(self.later(gap), "the program stood still"))

    @invariant()
    def the_log_is_what_landed(self) -> None:
        landed = [one for one in self.session.tries if one.landed]
        assert self.logged - self.unlogged == len(landed) == len(self.log)
        assert [(one.number, one.clean) for one in landed] == [(one.number, one.clean) for one in self.log.values()]
        assert [one.change_ms for one in landed] == [one.change_ms for one in self.log.values()]
        assert [one.heard for one in landed] == [one.heard for one in self.log.values()]
        assert len({one.heard.index for one in landed if one.heard is not None}) == sum(
            one.heard is not None for one in landed
        )

    @invariant()
    def the_runs_logged_are_those_that_ended(self) -> None:
        assert self.runs == {summary.run: summary for summary in self.session.ended}
        for run, summary in self.runs.items():
            assert 0 <= summary.landed <= summary.asked
            assert summary.timing is Timing.BEAT or summary.landed == sum(one.run == run for one in self.log.values())

    @invariant()
    def one_clock_runs_or_none(self) -> None:
        assert self.clock == self.session.clock

    @invariant()
    def the_session_holds_together(self) -> None:
        session = self.session
        assert 0 <= session.position < len(session.route)
        assert len(session.upcoming) == len(session.route) - session.position - 1
        assert SLOWEST <= session.tempo <= FASTEST
        assert (session.left is not None) == (session.phase is Phase.CHANGING)
        assert (session.before_pause is not None) == (session.phase is Phase.PAUSED)
        assert (session.question is not None) == (session.phase is Phase.ASK)
        assert (session.summary is not None) == (session.phase is Phase.ENDED)
        assert 0 <= session.choice <= 9
        assert 1 <= session.change <= session.changes
        assert session.timing is TIMINGS.get(session.mode)
        assert said(session.mode, session.phase).prompt
        assert session.holding in {shape for leg in session.route for shape in leg.pair}
        assert (session.beat is not None) == (session.phase is Phase.PLAYING)
        assert session.beat is None or 1 <= session.beat <= session.beats

    @invariant()
    def it_can_be_quit(self) -> None:
        closed, _ = advance(self.session, Quit(self.now + 1))
        assert (closed.phase, closed.clock) == (Phase.CLOSED, None)
        assert advance(closed, Press(self.now + 2)) == (closed, ())


Practice.TestCase.settings = settings(max_examples=150, stateful_step_count=40)
TestPractice = Practice.TestCase
