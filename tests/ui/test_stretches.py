"""Weeks and drills in words, cells and plots, and the views of the progress screen that show them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from textual.widgets import DataTable

from tests.strategies import texts
from tests.ui.app_fakes import app, rows, running_text, services, shows, until
from trainer.files import paths
from trainer.log.spans import DrillPlayed, Span
from trainer.log.writer import Log
from trainer.practice.record import Attempt, Run, Timing
from trainer.ui.progress.plots import bars, plot
from trainer.ui.progress.stretches import (
    DRILL_HEADS,
    WEEK_HEADS,
    drill_cells,
    drill_plot,
    drill_sentence,
    every_week,
    percent,
    since_weeks,
    stretches,
    week_cells,
    week_name,
    week_sentence,
)
from trainer.ui.progress.views import Drills, Weeks
from trainer.ui.screens.drill import DrillScreen

STANDARD = "E2 A2 D3 G3 B3 E4 | 0"
EM_AM = f"{STANDARD} | 0 2/1 2/2 0 0 0 | x 0 2/2 2/3 1/1 0"
MONDAY = date(2025, 6, 2)
DAY = 86_400.0


def span(begins: date, tries: int = 40, medians: Mapping[int, float] | None = None, answered: int = 30) -> Span:
    return Span(begins, 3, 5, tries, 2, min(20, answered), answered, 600.0, medians or {})


def weeks(*medians: float, skip: int = 0) -> list[Span]:
    """Weeks of one change with these medians, and `skip` weeks without practice before the last."""
    every = [MONDAY + timedelta(days=7 * n) for n in range(len(medians) + skip)]
    return [
        span(day, medians={1: ms}) for day, ms in zip((*every[: len(medians) - 1], every[-1]), medians, strict=True)
    ]


# Words and cells


def test_a_week_in_words_and_cells() -> None:
    _, last = stretches(weeks(1000.0, 800.0))
    assert week_sentence(last) == (
        "40 tries at 2 changes on 3 days, about 10 minutes; clean 20 of 30; they took 11 % less than usual"
    )
    cells = dict(zip(WEEK_HEADS, week_cells(last), strict=True))
    assert cells == {
        "week": "2025-W24",
        "from": "2025-06-09",
        "days": "3",
        "minutes": "10",
        "tries": "40",
        "changes": "2",
        "clean": "20 of 30",
        "pace": "89 %",
    }


def test_what_is_not_known_is_not_said() -> None:
    (only,) = stretches([span(MONDAY, tries=1, answered=0)])
    assert week_sentence(only) == "1 try at 2 changes on 3 days, about 10 minutes"
    assert week_cells(only)[-2:] == ("-", "-")
    assert percent(None) == "-"


@pytest.mark.parametrize(
    ("day", "name"),
    [("2024-12-30", "2025-W01"), ("2020-12-28", "2020-W53"), ("2026-12-28", "2026-W53"), ("2027-01-04", "2027-W01")],
)
def test_weeks_are_called_as_iso_8601_has_them(day: str, name: str) -> None:
    """From the standard's rule that week 1 holds the year's first Thursday, counted out on a calendar."""
    assert week_name(date.fromisoformat(day)) == name


def test_half_a_year_is_looked_back_from_this_weeks_monday() -> None:
    first = date.fromtimestamp(since_weeks(date(2025, 6, 4), 3) + 3600)
    assert first.isoformat() == "2025-05-19"


def test_a_drill_in_words_and_cells() -> None:
    drill = DrillPlayed("Two chords", 12, 300, 1_748_800_000.0, 1_749_400_000.0)
    days = stretches(weeks(1000.0, 1000.0, 1200.0))
    assert drill_sentence(drill, days).endswith("; on 2025-06-16 40 tries at 2 changes; they took 20 % more than usual")
    assert drill_sentence(drill, []).startswith("300 tries in 12 runs since 2025-06-0")
    assert dict(zip(DRILL_HEADS, drill_cells(drill), strict=True))["tries"] == "300"


# Plots


def test_bars_stand_on_nought_and_carry_the_greatest_and_both_ends() -> None:
    assert [row.rstrip() for row in bars([4.0, 0.0, 1.0], 21, 6, ("first", "last"), fine=False, chosen=2)] == [
        "      4 |###",
        "        |###",
        "        |###",
        "      0 |###     ###",
        "        +---------^--",
        "         first   last",
    ]


def test_weeks_without_practice_are_bars_of_nought() -> None:
    every = every_week(stretches(weeks(1000.0, 900.0, skip=2)))
    assert [tries for _, tries in every] == [40, 0, 0, 40]
    assert every_week([]) == []


def test_a_drill_without_times_shows_its_tries() -> None:
    _, paced = drill_plot(stretches(weeks(1000.0, 900.0)))
    draw, untimed = drill_plot(stretches([span(MONDAY), span(MONDAY + timedelta(days=1), tries=10)]))
    assert (paced.split(";")[0], untimed) == ("Pace by day of practice", "Tries by day of practice")
    assert "40 │" in draw(60, 8)[0]


def test_a_plot_writes_its_values_and_ends_as_told() -> None:
    drawn = plot([1.0, 0.5], 30, 5, label=percent, ends=("2025-06-02", "06-03"))
    assert (drawn[0].split()[0], drawn[2].split()[0]) == ("100", "50")
    assert drawn[-1].split() == ["06-03"]  # both have no room below two dots


AMOUNTS = st.lists(st.floats(0, 999_999), min_size=1, max_size=80)


@given(AMOUNTS, st.integers(12, 120), st.integers(4, 20), st.booleans())
def test_bars_stay_within_their_room_and_what_is_more_is_no_lower(
    values: list[float], width: int, height: int, fine: bool
) -> None:
    drawn = bars(values, width, height, ("a", "z"), fine=fine, chosen=len(values) - 1)
    assert len(drawn) == height
    assert max(map(len, drawn)) <= width
    assert sum(row.count("▲" if fine else "^") for row in drawn) == 1
    heights = [sum(row[9 + at] != " " for row in drawn[:-2]) for at in _columns(drawn, values, width)]
    shown = values[-len(heights) :]
    for (one, of_one), (other, of_other) in zip(
        zip(shown, heights, strict=True), zip(shown[1:], heights[1:], strict=True), strict=False
    ):
        assert (of_one >= of_other) if one >= other else (of_one <= of_other)
    assert all((height > 0) == (value > 0) for value, height in zip(shown, heights, strict=True))


def _columns(drawn: list[str], values: list[float], width: int) -> range:
    """Return the first column of each bar that has room."""
    wide = max(1, min(8, (width - 9) // len(values)))
    return range(0, min(len(values), (width - 9) // wide) * wide, wide)


# Views


def test_the_newest_week_stands_on_top_and_says_what_stands_out() -> None:
    view = Weeks(stretches(weeks(1000.0, 800.0)), ["Record on a day: Em → Am."], fine=True)
    _, cells = view.table(100)
    assert [row[0] for row in cells] == ["2025-W24", "2025-W23"]
    assert view.tell(0).text.endswith("; record on a day: Em → Am")
    assert "record" not in view.tell(1).text
    assert Weeks([], [], fine=True).tell(0).text.startswith("Nothing was practised")


@given(st.integers(30, 140), texts(60, shortest=1))
def test_tables_stay_within_their_width(width: int, title: str) -> None:
    drill = DrillPlayed(title, 1_234, 123_456, 0.0, 1_749_400_000.0)
    for view in (
        Drills([drill], lambda _: [], fine=True),
        Weeks(stretches(weeks(1000.0, 800.0)), [], fine=True),
    ):
        heads, cells = view.table(width)
        widest = [max(cell_len(row[place]) for row in (heads, *cells)) for place in range(len(heads))]
        assert sum(widest) + 2 * len(heads) <= max(width, 52)


# The screen


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


def practise(log: Log, now: float) -> None:
    """Play the shipped first change on each of six days, faster from day to day."""
    for day in range(6):
        begins = now - (5 - day) * DAY - 600.0
        log.begin(Run(f"run {day}", "Em to Am", begins, Timing.LEAVE))
        for n in range(8):
            ms = 1000.0 - 60 * day + 10 * (n % 3)
            attempt = Attempt(f"{day} {n}", f"run {day}", EM_AM, begins + 5.0 * n, Timing.LEAVE, "keys", ms, clean=True)
            receipt = log.add(attempt)
    assert receipt.result(5) is None


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_a_key_for_changes_drills_and_weeks(log: Log, size: tuple[int, int]) -> None:
    given = services(log)
    practise(log, given.wall())
    async with app(given, "progress").run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, "Progress · changes", "Em → Am", "0.70 s"))
        await pilot.press("w")
        await until(pilot, lambda: shows(pilot, "Progress · weeks", "Tries a week", "▲"))
        assert shows(pilot, week_name(date.fromtimestamp(given.wall() - 600)))
        if size[0] > 60:
            await until(pilot, lambda: "record on " in running_text(pilot))
            assert "median 710 ms over 8 tries, 770 before" in running_text(pilot)
        await pilot.press("d")
        await until(pilot, lambda: shows(pilot, "Progress · drills", "Em to Am", "Pace by day of practice"))
        assert "48 tries in 6 runs since" in running_text(pilot)
        await pilot.press("c")
        await until(pilot, lambda: shows(pilot, "Progress · changes", "median"))


async def test_enter_opens_a_drill_that_has_a_file(log: Log) -> None:
    from trainer.files.library import library

    title = library().entries[0].head.title
    assert title is not None
    log.begin(Run("run", title, 1000.0, Timing.LEAVE))
    assert log.add(Attempt("a", "run", EM_AM, 1001.0, Timing.LEAVE, "keys", 700.0)).result(5) is None
    async with app(services(log), "progress").run_test(size=(80, 24)) as pilot:
        await pilot.press("d")
        await until(pilot, lambda: shows(pilot, "1 try in 1 run"))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, DrillScreen))


async def test_with_nothing_logged_every_view_says_so(log: Log) -> None:
    async with app(services(log), "progress").run_test(size=(80, 24)) as pilot:
        for key, said in (("w", "Nothing was practised"), ("d", "No drill was played yet"), ("c", "Nothing is logged")):
            await pilot.press(key)
            await until(pilot, lambda said=said: shows(pilot, said))  # type: ignore[misc]  # bound at once
            assert pilot.app.screen.query_one(DataTable).row_count == 0
        assert rows(pilot)[0].startswith(" Progress")
