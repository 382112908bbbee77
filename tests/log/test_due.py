"""Due dates, held against the intervals that the scheduler's own makers test for."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from fsrs import Card, Rating, Scheduler

from trainer.log.due import LONGEST_DAYS, due_day
from trainer.practice.reviews import Grade, Review

DAY = 738_000


def intervals(*grades: Grade) -> list[int]:
    """Return the days until a change is due after each of these, each review on the day it was due."""
    days, found, seen = DAY, [], []
    for grade in grades:
        seen.append(Review(days, grade))
        due = due_day(seen)
        assert due is not None
        found.append(due - days)
        days = due
    return found


def test_the_pinned_scheduler_gives_its_published_intervals() -> None:
    # fsrs 6.3.2, its own test of the default scheduler with fuzz off, from 2022-11-29 12:30 UTC.
    scheduler, card, now, found = (
        Scheduler(enable_fuzzing=False),
        Card(),
        datetime(2022, 11, 29, 12, 30, tzinfo=UTC),
        [],
    )
    for rating in (*[Rating.Good] * 6, *[Rating.Again] * 2, *[Rating.Good] * 5):
        card, _ = scheduler.review_card(card, rating, now)
        assert card.last_review is not None
        found.append((card.due - card.last_review).days)
        now = card.due
    assert found == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]


def test_good_days_widen_the_interval_as_published_up_to_our_bound() -> None:
    # Without steps of minutes the first good day counts at once: the published 2, 11, 46, then our bound.
    assert intervals(*[Grade.GOOD] * 6) == [2, 11, 46, 60, 60, 60]
    assert LONGEST_DAYS == 60


def test_a_lost_change_is_due_the_next_day_and_a_hard_one_sooner_than_a_good_one() -> None:
    assert intervals(Grade.GOOD, Grade.GOOD, Grade.AGAIN)[-1] <= 2
    assert intervals(Grade.AGAIN) == [1]
    good, hard = (intervals(Grade.GOOD, grade)[-1] for grade in (Grade.GOOD, Grade.HARD))
    assert hard < good


def test_what_was_never_practised_is_not_due() -> None:
    assert due_day([]) is None


@pytest.mark.parametrize("late", [0, 1, 30])
def test_the_due_day_counts_from_the_day_it_was_played(late: int) -> None:
    due = due_day([Review(DAY + late, Grade.GOOD)])
    assert due == DAY + late + 2
