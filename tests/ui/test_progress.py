"""Progress: the columns that fit, lines over time with their numbers, and the screen with what was heard."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.widgets import DataTable

from tests.ui.app_fakes import app, rows, services, shows, until
from trainer.files import paths
from trainer.files.library import find
from trainer.log.history import Summary
from trainer.log.writer import Log
from trainer.practice.beats import Due, Place, by_beat
from trainer.practice.drill import change_key
from trainer.practice.measures import Answer, Measures
from trainer.practice.record import Attempt, Run, Series, Texture, Timing
from trainer.ui.played import name_of, short_name_of, source_name
from trainer.ui.progress.columns import COLUMNS, table
from trainer.ui.progress.inbar import draw as draw_bar
from trainer.ui.progress.sentences import sentence
from trainer.ui.progress.trends import Line, draw, lines

STANDARD = "E2 A2 D3 G3 B3 E4 | 0"
EM_AM = f"{STANDARD} | 0 2/1 2/2 0 0 0 | x 0 2/2 2/3 1/1 0"
UNNAMED = f"{STANDARD} | x 5/2 7/4 x 6/3 5/1 | x 7/2 9/4 x 8/3 7/1"
HIGH = f"{STANDARD} | x x 12/1 12/1 12/1 12/1 | x 7/2 9/4 x 8/3 (7/1)"
PORT = "Six Strings:Six Strings MIDI 1"


def measures(n: int, **other: float | None) -> Measures:
    answer = Answer.NO if n % 4 == 0 else Answer.YES
    given: dict[str, float | None] = {"change_ms": 900.0 - n, "gap_ms": 60.0 - 2 * n, "spread_ms": 20.0, **other}
    return Measures("guitar", "none", kept_down={1: answer, 2: Answer.NOT_HEARD}, **given)  # type: ignore[arg-type]  # numbers only


def heard(n: int, *, change: str = EM_AM, texture: Texture = Texture.BLOCK, **other: float | None) -> Attempt:
    told = measures(n, **other)
    at, clean = 2000.0 + n, n % 3 > 0
    return Attempt(
        f"{change} {n}", "heard", change, at, Timing.HEARD, PORT, told.change_ms, clean, None, texture, measures=told
    )


def summary(change: str = EM_AM, *, measured: int = 12, **other: float | None) -> Summary:
    series = Series(change, Timing.HEARD if measured else Timing.LEAVE, PORT if measured else "keys")
    numbers: dict[str, float | None] = {"gap_ms": 31.0, "spread_ms": 12.0, "late_ms": None, **other}
    told = numbers if measured else dict.fromkeys(numbers)
    return Summary(series, 12, 655.0, 840.0, 8, 9, 0.0, measured, kept=3, kept_answered=4 if measured else 0, **told)


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        opened.begin(Run("keys", "Two chords", 1000.0, Timing.LEAVE))
        opened.begin(Run("heard", "Heard chords", 2000.0, Timing.HEARD))
        yield opened


# Names


@pytest.mark.parametrize(
    ("key", "full", "short"),
    [
        (EM_AM, "Em → Am", "Em → Am"),
        (UNNAMED, "x 5/2 7/4 x 6/3 5/1 → x 7/2 9/4 x 8/3 7/1", "x57x65 → x79x87"),
        # Frets of two digits and silent fingers have no short form.
        (HIGH, "x x 12/1 12/1 12/1 12/1 → x 7/2 9/4 x 8/3 (7/1)", "x x 12/1 12/1 12/1 12/1 → x 7/2 9/4 x 8/3 (7/1)"),
        ("no key at all", "no key at all", "no key at all"),
    ],
)
def test_a_change_by_its_names(key: str, full: str, short: str) -> None:
    assert (name_of(key), short_name_of(key)) == (full, short)


@pytest.mark.parametrize(
    ("source", "name"),
    [
        ("keys", "keys"),
        (PORT, "Six Strings MIDI 1"),
        ("Bridge:capture_1", "Bridge capture_1"),
        ("Bridge: capture_1 #2", "Bridge capture_1 #2"),
        ("red\x1b[31m:x", "red·[31m x"),
    ],
)
def test_a_source_by_its_name(source: str, name: str) -> None:
    assert source_name(source) == name


# Columns


def test_every_column_is_there_where_there_is_room() -> None:
    heads, cells = table([summary(), summary(measured=0)], 150)
    assert heads == tuple(column.head for column in COLUMNS)
    row = dict(zip(heads, cells[0], strict=True))
    assert (row["change"], row["timed"], row["from"]) == ("Em → Am", "heard", "Six Strings MIDI 1")
    assert (row["median"], row["gap"], row["spread"], row["late"]) == ("0.84 s", "31 ms", "12 ms", "-")
    assert (row["kept"], row["clean"]) == ("3 of 4", "8 of 9")
    assert dict(zip(heads, cells[1], strict=True))["kept"] == "-"


def test_at_eighty_columns_all_that_was_heard_has_room_and_at_sixty_the_gap() -> None:
    assert table([summary(UNNAMED)], 79)[0][-5:] == ("median", "gap", "spread", "kept", "clean")
    assert set(table([summary(UNNAMED)], 59)[0]) >= {"change", "timed", "median", "gap", "clean"}


def test_where_nothing_was_heard_nothing_of_hearing_is_shown() -> None:
    heads, _ = table([summary(measured=0)], 150)
    assert set(heads).isdisjoint({"late", "gap", "spread", "kept"})
    assert table([], 80)[1] == []


@given(st.integers(40, 160), st.lists(st.sampled_from([EM_AM, UNNAMED, HIGH, "x" * 90]), min_size=1, max_size=4))
def test_the_table_stays_within_its_width(width: int, keys: list[str]) -> None:
    heads, cells = table([summary(key) for key in keys], width)
    assert len(cells) == len(keys)
    widest = [max(len(row[place]) for row in (heads, *cells)) for place in range(len(heads))]
    assert sum(widest) + 2 * len(heads) <= width
    assert heads[0] == "change"


# Lines over time


def test_each_measure_has_a_line_with_its_number() -> None:
    found = {line.name: line for line in lines([heard(n) for n in range(12)])}
    assert list(found) == ["gap", "spread", "kept", "clean"]
    # Gaps 60, 58 ... 38: median 49; twelve that only fall are a trend. 3 of 12 fingers came up, 4 of 12 were not clean.
    assert found["gap"].number == "49 ms, 38 to 60, falling"
    assert found["spread"].number == "20 ms, 20 to 20, level"
    assert (found["kept"].number, found["clean"].number) == ("9 of 12, last ten 80%", "8 of 12, last ten 70%")
    assert found["clean"].values[:4] == (0.0, 0.5, 2 / 3, 0.5)


def test_what_comes_after_its_place_has_a_line_in_tempo_and_in_figures() -> None:
    (late, *_) = lines([heard(1, lateness_ms=-8.0, delay_ms=70.0), heard(2, delay_ms=12.0)])
    assert (late.name, late.values) == ("late", (-8.0, 12.0))


def test_nothing_heard_is_no_line() -> None:
    assert lines([Attempt("a", "keys", EM_AM, 0.0, Timing.LEAVE, "keys", 700.0)]) == ()


@pytest.mark.parametrize(("fine", "bars"), [(True, "▁▅█"), (False, "_=#")])
def test_bars_run_from_the_least_to_the_greatest_and_a_share_from_nothing_to_all(fine: bool, bars: str) -> None:
    gap, share = Line("gap", (-10.0, 2.0, 10.0), "2 ms"), Line("clean", (1.0,), "1 of 1", whole=True)
    assert draw([gap, share], 40, fine=fine) == [f"gap     {bars} 2 ms", f"clean   {bars[-1]}   1 of 1"]


@given(
    st.lists(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=300), max_size=5),
    st.integers(20, 160),
    st.booleans(),
)
def test_lines_stay_within_their_width(series: list[list[float]], width: int, fine: bool) -> None:
    found = [Line(f"line {n}", tuple(values), f"{values[-1]:.0f} ms") for n, values in enumerate(series)]
    drawn = draw(found, width, fine=fine)
    assert len(drawn) == len(found)
    assert all(len(row) <= width for row in drawn)
    assert all(line.number in row for line, row in zip(found, drawn, strict=True))


def test_a_figure_has_no_change_time_and_the_sentence_says_how_late_it_was() -> None:
    said = sentence([heard(n, change_ms=None, delay_ms=10.0 * n, texture=Texture.FIGURE) for n in range(3)])
    assert said == "3 heard; the last ten were late by, ms: 0 10 20"


# Beat by beat


TWO = by_beat([Due(Place(1, Fraction(beat)), True, ms, 10.0, clean=ms < 50) for beat, ms in [(1, -20), (3, 40)] * 2])


@pytest.mark.parametrize(
    ("width", "fine", "drawn"),
    [
        (
            68,
            True,
            (
                "beat 1   ●             │                              -20 ms, gap 10",
                "beat 3                 │                            ● +40 ms, gap 10",
                "         20 early      0                      40 late",
            ),
        ),
        (
            40,
            False,
            (
                "beat 1   *       |                -20 ms",
                "beat 3           |              * +40 ms",
                "                 0        40 late",
            ),
        ),
        (20, True, ("beat 1 -20 ms", "beat 3 +40 ms")),
    ],
)
def test_the_picture_of_a_bar(width: int, fine: bool, drawn: tuple[str, ...]) -> None:
    assert tuple(draw_bar(TWO, width, 5, fine=fine)) == drawn


def test_where_rows_are_few_the_latest_beats_are_drawn() -> None:
    assert [row[:6] for row in draw_bar(TWO, 80, 2)] == ["beat 3", "      "]


@given(st.lists(st.tuples(st.integers(1, 6), st.floats(-3000, 3000)), max_size=30), st.integers(1, 160), st.booleans())
def test_the_picture_of_a_bar_stays_within_its_width(late: list[tuple[int, float]], width: int, fine: bool) -> None:
    fell = by_beat([Due(Place(1, Fraction(beat)), True, ms) for beat, ms in late])
    drawn = draw_bar(fell, width, 7, fine=fine)
    assert all(len(row) <= width for row in drawn)
    assert len(drawn) in {0, len(fell.beats), len(fell.beats) + 1}


async def test_a_run_to_the_beat_shows_where_in_the_bar_it_breaks(log: Log) -> None:
    drill = find("six-eight")
    log.begin(Run("paced", drill.title, 3000.0, Timing.BEAT, 60.0))
    keys = [change_key(drill.instrument, before.shape, after.shape) for before, after in drill.changes]
    for n in range(4 * len(keys)):
        at = n % len(keys)
        told = measures(n, lateness_ms=5.0 + n % 3 + (90 if at == 1 else 0))
        receipt = log.add(
            Attempt(f"p{n}", "paced", keys[at], 3000.0 + n, Timing.HEARD, PORT, 500.0, True, 60.0, measures=told)
        )
    assert receipt.result(5) is None
    async with app(services(log), "progress").run_test(size=(80, 24)) as pilot:
        await pilot.press("r")
        await until(
            pilot,
            lambda: shows(
                pilot,
                "beat 1",
                "Breaks at bar 3, beat 1: 90 ms later",
                "later than elsewhere (4 changes)",
                "even to 2 ms",
            ),
        )


# The screen


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_what_was_heard_stands_beside_the_change_time(log: Log, size: tuple[int, int]) -> None:
    log.add(Attempt("timed", "keys", UNNAMED, 1500.0, Timing.LEAVE, "keys", 2000.0))
    for n in range(12):
        receipt = log.add(heard(n))
    assert receipt.result(5) is None
    async with app(services(log), "progress").run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, "Em → Am", "49 ms", "8 of 12", "two presses"))
        assert not shows(pilot, "last ten")
        assert shows(pilot, "2.00 s")
        await pilot.press("down")
        await until(pilot, lambda: shows(pilot, "49 ms, 38 to 60, falling", "9 of 12, last ten 80%", "0.90 s"))
        assert shows(pilot, "best 0.89 s", "from Six Strings MIDI 1")
        assert shows(pilot, "spread") == (size[0] >= 60)
        head = next(row for row in rows(pilot) if row.startswith(" change"))
        assert ("count" in head, "kept" in head) == (size[0] >= 100, size[0] >= 80)


async def test_columns_follow_the_window_and_the_chosen_change_stays_chosen(log: Log) -> None:
    for change in (UNNAMED, EM_AM):
        for n in range(3):
            receipt = log.add(heard(n, change=change, change_ms=1000.0 if change == UNNAMED else 500.0))
    assert receipt.result(5) is None
    async with app(services(log), "progress").run_test(size=(60, 20)) as pilot:
        await until(pilot, lambda: shows(pilot, "x57x65 → x79x87"))
        await pilot.press("down")
        await until(pilot, lambda: "Em → Am" in rows(pilot)[0])
        await pilot.resize_terminal(150, 40)
        await until(pilot, lambda: shows(pilot, "Six Strings MIDI 1  3", "count", "late"))
        assert pilot.app.screen.query_one(DataTable).cursor_row == 1
        assert "Em → Am" in rows(pilot)[0]


async def test_a_heard_figure_shows_lines_and_no_empty_plot(log: Log) -> None:
    for n in range(3):
        receipt = log.add(heard(n, change_ms=None, delay_ms=20.0, texture=Texture.FIGURE))
    assert receipt.result(5) is None
    async with app(services(log), "progress").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "late ", "20 ms, 20 to 20", "3 heard"))
        assert not pilot.app.screen.query_one("Plot").display


async def test_the_head_of_the_table_has_no_colour_of_textuals_own(log: Log) -> None:
    assert log.add(heard(1)).result(5) is None
    async with app(services(log, theme="own-terminal"), "progress").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "median"))
        strips = pilot.app.screen._compositor.render_strips()
        heads = [segment.style for strip in strips for segment in strip if segment.text.strip() == "median"]
        assert len(heads) == 1
        assert heads[0] is not None
        assert heads[0].bgcolor is None or heads[0].bgcolor.is_default
