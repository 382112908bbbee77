"""What a seat's log keeps of a round: what is known of each change, and nothing that nobody said."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import count

import pytest

from trainer.fretboard.text import parse_shape
from trainer.practice.drill import Drill, Order, Step, change_key
from trainer.practice.marked import TEACHER, Marked, marked
from trainer.practice.measures import Answer, Measures
from trainer.practice.record import How, Texture, Timing
from trainer.practice.rounds import ChangeHeard, Mark, Result, Round, SeatHeard

DRILL = Drill(
    "Three shapes",
    tuple(
        Step(parse_shape(text), beats=Fraction(beats))
        for text, beats in (("x 3/3 2/2 0 1/1 0", 4), ("0 2/2 2/3 1/1 0 0", 2), ("3/2 2/1 0 0 0 3/3", 4))
    ),
    order=Order.ONCE,
)
KEYS = tuple(change_key(DRILL.instrument, one.shape, other.shape) for one, other in DRILL.changes)
ON_BEAT = ChangeHeard(0, landed=True, late_ms=42.0, kept_down={3: Answer.NO, 1: Answer.YES})
LATE = ChangeHeard(1, landed=False, late_ms=610.0)
HEARD = SeatHeard("kwb", (ON_BEAT,))
PORT = "Six:strings"


def kept(result: Result, pairs: tuple[tuple[int, int], ...], port: str | None = None, drill: Drill = DRILL) -> Marked:
    ids = count(1)
    entry = marked(drill, Round(60.0, pairs, (result,)), result, 1000.0, port, lambda: f"id{next(ids)}")
    assert entry is not None
    return entry


@pytest.mark.parametrize(
    ("mark", "pairs", "landed", "clean"),
    [
        (Mark.HAD, ((0, 1),), 1, [True]),
        (Mark.MISSED, ((0, 1),), 0, [False]),
        (Mark.HAD, ((0, 1), (1, 2)), 2, [True, True]),
        # One of the two was missed, or both: the mark does not say.
        (Mark.MISSED, ((0, 1), (1, 2)), None, [None, None]),
    ],
)
def test_a_mark_says_of_a_change_what_it_can(
    mark: Mark, pairs: tuple[tuple[int, int], ...], landed: int | None, clean: list[bool | None]
) -> None:
    entry = kept(Result("kwb", mark), pairs)
    assert (entry.run.drill, entry.run.at, entry.run.timing, entry.run.tempo) == (DRILL.title, 1000, Timing.BEAT, 60)
    assert (entry.run.asked, entry.run.landed) == (len(pairs), landed)
    assert [attempt.clean for attempt in entry.attempts] == clean
    assert [attempt.change for attempt in entry.attempts] == list(KEYS[: len(pairs)])
    assert len({entry.run.id, *(attempt.id for attempt in entry.attempts)}) == 1 + len(pairs)
    assert {attempt.run for attempt in entry.attempts} == {entry.run.id}
    assert {(attempt.change_ms, attempt.source, attempt.measures) for attempt in entry.attempts} == {
        (None, TEACHER, None)
    }


def test_changes_stand_at_the_beats_they_were_due_on() -> None:
    # At 60 a minute a beat takes a second: a bar of four counted in, four beats of the first shape, two of the second.
    assert [attempt.at for attempt in kept(Result("kwb", Mark.HAD), ((0, 1), (1, 2))).attempts] == [1008, 1010]


def test_a_round_from_memory_is_logged_apart() -> None:
    result = Result("kwb", Mark.HAD)
    entry = marked(DRILL, Round(60.0, ((0, 1),), (result,), How.RECALLED), result, 0.0, None, str)
    assert entry is not None
    assert (entry.run.how, entry.attempts[0].series.how) == (How.RECALLED, How.RECALLED)


def test_who_was_away_has_nothing_in_the_log() -> None:
    result = Result("kwb", Mark.AWAY)
    assert marked(DRILL, Round(60.0, ((0, 1),), (result,)), result, 0.0, None, str) is None


def test_a_round_of_one_change_that_was_heard_keeps_what_was_heard() -> None:
    (attempt,) = kept(Result("kwb", Mark.HAD, HEARD), ((0, 1),), PORT).attempts
    assert attempt.source == PORT
    assert attempt.measures == Measures(PORT, "", lateness_ms=42.0, kept_down={3: Answer.NO, 1: Answer.YES})
    figures = replace(DRILL, steps=tuple(replace(step, texture=Texture.FIGURE) for step in DRILL.steps))
    (attempt,) = kept(Result("kwb", Mark.HAD, HEARD), ((0, 1),), PORT, figures).attempts
    assert attempt.measures == Measures(PORT, "", delay_ms=42.0, kept_down={3: Answer.NO, 1: Answer.YES})


def test_of_several_changes_that_were_heard_each_keeps_its_own() -> None:
    way_back = ChangeHeard(None, landed=True, late_ms=900.0)
    entry = kept(Result("kwb", Mark.MISSED, SeatHeard("kwb", (ON_BEAT, way_back, LATE))), ((0, 1), (1, 2)), PORT)
    assert (entry.run.asked, entry.run.landed) == (2, 1)
    assert [(attempt.source, attempt.clean) for attempt in entry.attempts] == [(PORT, True), (PORT, False)]
    measures = [attempt.measures for attempt in entry.attempts]
    assert [one and one.lateness_ms for one in measures] == [42.0, 610.0]
    assert [one and one.kept_down for one in measures] == [{3: Answer.NO, 1: Answer.YES}, {}]


@pytest.mark.parametrize(("mark", "change", "clean"), [(Mark.HAD, ON_BEAT, True), (Mark.MISSED, LATE, None)])
def test_what_was_played_before_a_round_was_frozen_has_its_mark_alone(
    mark: Mark, change: ChangeHeard, clean: bool | None
) -> None:
    heard = SeatHeard("kwb", (replace(change, number=1),))
    first, second = kept(Result("kwb", mark, heard), ((0, 1), (1, 2)), PORT).attempts
    assert (first.source, first.clean, first.measures) == (TEACHER, clean, None)
    assert (second.source, second.clean) == (PORT, change.landed)


def test_a_mark_against_what_was_heard_comes_from_the_teacher() -> None:
    (attempt,) = kept(Result("kwb", Mark.MISSED), ((0, 1),), PORT).attempts
    assert attempt.source == TEACHER


@pytest.mark.parametrize("port", [None, PORT])
def test_no_round_is_pooled_with_what_was_timed(port: str | None) -> None:
    series = {attempt.series for attempt in kept(Result("kwb", Mark.HAD, HEARD), ((0, 1),), port).attempts}
    timed = {
        replace(one, timing=timing, source=source)
        for one in series
        for timing in (Timing.LEAVE, Timing.CUE, Timing.HEARD)
        for source in ("keys", "pedal", "browser", PORT)
    }
    assert series.isdisjoint(timed)
