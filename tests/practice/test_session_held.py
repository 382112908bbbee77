"""A held key counts once: whole runs with every press held for as long as you like, against the same without.

Repeats as keyboards send them: the first after 250 to 500 ms, then one every 30 ms (usual defaults; from memory),
each stamp up to 14 ms off, as terminal keys are.
"""

from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from tests.practice.playing import asked, drill, play, ring
from trainer.practice.course import Course, back_and_forth, one_change
from trainer.practice.effects import CueAfterWait, Effect, StopClock, Timed, Unlog
from trainer.practice.events import Event, Go, Pause, Press
from trainer.practice.phases import Mode, Phase
from trainer.practice.session import advance, begin
from trainer.practice.state import Session

JITTER_S = 0.014


@dataclass(frozen=True)
class Hold:
    """How long a press is held, by the repeats it sends: stamps after the press itself."""

    repeats: tuple[float, ...]

    @property
    def released(self) -> float:
        return (self.repeats[-1] if self.repeats else 0.0) + 0.05


@st.composite
def holds(draw: st.DrawFn) -> Hold:
    # One repeat or two cannot be told from presses: the key was let go before they showed what they were.
    count = draw(st.one_of(st.just(0), st.integers(3, 70)))
    first = draw(st.floats(0.25, 0.5))
    off = draw(st.lists(st.floats(-JITTER_S, JITTER_S), min_size=count, max_size=count))
    return Hold(tuple(first + 0.03 * n + slip for n, slip in enumerate(off)))


class Player:
    """Presses, holds, and waits for the cue, which comes `wait` seconds after it is asked for."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.log: dict[int, Timed] = {}
        self.go: tuple[float, int] | None = None
        self.wait = 1.0
        self.went = 0.0

    def give(self, event: Event) -> None:
        self.session, effects = advance(self.session, event)
        for effect in effects:
            self.carry_out(event.at, effect)

    def carry_out(self, at: float, effect: Effect) -> None:
        match effect:
            case Timed():
                self.log[effect.number] = effect
            case Unlog():
                del self.log[effect.number]
            case StopClock():
                self.go = None
            case CueAfterWait():
                self.go = (at + self.wait, effect.clock)

    def pass_time(self, until: float) -> None:
        if self.go is not None and self.go[0] <= until:
            (self.went, clock), self.go = self.go, None
            self.give(Go(self.went, clock))

    def press(self, at: float, hold: Hold) -> float:
        """Press at `at`, hold, and return when the key is up again."""
        for stamp in (0.0, *hold.repeats):
            self.pass_time(at + stamp)
            self.give(Press(at + stamp))
        return at + hold.released


COURSES = st.sampled_from([ring(), back_and_forth(drill(), 0, 1, 2), one_change(drill(), 0, 1, 3)])


@given(COURSES, st.lists(st.tuples(holds(), st.floats(0.07, 3)), min_size=14, max_size=14))
def test_two_presses(course: Course, presses: list[tuple[Hold, float]]) -> None:
    player, now, stamps = Player(begin(course, Mode.PRESSES)), 1.0, []
    for hold, pause in presses[: 2 * len(course.legs)]:
        stamps.append(now)
        now = player.press(now, hold) + pause
    expected = [1000 * (land - leave) for leave, land in zip(stamps[::2], stamps[1::2], strict=True)]
    assert [one.change_ms for one in player.log.values()] == expected
    assert (player.session.phase, player.session.run, len(player.session.ended)) == (Phase.ENDED, 1, 1)


@given(COURSES, st.lists(st.tuples(holds(), st.floats(0.11, 2), st.floats(1, 3)), min_size=20, max_size=20))
def test_cued(course: Course, presses: list[tuple[Hold, float, float]]) -> None:
    player, now, expected = Player(begin(course, Mode.CUED)), 1.0, []
    for hold, reaction, wait in presses:
        player.wait = wait
        if player.session.phase is Phase.ENDED:
            break
        if player.session.phase is Phase.WAIT:
            player.pass_time(now + 10)
        if player.session.phase is Phase.CHANGING:
            now = max(now, player.went) + reaction
            expected.append(1000 * (now - player.went))
        now = player.press(now, hold) + 0.07
    assert [one.change_ms for one in player.log.values()] == expected
    assert len(expected) == len(course.legs)
    assert (player.session.run, len(player.session.ended)) == (1, 1)


@given(holds(), holds())
def test_paced(start: Hold, answer: Hold) -> None:
    player = Player(begin(ring(), Mode.PACED))
    player.press(1.0, start)
    assert (player.session.phase, player.session.run, player.session.clock.clock) == (Phase.COUNT_IN, 1, 1)  # type: ignore[union-attr]  # the beat is on
    player = Player(asked())
    player.press(500.0, answer)
    assert (player.session.phase, player.session.run, player.session.clock) == (Phase.ENDED, 1, None)
    assert player.session.tempo == 70


@given(holds())
def test_walking(hold: Hold) -> None:
    player = Player(begin(ring(), Mode.WALK))
    player.press(1.0, hold)
    assert player.session.pair == (1, 2)


@given(holds())
def test_going_on_after_a_pause(hold: Hold) -> None:
    player = Player(play(begin(ring(), Mode.PRESSES), Pause(0.5))[0])
    player.press(1.0, hold)
    assert (player.session.phase, player.session.left) == (Phase.HOLD, None)
