"""The guitar beside a session, with no port and no screen: what a listener reports, and what comes of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from tests.listen.building import AM, D7, C, G, Playing, drill
from tests.listen.sending import GUITAR, sent
from trainer.files.guitars import Guitar
from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.listen.decoder import Call
from trainer.listen.entries import Entry
from trainer.practice.course import back_and_forth, one_change, segment, whole
from trainer.practice.drill import Order, Segment
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteOn
from trainer.practice.wiring import Wiring
from trainer.ui.drilling.listening import Listening, Outlets, listened

DRILL = drill(AM, C, D7, G)
PORT = "Ours:strings"
# The playing here is stamped without delays, so none is to be taken off.
EXACT = replace(GUITAR, latency_ms={})


class Heard:
    """A listening with everything that came out of it."""

    def __init__(self, step: int = 0) -> None:
        self.now = 0.0
        self.changes: list[HeardChange] = []
        self.calls: list[Call] = []
        self.notes: list[NoteOn] = []
        self.kept: list[tuple[str, list[Entry]]] = []
        outlets = Outlets(self._changed, self.calls.append, self.notes.append, lambda: None)
        self.listening = Listening(DRILL, lambda _: Guitar(EXACT), outlets, lambda: self.now, self._keep)
        self.listening.take_course(whole(DRILL), step)

    def _changed(self, change: HeardChange, port: str, calibration: str) -> None:
        assert port in {PORT, "Other:strings"}
        assert calibration == "none"
        self.changes.append(change)

    def _keep(self, port: str, _: Wiring, __: float) -> Callable[[Entry], None]:
        entries: list[Entry] = []
        self.kept.append((port, entries))
        return entries.append

    def give(self, *reports: Report) -> None:
        for report in reports:
            self.now = max(self.now, report.at)
            self.listening.take_in((report,))

    def play(self, shapes: Iterable[str], at: float, port: str = PORT) -> None:
        playing = Playing()
        for number, shape in enumerate(shapes):
            playing.shape(at + number * 0.5, shape, at + number * 0.5 + 0.45)
        self.give(*(Arrival(port, when, data) for when, data in sent(playing.events)))

    def wait(self, seconds: float) -> None:
        self.now += seconds
        self.listening.tick()

    @property
    def landed(self) -> list[tuple[int, int]]:
        return [(change.before, change.after) for change in self.changes if change.landed and not change.done]


def test_changes_come_out_as_steps_of_the_drill_with_an_index_of_their_own() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0))
    on.play((AM, C, D7, G, AM), 1.0)
    on.wait(1)
    assert on.landed == [(0, 1), (1, 2), (2, 3), (3, 0)]
    assert sorted({change.index for change in on.changes}) == [0, 1, 2, 3]


def test_another_course_is_listened_for_with_its_own_shapes_and_numbers_go_on() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0))
    on.play((AM, C), 1.0)
    on.listening.take_course(back_and_forth(DRILL, 1, 3), 1)
    on.play((C, G, C), 5.0)
    on.wait(1)
    assert on.landed == [(0, 1), (1, 3), (3, 1)]
    assert len({change.index for change in on.changes}) == 3


def test_a_lost_port_ends_what_was_under_way_and_is_heard_again() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0))
    on.play((AM, C), 1.0)
    half = sent(Playing().shape(3.0, D7, without=[1]).events)
    on.give(*(Arrival(PORT, at, data) for at, data in half), Lost(PORT, 3.2))
    assert not on.listening.hearing.connected
    assert on.listening.hearing.reading is None
    before = len(on.landed)
    on.give(Found(PORT, 5.0))
    assert on.listening.hearing.connected
    on.play((C, D7), 6.0)
    on.wait(1)
    assert on.landed[before:] == [(1, 2)]
    (change,) = [change for change in on.changes if (change.before, change.after) == (1, 2) and not change.done]
    assert change.strike_ms is not None
    assert change.strike_ms < 1000  # from the C that was struck again, not from the one before the loss


def test_the_first_guitar_that_plays_is_the_player_s() -> None:
    on = Heard()
    on.give(Found("Other:strings", 0.0), Found(PORT, 0.1))
    on.play((AM, C), 1.0)
    assert on.listening.hearing.port == PORT
    on.play((D7, G), 3.0, port="Other:strings")
    on.wait(1)
    assert on.landed == [(0, 1)]


def test_trouble_is_told_for_the_port_that_is_heard_only() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0), Trouble("Other:strings", 1.0, "nobody's"), Trouble(PORT, 1.0, "too much at once"))
    assert on.listening.hearing.trouble == "too much at once"
    on.play((AM, C), 2.0)
    on.wait(1.0)
    assert on.listening.hearing.trouble == "", "it is heard well again: what is to be mended has the line"


def test_a_pedal_calls_and_a_pluck_is_told() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0), Arrival(PORT, 1.0, bytes((0xB0, 64, 127))), Arrival(PORT, 2.0, bytes((0x94, 48, 80))))
    assert on.calls == [Call(1.0, "press")]
    assert [(note.string, note.pitch) for note in on.notes] == [(5, 48)]


def test_expecting_another_step_drops_what_was_under_way() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0))
    on.play((AM,), 1.0)
    on.listening.expect(2)
    on.play((D7, G), 3.0)
    on.wait(1)
    assert on.landed == [(2, 3)]


def test_in_tempo_lateness_is_measured_from_the_beat() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0))
    on.listening.pace(2.0, 0.125, 0)  # a shape lasts four beats
    on.play((AM, C, D7), 2.03)
    on.wait(1)
    late = [change.lateness_ms for change in on.changes if change.landed and not change.done]
    assert [round(value) for value in late if value is not None] == [30, 30]
    on.listening.at_ease()
    on.play((G, AM), 6.0)
    on.wait(1)
    assert on.changes[-1].lateness_ms is None


def test_a_beat_that_turns_out_to_lie_elsewhere_is_measured_from_there() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0))
    on.listening.keep_pace(9.0, 0.125)  # no beat is under way
    on.listening.pace(2.0, 0.125, 0)
    on.play((AM, C), 2.03)
    on.listening.keep_pace(2.01, 0.125)
    on.play((D7,), 3.03)
    on.wait(1)
    late = [change.lateness_ms for change in on.changes if change.landed and not change.done]
    assert [round(value) for value in late if value is not None] == [30, 20]


def test_each_course_is_kept_as_a_take_of_its_own() -> None:
    on = Heard()
    on.give(Found(PORT, 0.0))
    on.play((AM,), 1.0)
    on.listening.take_course(one_change(DRILL, 1, 2), 1)
    on.play((C,), 3.0)
    assert [port for port, _ in on.kept] == [PORT, PORT]
    assert all(entries for _, entries in on.kept)


def test_what_is_listened_for_is_one_round_of_the_course() -> None:
    part = Segment("middle", 2, 3)
    found = {
        "whole": listened(DRILL, whole(DRILL)),
        "there and back": listened(DRILL, back_and_forth(DRILL, 1, 3)),
        "one": listened(DRILL, one_change(DRILL, 2, 0)),
        "part": listened(DRILL, segment(DRILL, part)),
    }
    assert {name: (one.steps, one.drill.order) for name, one in found.items()} == {
        "whole": ((0, 1, 2, 3), Order.RING),
        "there and back": ((1, 3), Order.RING),
        "one": ((2, 0), Order.ONCE),
        "part": ((1, 2), Order.ONCE),
    }
