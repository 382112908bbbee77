"""Rounds of a class without a screen: the beat by a hand-turned clock, marks, what is kept, the tempo that follows."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import cast

import pytest

from tests.practice.playing import one_heard
from tests.ui.drilling_fakes import HandClock
from tests.ui.room.scenes import Chair
from trainer.files.settings import Settings
from trainer.practice.drill import Drill
from trainer.practice.quick import from_shapes
from trainer.practice.room import Phase
from trainer.practice.rounds import Mark, Round
from trainer.ui.drilling.scheduler import Scheduler
from trainer.ui.room.desk import Desk, Group, Outlets
from trainer.ui.services import Services

CHAIRS = tuple(Chair(f"s{number}", number) for number in range(1, 6))
TEMPO = 60.0
ROUND_S = 12.0
"""A bar counted in and two shapes of four beats at 60 a minute."""


class Lesson:
    """A desk with five seats, and everything that came of it."""

    def __init__(self, tmp_path: Path, *, seats: bool = True, click: str = "none") -> None:
        self.clock = HandClock()
        services = Services(Settings(click=click), tmp_path / "settings.toml", tmp_path / "log.sqlite")
        services.clock = lambda: self.clock.now
        self.rung: list[float] = []
        self.overs = 0
        self.kept: list[tuple[Round, float]] = []
        self.wrong = ""
        outlets = Outlets(lambda: self.rung.append(self.clock.now), lambda: None, self._over, lambda _: None)
        group = Group("Mondays", CHAIRS, self._keep) if seats else None
        drill = from_shapes(["C", "Am", "F"])
        self.desk = Desk(services, drill, cast("Scheduler", self.clock), outlets, group)
        self.desk.start()

    def _over(self) -> None:
        self.overs += 1

    def _keep(self, _: Drill, done: Round, began: float) -> str:
        self.kept.append((done, began))
        return self.wrong

    def play(self, *missed: str) -> None:
        """Play a round to its end and mark who missed."""
        self.desk.again()
        while self.desk.room.phase is not Phase.OVER:
            self.clock.turn(60 / self.desk.aim.tempo)
        for seat in missed:
            self.desk.mark(self.desk.marking.toggled(seat))
        self.desk.finish()


@pytest.fixture
def lesson(tmp_path: Path) -> Lesson:
    return Lesson(tmp_path)


def test_a_round_takes_the_bar_counted_in_and_both_shapes(lesson: Lesson) -> None:
    began = lesson.clock.now
    lesson.desk.again()
    seen = []
    for _ in range(12):
        lesson.clock.turn(0)
        moment = lesson.desk.room.moment
        seen.append((moment.counting, moment.beat, moment.arrived))
        lesson.clock.turn(1)
    assert seen == [
        *((True, beat, False) for beat in (1, 2, 3, 4)),
        *((False, beat, False) for beat in (1, 2, 3, 4)),
        *((False, beat, True) for beat in (1, 2, 3, 4)),
    ]
    assert (lesson.desk.room.phase, lesson.overs, lesson.clock.now - began) == (Phase.OVER, 1, ROUND_S)
    assert lesson.clock.waiting == 0


def test_the_bell_rings_every_beat_of_a_round_and_not_when_it_is_over(tmp_path: Path) -> None:
    lesson = Lesson(tmp_path, click="bell")
    began = lesson.clock.now
    lesson.play()
    assert lesson.rung == [began + beat for beat in range(12)]


def test_a_round_is_kept_as_it_was_marked_and_the_tempo_follows(lesson: Lesson) -> None:
    began = lesson.clock.now
    lesson.play("s2")
    lesson.play("s2", "s4", "s5")
    lesson.play()
    assert [(done.tempo, done.had, done.asked) for done, _ in lesson.kept] == [(60, 4, 5), (60, 2, 5), (49, 5, 5)]
    # 60 exp(0.5 (2/5 - 4/5)), then up by half the step, for the class crossed four in five: exp(0.25 / 5).
    assert lesson.desk.aim.tempo == 52
    assert lesson.kept[0][0].pairs == ((0, 1),)
    assert lesson.kept[0][1] == began


def test_what_was_heard_stands_beside_what_was_marked(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.clock.turn(ROUND_S)
    shown = []
    lesson.desk.heard = lambda: shown.append(lesson.desk.marking.mark("s3"))
    late = one_heard("s3", landed=False, late_ms=240.0, up=2)
    lesson.desk.hear([late])
    assert shown == [Mark.MISSED]
    lesson.desk.finish()
    assert [result.heard for result in lesson.kept[0][0].results] == [None, None, late, None, None]


@pytest.mark.parametrize(
    ("hidden", "peeks", "how"), [(True, False, "recalled"), (True, True, "read"), (False, False, "read")]
)
def test_a_round_is_from_memory_where_nobody_saw_the_board(lesson: Lesson, hidden: bool, peeks: bool, how: str) -> None:
    desk = lesson.desk
    desk.look(replace(desk.room, hidden=hidden))
    desk.again()
    lesson.clock.turn(5)
    if peeks:
        desk.look(replace(desk.room, hidden=False))
        desk.look(replace(desk.room, hidden=True))
    lesson.clock.turn(ROUND_S)
    desk.finish()
    lesson.play()
    assert [done.how for done, _ in lesson.kept] == [how, "recalled" if hidden else "read"]


def test_a_round_left_unmarked_is_not_kept_and_changes_no_tempo(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.clock.turn(ROUND_S)
    lesson.desk.mark(lesson.desk.marking.toggled("s1").away("s2"))
    lesson.desk.drop()
    assert (lesson.kept, lesson.desk.aim.tempo, lesson.desk.room.phase) == ([], TEMPO, Phase.READY)
    assert [lesson.desk.marking.mark(seat) for seat in ("s1", "s2")] == [Mark.HAD, Mark.AWAY]


def test_nothing_is_kept_twice_or_before_the_end(lesson: Lesson) -> None:
    lesson.desk.finish()
    lesson.desk.again()
    lesson.clock.turn(3)
    lesson.desk.finish()
    assert lesson.kept == []
    lesson.clock.turn(ROUND_S)
    lesson.desk.finish()
    lesson.desk.finish()
    assert len(lesson.kept) == 1


def test_what_hinders_keeping_is_said(lesson: Lesson) -> None:
    lesson.wrong = "the log of seat 2 is locked"
    lesson.play()
    assert lesson.desk.said == "the log of seat 2 is locked"
    assert lesson.desk.last is not None
    lesson.desk.again()
    assert lesson.desk.said == ""


def test_frozen_the_beat_stops_and_goes_on_at_that_shape(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.clock.turn(9)
    lesson.desk.freeze()
    stood = lesson.desk.room.moment
    lesson.clock.turn(30)
    assert (lesson.desk.room.moment, lesson.clock.waiting) == (stood, 0)
    assert stood.arrived
    lesson.desk.freeze()
    lesson.clock.turn(4 + 3.5)
    assert lesson.desk.room.moment.arrived
    lesson.clock.turn(1)
    assert lesson.overs == 1


def test_another_tempo_begins_the_round_anew_and_within_limits(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.clock.turn(6)
    lesson.desk.tempo(1)
    lesson.clock.turn(0)
    assert (lesson.desk.aim.tempo, lesson.desk.room.moment.counting, lesson.desk.room.moment.beat) == (65, True, 1)
    for _ in range(60):
        lesson.desk.tempo(-1)
    assert lesson.desk.aim.tempo == 20


def test_going_on_stops_the_beat(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.clock.turn(6)
    lesson.desk.move(1)
    assert lesson.desk.room.part.name == "change 2 of 3"
    assert lesson.clock.waiting == 0
    lesson.desk.again()
    lesson.desk.other_scope()
    assert (lesson.desk.room.part.name, lesson.clock.waiting) == ("whole drill", 0)


def test_without_a_class_nothing_is_to_be_marked(tmp_path: Path) -> None:
    alone = Lesson(tmp_path, seats=False)
    alone.play()
    assert (alone.overs, alone.kept, alone.desk.last, alone.desk.room.phase) == (0, [], None, Phase.OVER)


def test_closed_it_is_silent(lesson: Lesson) -> None:
    lesson.desk.again()
    lesson.desk.close()
    lesson.clock.turn(30)
    assert (lesson.overs, lesson.desk.room.ticks) == (0, -1)
