"""A drill before a class: rounds by the beat, from change to change, frozen, hidden, with more or less of the drill."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from trainer.fretboard.text import parse_shape
from trainer.practice.course import shapes_held
from trainer.practice.drill import Drill, Order, Segment, Step
from trainer.practice.room import Phase, Room, Scope, Show, parts

DRILL = Drill(
    "Three shapes",
    tuple(
        Step(parse_shape(text), name, Fraction(beats))
        for text, name, beats in (("022000", "Em", "2"), ("x02210", "Am", "3/2"), ("x32010", "C", "1/2"))
    ),
    meter=(3, 4),
    segments=(Segment("to Am", 1, 2), Segment("all three", 1, 3)),
)


def told(room: Room) -> str:
    """Return what is due in one line."""
    now = room.moment
    before, after = (room.drill.steps[index].name for index in room.legs[now.leg].pair)
    return f"{'in ' if now.counting else ''}{now.beat}/{now.beats} {after if now.arrived else f'{before}-{after}'}"


def ticked(room: Room, times: int) -> Room:
    for _ in range(times):
        room = room.tick()
    return room


def test_a_round_of_one_change_tick_by_tick() -> None:
    room = Room(DRILL).go()
    assert room.per_beat == 2  # a shape of three half beats begins or ends between two beats
    seen = []
    while (room := room.tick()).phase is Phase.PLAYING:
        seen.append(told(room))
    assert seen[::2] == ["in 1/3 Em-Am", "in 2/3 Em-Am", "in 3/3 Em-Am", "1/2 Em-Am", "2/2 Em-Am", "1/2 Am", "2/2 Am"]
    assert len(seen) == 2 * 3 + 2 * 2 + 3
    assert (room.phase, told(room)) == (Phase.OVER, "0/3 Em-Am")
    assert room.tick() == room


def test_a_segment_goes_on_from_shape_to_shape() -> None:
    room = replace(Room(DRILL), scope=Scope.SEGMENT, number=1).go()
    seen = dict.fromkeys(told(room)[4:] for room in (ticked(room, n) for n in range(7, 15)))
    assert list(seen) == ["Em-Am", "Am-C", "C"]
    assert shapes_held(room.legs) == (0, 1, 2)


def test_the_whole_of_a_ring_comes_back_to_its_first_shape() -> None:
    assert shapes_held(replace(Room(DRILL), scope=Scope.WHOLE).legs) == (0, 1, 2, 0)
    once = Drill(DRILL.title, DRILL.steps, order=Order.ONCE)
    assert shapes_held(replace(Room(once), scope=Scope.WHOLE).legs) == (0, 1, 2)


def test_frozen_it_stands_and_goes_on_at_the_shape_where_it_stood() -> None:
    room = ticked(replace(Room(DRILL), scope=Scope.SEGMENT, number=1).go(), 12)
    assert told(room) == "1/2 Am-C"
    frozen = room.freeze()
    assert told(frozen.tick()) == "1/2 Am-C"
    on = frozen.freeze()
    assert on.phase is Phase.PLAYING
    assert [told(ticked(on, n)) for n in (1, 7)] == ["in 1/3 Am-C", "1/2 Am-C"]
    assert ticked(on, 6 + 3 + 1).moment.arrived
    assert ticked(on, 6 + 3 + 1 + 1).phase is Phase.OVER


def test_frozen_on_the_last_shape_it_holds_that_one_again() -> None:
    last = ticked(Room(DRILL).go(), 12).freeze()
    assert told(last) == "1/2 Am"
    on = ticked(last.freeze(), 7)
    assert told(on) == "1/2 Am"
    assert ticked(on, 3).phase is Phase.OVER


@pytest.mark.parametrize("phase", [Phase.READY, Phase.OVER])
def test_nothing_that_stands_can_be_frozen(phase: Phase) -> None:
    assert replace(Room(DRILL), phase=phase).freeze().phase is phase


def test_next_and_before_go_round() -> None:
    room = Room(DRILL)
    assert [room.moved(by).part.name for by in (0, 1, 2, 3, -1)] == [
        "change 1 of 3",
        "change 2 of 3",
        "change 3 of 3",
        "change 1 of 3",
        "change 3 of 3",
    ]
    assert ticked(room.go(), 5).moved(1) == room.moved(1)


def test_scopes_in_turn_keep_to_the_change_at_hand() -> None:
    room = Room(DRILL).moved(1)
    names = []
    for _ in range(3):
        room = room.other_scope()
        names.append(room.part.name)
    assert names == ["all three", "whole drill", "change 1 of 3"]


def test_a_drill_without_segments_has_only_changes_and_the_whole() -> None:
    plain = replace(DRILL, segments=())
    assert parts(plain, Scope.SEGMENT) == ()
    assert Room(plain).other_scope().scope is Scope.WHOLE
    assert Room(plain).other_scope().other_scope().scope is Scope.CHANGE


def test_what_is_drawn_in_turn_and_kept_from_part_to_part() -> None:
    room = replace(Room(DRILL), hidden=True, both_hands=True).other_show()
    assert (room.show, room.other_show().show, room.other_show().other_show().show) == (
        Show.SHAPE,
        Show.MOVEMENT,
        Show.BOTH,
    )
    on = room.go().tick().moved(1)
    assert (on.show, on.hidden, on.both_hands) == (Show.SHAPE, True, True)


def test_again_begins_the_same_round_anew() -> None:
    room = ticked(Room(DRILL).go(), 9)
    assert room.go() == Room(DRILL).go()
