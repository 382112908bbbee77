"""When a change is due again, by the FSRS scheduler (the package fsrs) from one review a day.

Nothing is stored: the dates follow from the attempts in the log, so they are right again as soon as one is taken back.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import cache

from fsrs import Card, Rating, Scheduler

from trainer.practice.reviews import Review

LONGEST_DAYS = 60
"""No change rests longer than this, whatever the model says: it was made for recall (ours, no source)."""


def due_day(reviews: Sequence[Review]) -> int | None:
    """Return the day on which a change with these reviews, oldest first, is due again; None where there are none."""
    card: Card | None = None
    scheduler = _scheduler()
    for review in reviews:
        card, _ = scheduler.review_card(card or Card(card_id=1), Rating(review.grade), _moment(review.day))
    return None if card is None else card.due.toordinal()


@cache
def _scheduler() -> Scheduler:
    # Steps of minutes are for answers within one sitting; here a day is one review, and a miss is due the next day.
    return Scheduler(learning_steps=(), relearning_steps=(), maximum_interval=LONGEST_DAYS, enable_fuzzing=False)


def _moment(day: int) -> datetime:
    """Return the moment that stands for a day: the scheduler counts whole days between two of them."""
    return datetime.fromordinal(day).replace(tzinfo=UTC)
