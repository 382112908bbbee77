"""Guitars of a class without ports or a screen: what listeners report goes in, and each seat is told apart."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import cast

import pytest

from tests.listen.building import AM, OPEN, C, Playing, frets, step
from tests.listen.building import drill as figured
from tests.listen.sending import sent
from tests.ui.drilling_fakes import HandClock
from tests.ui.room.scenes import Chair
from trainer.files.guitars import Guitar
from trainer.files.settings import Settings
from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.listen.decoder import Call
from trainer.listen.ear import Ear
from trainer.practice.drill import Drill, Order
from trainer.practice.quick import from_shapes
from trainer.practice.record import Texture
from trainer.practice.room import Phase
from trainer.practice.rounds import Mark, Round, SeatHeard
from trainer.practice.wiring import Trigger, Wiring, in_order
from trainer.ui.drilling.scheduler import Scheduler
from trainer.ui.room.desk import Desk, Group, Outlets
from trainer.ui.room.round_heard import ABSENT, GONE, HALF_HEARD, SILENT
from trainer.ui.services import Services

BAR_S = 4.0
"""At 60 a minute a bar is counted in, then each shape is held for as long."""
WIRING = Wiring(strings=in_order(1), latency_ms=dict.fromkeys(range(1, 7), 0.0))
G = "3/2 2/1 0 0 0 3/3"
DRILL = from_shapes([AM, C, G])


class Ports:
    """A listener in the test's hands."""

    def __init__(self) -> None:
        self.wanted: list[object] = []
        self.closed_by: str | None = None
        self.closed = threading.Event()

    def listen(self, wanted: object, deliver: Callable[[tuple[Report, ...]], None], _: object) -> Ports:
        self.wanted.append(wanted)
        self.report = deliver
        return self

    def start(self) -> None:
        pass

    def close(self) -> None:
        self.closed_by = threading.current_thread().name
        self.closed.set()


class Lesson:
    """A desk with three seats: guitars at the first two."""

    def __init__(self, tmp_path: Path, drill: Drill = DRILL, *, there: Iterable[str] = ("p1", "p2")) -> None:
        self.clock = HandClock()
        self.ports = Ports()
        services = Services(Settings(click="none"), tmp_path / "settings.toml", tmp_path / "log.sqlite")
        services.clock = lambda: self.clock.now
        services.listen = self.ports.listen
        services.guitars = {f"p{number}": Guitar(WIRING) for number in (1, 2, 3)}
        self.services = services
        self.called: list[Call] = []
        self.kept: list[Round] = []
        self.bound: list[tuple[str, str]] = []
        self.shown = 0
        chairs = (Chair("s1", 1, port="p1"), Chair("s2", 2, port="p2"), Chair("s3", 3))
        outlets = Outlets(lambda: None, self._show, lambda: None, self.called.append)
        group = Group("Mondays", chairs, self._keep, self._bind)
        self.desk = Desk(services, drill, cast("Scheduler", self.clock), outlets, group)
        self.desk.start()
        self.report(*(Found(port, self.clock.now) for port in there))

    def _show(self) -> None:
        self.shown += 1

    def _keep(self, _: Drill, done: Round, __: float) -> str:
        self.kept.append(done)
        return ""

    def _bind(self, seat: str, port: str) -> str:
        self.bound.append((seat, port))
        return ""

    def report(self, *reports: Report) -> None:
        self.ports.report(reports)
        self.clock.turn(0)

    def later(self, after: float, report: Report) -> None:
        self.clock.at(self.clock.now + after, lambda: self.ports.report((report,)))

    def plays(self, port: str, playing: Playing) -> None:
        """Have something played from now on: its moments are seconds after the count began."""
        start = self.clock.now
        for at, data in sent(playing.events):
            self.later(at, Arrival(port, start + at, data))

    def finish(self) -> dict[str, SeatHeard]:
        """Let the round come to its end; return what was heard by then."""
        while self.desk.room.phase is not Phase.OVER:
            self.clock.turn(1)
        return dict(self.desk.marking.heard)


_MOST_WAITING = 50
"""Messages on their way to the loop at once."""
Told = tuple[bool, float | None, int | None]


def told(heard: SeatHeard) -> Told:
    """Return whether all landed, how late the worst was, and which finger came up."""
    return heard.landed, heard.late_ms, heard.finger_up


def change(late: float = 0.0, second: str = C, **more: object) -> Playing:
    """Return Am on its beat and another shape so many seconds late; Am rings until just before it."""
    return Playing().shape(BAR_S, AM, off=2 * BAR_S + late - 0.05).shape(2 * BAR_S + late, second, **more)  # type: ignore[arg-type]  # passed on


@pytest.fixture
def lesson(tmp_path: Path) -> Lesson:
    return Lesson(tmp_path)


@pytest.mark.parametrize(
    ("playing", "heard"),
    [
        (change(), (True, 0.0, None)),
        (change(0.12), (True, 120.0, None)),
        (change(-0.03), (True, -30.0, None)),
        (change(0.49), (True, 490.0, None)),
        # Nearer to the next beat: it was not played on the count.
        (change(0.51), (False, 510.0, None)),
        (change(-0.51), (False, None, None)),
        (change(2.0), (False, 2000.0, None)),
        (change(without=(5,)), (False, None, None)),
        # Another shape: string 2 is open in it, so finger 1 came up.
        (change(second=G), (False, None, 1)),
        (Playing().shape(BAR_S, AM), (False, None, None)),
        # Finger 1 stays from Am to C: the open second string between them says that it came up.
        (change().note(6.0, 2, OPEN[2], 6.5), (True, 0.0, 1)),
        # What is tried while the bar is counted in is nobody's business, the very change included.
        (
            change().shape(0.5, AM, off=1.4).shape(1.5, C, off=2.4),
            (True, 0.0, None),
        ),
        # The first go was late, the second is of no use any more.
        (
            change(0.2, off=9.0).shape(9.2, AM, off=10.4).shape(10.5, C),
            (True, 200.0, None),
        ),
    ],
)
def test_a_round_of_one_seat(lesson: Lesson, playing: Playing, heard: Told) -> None:
    lesson.desk.again()
    lesson.plays("p1", playing)
    assert told(lesson.finish()["s1"]) == heard
    assert lesson.desk.ears.left == {"s2": SILENT}


@pytest.mark.parametrize(("late", "landed"), [(0.0, True), (0.2, True), (0.6, False)])
def test_a_figure_is_due_note_by_note_as_it_is_written(tmp_path: Path, late: float, landed: bool) -> None:
    strokes = {1: [5], 2: [4], 3: [3], 4: [2, 1]}
    drill = figured(*(step(shape, strokes=strokes, texture=Texture.FIGURE) for shape in (AM, C)), order=Order.ONCE)
    lesson = Lesson(tmp_path, drill)
    playing = Playing()
    for number, (shape, shift) in enumerate(((AM, 0.0), (C, late))):
        for beat, strings in strokes.items():
            for string in strings:
                at = (1 + number) * BAR_S + beat - 1 + shift
                playing.note(at, string, frets(shape)[string], at + 0.9)
    lesson.desk.again()
    lesson.plays("p1", playing)
    heard = lesson.finish()["s1"]
    assert heard.landed is landed
    assert heard.late_ms == pytest.approx(1000 * late)


@pytest.mark.parametrize("seed", range(10))
def test_seats_are_graded_as_if_each_were_alone(tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)
    playings = [change(draw.uniform(-0.7, 0.7), draw.choice((C, G)), apart=draw.uniform(0, 0.03)) for _ in range(2)]
    alone = []
    for number, playing in enumerate(playings, start=1):
        lesson = Lesson(tmp_path)
        lesson.desk.again()
        lesson.plays(f"p{number}", playing)
        alone.append(lesson.finish()[f"s{number}"])
    both = Lesson(tmp_path)
    both.desk.again()
    for number, playing in enumerate(playings, start=1):
        both.plays(f"p{number}", playing)
    assert list(both.finish().values()) == alone


def test_every_change_of_a_round_has_to_land(lesson: Lesson) -> None:
    lesson.desk.other_scope()
    assert len(lesson.desk.room.part.pairs) == 3  # and back to the first, a ring
    for late, landed in (((0.0, 0.1, -0.2), True), ((0.1, 0.6, 0.0), False)):
        lesson.desk.again()
        playing = Playing()
        for number, shape in enumerate((AM, C, G, AM)):
            shift = late[number - 1] if number else 0.0
            after = late[number] if number < 3 else 0.0
            on = (1 + number) * BAR_S + shift
            playing.shape(on, shape, off=(2 + number) * BAR_S + after - 0.05)
        lesson.plays("p1", playing)
        heard = lesson.finish()["s1"]
        assert (heard.landed, heard.late_ms) == (landed, 1000 * max(late, key=abs))
        assert [(one.number, one.landed) for one in heard.changes] == [
            (number, abs(shift) < 0.5) for number, shift in enumerate(late)
        ]
        assert [one.late_ms for one in heard.changes] == pytest.approx([1000 * shift for shift in late])
        lesson.desk.drop()


def test_who_is_heard_is_marked_by_it_and_a_hand_overrules(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.plays("p1", change(0.6))
    lesson.plays("p2", change(0.1))
    lesson.finish()
    marking = lesson.desk.marking
    assert [marking.mark(seat) for seat in ("s1", "s2", "s3")] == [Mark.MISSED, Mark.HAD, Mark.HAD]
    lesson.desk.mark(marking.toggled("s1"))
    lesson.desk.finish()
    assert [(one.mark, one.heard and told(one.heard)) for one in lesson.kept[0].results] == [
        (Mark.HAD, None),
        (Mark.HAD, (True, 100.0, None)),
        (Mark.HAD, None),
    ]


def test_a_port_that_is_missing_or_gone_is_left_to_the_hand_and_taken_again(tmp_path: Path) -> None:
    lesson = Lesson(tmp_path, there=["p1"])
    assert lesson.desk.ears.there == (1, 2)
    lesson.desk.again()
    lesson.plays("p1", change())
    lesson.later(6.0, Lost("p1", lesson.clock.now + 6.0))
    lesson.later(7.0, Found("p1", lesson.clock.now + 7.0))
    lesson.later(7.0, Found("p2", lesson.clock.now + 7.0))
    assert lesson.finish() == {}
    assert lesson.desk.ears.left == {"s1": GONE, "s2": ABSENT}
    lesson.desk.drop()
    assert lesson.desk.ears.there == (2, 2)
    lesson.desk.again()
    lesson.plays("p1", change())
    lesson.plays("p2", change())
    assert {seat: one.landed for seat, one in lesson.finish().items()} == {"s1": True, "s2": True}


def test_a_round_of_which_something_may_have_been_missed_is_left_to_the_hand(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.plays("p1", change())
    lesson.later(5.0, Trouble("p1", lesson.clock.now + 5.0, "16384 messages at once, more may be lost"))
    assert lesson.finish() == {}
    assert lesson.desk.ears.left == {"s1": HALF_HEARD, "s2": SILENT}


def test_a_round_frozen_in_the_middle_goes_on_with_what_is_still_to_come(lesson: Lesson) -> None:
    lesson.desk.other_scope()
    lesson.desk.again()
    lesson.plays("p1", change())
    lesson.clock.turn(9)
    lesson.desk.freeze()
    lesson.clock.turn(30)
    lesson.desk.freeze()
    lesson.plays("p1", Playing().shape(BAR_S, C, off=7.9).shape(8.1, G, off=11.9).shape(12.2, AM))
    heard = lesson.finish()["s1"]
    assert told(heard) == (True, 200.0, None)
    assert [(one.number, one.late_ms) for one in heard.changes] == [(1, 100.0), (2, 200.0)]


def test_a_round_is_graded_by_when_its_beats_were_really_heard(lesson: Lesson, monkeypatch: pytest.MonkeyPatch) -> None:
    begun = lesson.clock.now
    known_late_s = 0.0
    sounding = lesson.desk._beating._sounding
    monkeypatch.setattr(sounding, "begin", lambda _: lambda beats: begun + float(beats) + known_late_s)
    lesson.desk.again()
    lesson.plays("p1", change(0.3))
    lesson.clock.turn(1)
    # A sound device turns out to play 300 ms later than it said.
    known_late_s = 0.3
    assert told(lesson.finish()["s1"]) == (True, 0.0, None)


def test_nothing_is_heard_of_a_round_that_began_anew(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.plays("p1", change().shape(3.0, G))
    lesson.clock.turn(6)
    lesson.desk.tempo(1)
    lesson.desk.freeze()
    lesson.clock.turn(30)
    lesson.desk.again()
    assert lesson.finish() == {}
    assert lesson.desk.ears.left == {"s1": SILENT, "s2": SILENT}


def test_who_plays_where_is_said_by_playing(lesson: Lesson) -> None:
    ears, chairs = lesson.desk.ears, lesson.desk.group.seats if lesson.desk.group else ()
    ears.bind(chairs[2])
    assert ears.said == "seat 3: play a string"
    soft = Playing().note(0.1, 1, 64, velocity=9)
    lesson.plays("p3", soft)
    lesson.clock.turn(1)
    assert lesson.bound == []
    lesson.plays("p3", Playing().note(0.1, 1, 64))
    lesson.plays("p1", Playing().note(0.2, 1, 64))
    lesson.clock.turn(1)
    assert (lesson.bound, ears.said) == ([("s3", "p3")], "seat 3 plays on p3")
    # Another seat takes it over, and the first has none any more.
    ears.bind(chairs[0])
    lesson.plays("p3", Playing().note(0.1, 1, 64))
    lesson.clock.turn(1)
    assert lesson.bound[1:] == [("s1", "p3")]
    assert ears.there == (1, 2)
    lesson.report(Found("p3", lesson.clock.now))
    lesson.desk.again()
    lesson.plays("p3", change())
    assert set(lesson.finish()) == {"s1"}


def test_a_name_that_cannot_be_kept_is_told(lesson: Lesson) -> None:
    group = lesson.desk.group
    assert group is not None
    object.__setattr__(group, "bind", lambda *_: "the class file cannot be written\x1b[2J")
    lesson.desk.ears.bind(group.seats[2])
    lesson.plays("p3", Playing().note(0.1, 1, 64))
    lesson.clock.turn(1)
    assert lesson.desk.ears.said == "the class file cannot be written·[2J"


def test_pedals_call_from_everywhere_but_a_seat(lesson: Lesson) -> None:
    lesson.services.guitars["pedals"] = Guitar(Wiring(calls={Trigger("control", 80): "room_hide"}))
    down = bytes((0xB0, 64, 127))
    for port, data in (("p1", down), ("p3", down), ("pedals", down), ("pedals", bytes((0xB0, 80, 127)))):
        lesson.report(Arrival(port, 1.0, data))
    assert [call.id for call in lesson.called] == ["press", "room_hide"]


def test_a_note_shows_nothing_and_leaves_nothing_to_be_done(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.clock.turn(0.5)
    shown, waiting = lesson.shown, lesson.clock.waiting
    for number in range(200):
        lesson.report(Arrival("p1", lesson.clock.now, bytes((0x90, 40 + number % 30, 90))))
    assert (lesson.shown, lesson.clock.waiting) == (shown, waiting)


def test_notes_come_in_on_a_thread_of_their_own_at_any_moment(lesson: Lesson) -> None:
    over = threading.Event()
    failed: list[BaseException] = []

    def strum() -> None:
        try:
            number = 0
            while not over.is_set():
                if lesson.clock.waiting > _MOST_WAITING:
                    time.sleep(0)  # or the clock would never come to the end of what is due by now
                    continue
                number += 1
                data = bytes((0x90 + number % 6, 40 + number % 30, 90 * (number % 3 > 0)))
                lesson.ports.report((Arrival("p1", lesson.clock.now, data), Arrival("p2", lesson.clock.now, data)))
        except BaseException as error:
            failed.append(error)
            raise

    thread = threading.Thread(target=strum)
    thread.start()
    for _ in range(20):
        lesson.desk.again()
        heard = lesson.finish()
        assert set(heard) | set(lesson.desk.ears.left) == {"s1", "s2"}
        lesson.desk.drop()
    over.set()
    thread.join()
    assert failed == []


def test_what_goes_wrong_with_a_note_ends_the_program(lesson: Lesson, monkeypatch: pytest.MonkeyPatch) -> None:
    lesson.desk.again()
    lesson.clock.turn(0.5)
    monkeypatch.setattr(Ear, "hear", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        lesson.report(Arrival("p1", lesson.clock.now, bytes((0x90, 60, 90))))


def test_ports_are_closed_beside_the_loop_and_waited_for_at_the_end(lesson: Lesson) -> None:
    lesson.desk.close()
    for wait in lesson.services.ending:
        wait(5.0)
    assert lesson.ports.closed.is_set()
    assert lesson.ports.closed_by != threading.current_thread().name


def test_without_guitars_and_pedals_no_port_is_opened(tmp_path: Path) -> None:
    services = Services(Settings(click="none"), tmp_path / "settings.toml", tmp_path / "log.sqlite")
    ports = Ports()
    services.listen = ports.listen
    outlets = Outlets(lambda: None, lambda: None, lambda: None, lambda _: None)
    Desk(services, DRILL, cast("Scheduler", HandClock()), outlets, None).start()
    assert ports.wanted == []


def test_why_no_port_can_be_had_is_told(lesson: Lesson) -> None:
    lesson.report(Trouble("", 1.0, "no MIDI ports can be had here"))
    assert lesson.desk.ears.trouble == "No guitar is heard: no MIDI ports can be had here."
    lesson.desk.ears.bind(Chair("s3", 3))
    assert lesson.desk.ears.said == lesson.desk.ears.trouble
    lesson.report(Found("p1", 2.0))
    assert lesson.desk.ears.trouble == ""
