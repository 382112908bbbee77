"""Weeks and drills as a player reads them: the cells of their tables, their plots and sentences."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from trainer.counts import plural
from trainer.practice.progress import paces
from trainer.practice.statistics import TREND_MINIMUM, Verdict, share, trend
from trainer.ui.days import day_name
from trainer.ui.progress.plots import bars, plot

if TYPE_CHECKING:
    from trainer.log.spans import DrillPlayed, Span

NOTHING = "-"
"""Stands where there is no number."""
WEEKS = 26
"""So many weeks are looked back: half a year."""
RUNS = 100
"""So many newest runs of a drill are looked at day by day."""
PACE = "Pace: against each change's own usual time; under 100 % is faster."
"""What a pace is, in one line."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One week or day of practice with its pace."""

    span: Span
    """What was played in it."""
    pace: float | None
    """As a proportion, see `practice.progress.paces`; None where no change says anything."""

    @property
    def minutes(self) -> int:
        """Minutes of playing."""
        return round(self.span.played_s / 60)


def stretches(spans: Sequence[Span]) -> list[Stretch]:
    """Return `spans`, oldest first, with their paces."""
    return [Stretch(span, pace) for span, pace in zip(spans, paces([span.medians for span in spans]), strict=True)]


def since_weeks(today: date, weeks: int = WEEKS) -> float:
    """Return when the first of the last so many weeks began where the player is, in seconds since 1970-01-01 UTC."""
    monday = today - timedelta(days=today.weekday())
    first = monday.toordinal() - 7 * (weeks - 1)
    return time.mktime(date.fromordinal(max(first, 1)).timetuple())


def week_name(monday: date) -> str:
    """Return a week's name by ISO 8601: `2026-W48`."""
    year, week, _ = monday.isocalendar()
    return f"{year}-W{week:02}"


def percent(pace: float | None) -> str:
    """Return a pace in per cent."""
    return NOTHING if pace is None else f"{pace:.0%}".replace("%", " %")


WEEK_HEADS = ("week", "from", "days", "minutes", "tries", "changes", "clean", "pace")
"""What stands over the cells of a week."""
DRILL_HEADS = ("drill", "last", "runs", "tries", "since")
"""What stands over the cells of a drill."""


def week_cells(week: Stretch) -> tuple[str, ...]:
    """Return the cells of one week."""
    span = week.span
    numbers = (f"{number:,}" for number in (span.days, week.minutes, span.tries, span.changes))
    said = share(span.clean, span.answered) if span.answered else NOTHING
    return (week_name(span.begins), span.begins.isoformat(), *numbers, said, percent(week.pace))


def drill_cells(drill: DrillPlayed) -> tuple[str, ...]:
    """Return the cells of one drill."""
    return (drill.title, day_name(drill.last_at), f"{drill.runs:,}", f"{drill.tries:,}", day_name(drill.first_at))


def every_week(weeks: Sequence[Stretch]) -> list[tuple[date, int]]:
    """Return (Monday, tries) of every week from the first to the last, those without practice too."""
    if not weeks:
        return []
    tries = {week.span.begins: week.span.tries for week in weeks}
    first, last = weeks[0].span.begins, weeks[-1].span.begins
    mondays = (first + timedelta(days=7 * number) for number in range((last - first).days // 7 + 1))
    return [(monday, tries.get(monday, 0)) for monday in mondays]


def week_plot(
    weeks: Sequence[Stretch], chosen: date | None = None, *, fine: bool = True
) -> Callable[[int, int], list[str]]:
    """Return what draws the tries of every week as bars, with a mark at the chosen one."""
    every = every_week(weeks)
    mondays = [monday for monday, _ in every]
    ends = (week_name(mondays[0]), week_name(mondays[-1])) if mondays else ("", "")
    at = mondays.index(chosen) if chosen in mondays else None
    return lambda width, height: bars([float(tries) for _, tries in every], width, height, ends, fine=fine, chosen=at)


def drill_plot(days: Sequence[Stretch], *, fine: bool = True) -> tuple[Callable[[int, int], list[str]], str]:
    """Return what draws a drill day by day, and what that is: its pace, or its tries where no change has a time."""
    paced = [(one.span.begins, one.pace) for one in days if one.pace is not None]
    if len(paced) > 1:
        ends = (paced[0][0].isoformat(), paced[-1][0].isoformat())
        values = [pace for _, pace in paced]
        return (
            lambda width, height: plot(values, width, height, fine=fine, label=percent, ends=ends),
            f"Pace by day of practice; {pace_words(days)}",
        )
    ends = (days[0].span.begins.isoformat(), days[-1].span.begins.isoformat()) if days else ("", "")
    tries = [float(one.span.tries) for one in days]
    return lambda width, height: bars(tries, width, height, ends, fine=fine), "Tries by day of practice"


def pace_words(days: Sequence[Stretch]) -> str:
    """Return where a pace is going, in words; days count like tries do in a trend."""
    values = [one.pace for one in days if one.pace is not None]
    found = trend(values)
    match found.verdict:
        case Verdict.TOO_FEW:
            return f"too few days to tell a trend ({len(values)} of {TREND_MINIMUM})"
        case Verdict.LEVEL:
            return f"level over {found.attempts} days"
        case _:
            return f"getting {found.verdict} over {found.attempts} days"


def week_sentence(week: Stretch) -> str:
    """Return one week in words."""
    span = week.span
    said = f"; clean {share(span.clean, span.answered)}" if span.answered else ""
    held = "" if week.pace is None else f"; {pace_told(week.pace)}"
    return f"{_amount(span)} on {plural(span.days, 'day')}, about {plural(week.minutes, 'minute')}{said}{held}"


def drill_sentence(drill: DrillPlayed, days: Sequence[Stretch]) -> str:
    """Return one drill in words."""
    whole = f"{plural(drill.tries, 'try', 'tries')} in {plural(drill.runs, 'run')} since {day_name(drill.first_at)}"
    if not days:
        return whole
    last = days[-1]
    held = "" if last.pace is None else f"; {pace_told(last.pace)}"
    return f"{whole}; on {last.span.begins.isoformat()} {_amount(last.span)}{held}"


def _amount(span: Span) -> str:
    return f"{plural(span.tries, 'try', 'tries')} at {plural(span.changes, 'change')}"


def pace_told(pace: float) -> str:
    """Return a pace as half a sentence."""
    part = round(abs(1 - pace) * 100)
    return f"they took {part} % {'less' if pace < 1 else 'more'} than usual" if part else "they took as long as usual"
