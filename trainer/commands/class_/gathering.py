"""From the logs of a class's seats to what came of its playing."""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median
from typing import TYPE_CHECKING

from trainer.commands.own import own_settings
from trainer.commands.progress.keys import local
from trainer.commands.usual import usual_times
from trainer.errors import ChangeoverError
from trainer.files import paths
from trainer.log.history import reading
from trainer.practice.record import Series, Timing
from trainer.sheets.lesson import Lesson, Part, Timed, Tried
from trainer.ui.played import drill_of, name_of, timed_by

if TYPE_CHECKING:
    from trainer.files.settings import Settings
    from trainer.hand.reach import Hand
    from trainer.log.history import Summary
    from trainer.log.seats import Played
    from trainer.practice.drill import Drill
    from trainer.practice.plan import Plan
    from trainer.practice.roster import Class, Seat

_MOST = 5
"""So many slow changes are named, and so many to practise."""


@dataclass(frozen=True, slots=True)
class Seated:
    """A seat with what its log tells."""

    seat: Seat
    """Who sits where."""
    rounds: tuple[Played, ...] = ()
    """The rounds, oldest first."""
    summaries: tuple[Summary, ...] = ()
    """Every series, the slowest first."""
    planned: tuple[tuple[str, str], ...] = ()
    """What was timed and is worth practising, and why."""


def gathered(group: Class, today: date) -> tuple[list[Seated], Lesson]:
    """Return what each seat's log tells, and what came of it all.

    A log that cannot be read is told on standard error, and counts as an empty one.
    """
    own = own_settings()
    found = [_read(seat, today, own) for seat in group.seats]
    seats = tuple(_part(one) for one in found)
    return found, Lesson(group.name, _span(found), _whole(found, seats), seats)


def sheet_of(
    one: Seated,
    every: Sequence[Seated],
    part: Part,
    hand: Hand,
    titled: Callable[[str], Drill | None],
    *,
    left_handed: bool,
) -> str | None:
    """Return the practice sheet of a seat: of the drill it played last in a round, or else of the class's.

    `titled` finds a drill of the library by its title. None where the class has played none.
    """
    from trainer.sheets.content import content
    from trainer.sheets.page import html

    last = max(one.rounds or [played for seat in every for played in seat.rounds], key=_began, default=None)
    drill = None if last is None else titled(last.drill) or _as_played(last.drill, [one, *every])
    if drill is None:
        return None
    made = replace(content(drill, hand, usual_times(one.summaries)), player=part.title, practise=part.practise)
    return html(made, left_handed=left_handed)


def _as_played(title: str, seats: Iterable[Seated]) -> Drill | None:
    """Return a drill of this title that is no file of the library: the changes that were played of it."""
    return drill_of(title, (s.series.change for one in seats for s in one.summaries if s.series.timing is Timing.BEAT))


def _began(played: Played) -> float:
    return played.at


def _read(seat: Seat, today: date, own: Settings) -> Seated:
    from trainer.ui.planned import plan_for

    try:
        with reading(paths.seat_log(seat.id)) as history:
            summaries = tuple(history.summaries())
            made = plan_for(history, own.reach, today, own.goal_tempo, own.minutes)
            return Seated(seat, tuple(history.rounds()), summaries, _planned(made))
    except ChangeoverError as error:
        sys.stderr.write(f"changeover: seat {seat.number}: {error.problems[0]}\n")
        return Seated(seat)


def _planned(made: Plan) -> tuple[tuple[str, str], ...]:
    return tuple((name_of(item.look.series.change), item.why) for item in made.items)


def _part(one: Seated) -> Part:
    tried = _tried(one.summaries)
    timed = [
        Timed(name_of(s.series.change), timed_by(s.series), s.median_ms, s.best_ms)
        for s in one.summaries
        if s.median_ms is not None and s.best_ms is not None
    ]
    had = sum(played.had for played in one.rounds)
    practise = _unique([*one.planned, *_missed(tried)])
    return Part(one.seat.title, len(one.rounds), had, tried, tuple(timed[:_MOST]), practise)


def _whole(found: Sequence[Seated], seats: Sequence[Part]) -> Part:
    tried = _tried(summary for one in found for summary in one.summaries)
    alike: dict[Series, list[Summary]] = defaultdict(list)
    for one in found:
        for summary in one.summaries:
            if summary.median_ms is not None:
                alike[summary.series].append(summary)
    slowest = tuple(sorted((_middle(*each) for each in alike.items()), key=lambda slow: -slow.median_ms)[:_MOST])
    slow = ((each.name, f"usually {each.median_ms:.0f} ms, {each.how}") for each in slowest)
    practise = _unique([*_missed(tried), *slow])
    return Part("The class", sum(p.rounds for p in seats), sum(p.had for p in seats), tried, slowest, practise)


def _middle(series: Series, summaries: Sequence[Summary]) -> Timed:
    """Return how fast several seats are at one series, each seat counting once."""
    medians = [summary.median_ms for summary in summaries if summary.median_ms is not None]
    bests = [summary.best_ms for summary in summaries if summary.best_ms is not None]
    return Timed(name_of(series.change), timed_by(series), median(medians), min(bests), len(medians))


def _tried(summaries: Iterable[Summary]) -> tuple[Tried, ...]:
    """Return how each change went in rounds, those that were had least first. Marks are counted, not timed."""
    found: dict[str, list[Summary]] = defaultdict(list)
    for summary in summaries:
        if summary.series.timing is Timing.BEAT and summary.answered:
            found[summary.series.change].append(summary)
    tried = (
        Tried(
            name_of(change),
            sum(one.answered for one in each),
            sum(one.clean for one in each),
            max((one.series.tempo for one in each if one.clean and one.series.tempo is not None), default=None),
            median(late) if (late := [one.late_ms for one in each if one.late_ms is not None]) else None,
            sum(one.kept_answered - one.kept for one in each),
            sum(one.kept for one in each),
        )
        for change, each in found.items()
    )
    return tuple(sorted(tried, key=lambda one: one.had / one.asked))


def _missed(tried: Iterable[Tried]) -> Iterable[tuple[str, str]]:
    return (
        (one.name, ", ".join(filter(None, (f"had {one.had} of {one.asked} times", one.heard))))
        for one in tried
        if one.had < one.asked or one.came_up
    )


def _unique(items: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return the first of each change, so many at most."""
    first: dict[str, str] = {}
    for what, why in items:
        first.setdefault(what, why)
    return tuple(first.items())[:_MOST]


def _span(found: Sequence[Seated]) -> str:
    """Return on which days rounds were played, in words."""
    began = sorted(moment for one in found for played in one.rounds if (moment := local(played.at)) is not None)
    if not began:
        return ""
    first, last = (moment.date().isoformat() for moment in (began[0], began[-1]))
    return f"rounds of {last}" if first == last else f"rounds from {first} to {last}"
