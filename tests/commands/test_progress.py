"""`changeover progress`, from the words typed to what comes out."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from trainer.cli import main
from trainer.commands.progress.keys import split
from trainer.log.writer import Log
from trainer.practice.measures import Answer, Direction, Measures
from trainer.practice.record import Attempt, Run, Texture, Timing

AM, C, G7 = "x 0 2/2 2/3 1/1 0", "x 3/3 2/2 0 1/1 0", "3/3 2/2 0 0 0 1/1"
AM_C = f"E2 A2 D3 G3 B3 E4 | 0 | {AM} | {C}"
C_G7 = f"E2 A2 D3 G3 B3 E4 | 0 | {C} | {G7}"
RUN = Run("run", "Two shapes", 0.0, Timing.LEAVE)
OTHER = Run("other", "Three shapes", 0.0, Timing.LEAVE)

HEARD = Measures(
    device="Six Strings:Six Strings MIDI 1 28:0",
    calibration="two periods of each string",
    expected=False,
    change_ms=655.5,
    strike_ms=1900.0,
    lateness_ms=-4.5,
    gap_ms=31.25,
    spread_ms=12.0,
    direction=Direction.BASS_FIRST,
    kept_down={1: Answer.YES, 3: Answer.NOT_HEARD},
    guides={2: Answer.NO},
    wrong=(54,),
    octaves=((2, 72),),
    missing=((6, 40), (None, 64)),
    balance=3.0,
)
OF_HEARD = (
    *("strike_ms", "delay_ms", "lateness_ms", "gap_ms", "gap_melody_ms", "gap_bass_ms", "spread_ms", "balance"),
    *("direction", "kept_down", "guides", "wrong", "octaves", "missing", "expected", "device", "calibration"),
)
"""The columns that are filled only where a change was heard."""

Keep = Callable[..., None]


def attempt(change_ms: float | None, **other: Any) -> Attempt:
    at = other.pop("at", 1_700_000_000.0)
    values: dict[str, Any] = {"id": f"id {at} {change_ms}", "run": "run", "change": AM_C, "source": "keys"}
    return Attempt(**{**values, "timing": Timing.LEAVE, **other}, at=at, change_ms=change_ms)


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the log lies in a home of its own."""
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path / "data" / "practice.sqlite3"


@pytest.fixture
def keep(log: Path) -> Keep:
    def keep(*attempts: Attempt, runs: Sequence[Run] = (RUN, OTHER)) -> None:
        with Log.open(log) as opened:
            receipts = [*map(opened.begin, runs), *map(opened.add, attempts)]
        assert [receipt.result() for receipt in receipts] == [None] * len(receipts)

    return keep


@pytest.fixture
def progress(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Run the command, which must succeed, and return what it printed."""

    def progress(*words: str) -> str:
        assert main(["progress", *words]) == 0
        printed = capsys.readouterr()
        assert printed.err == ""
        return printed.out

    return progress


def document(printed: str) -> list[dict[str, Any]]:
    whole = json.loads(printed)
    assert whole.keys() >= {"changes", "hand"}
    return list(whole["changes"])


def rows(printed: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(printed)))


# Nothing practised yet


def test_without_a_log_there_is_a_sentence_and_no_file_is_made(log: Path, progress: Callable[..., str]) -> None:
    assert progress().startswith("No change practised yet.")
    assert document(progress("--json")) == []
    assert rows(progress("--csv")) == []
    assert progress("--drill", "Any").startswith("No change practised yet.")
    assert not log.exists()


# JSON


def test_json_tells_exactly_the_times_that_were_logged(keep: Keep, progress: Callable[..., str]) -> None:
    times = [812.5, 701.25, 655.0, 990.125]
    clean = [None, True, False, True]
    entries = [attempt(ms, at=1000.0 + n, clean=said) for n, (ms, said) in enumerate(zip(times, clean, strict=True))]
    keep(*entries)
    (change,) = document(progress("--json"))
    assert [
        (a["id"], a["at"], a["change_ms"], a["clean"], a["source"], a["timing"], a["tempo"]) for a in change["attempts"]
    ] == [(e.id, e.at, e.change_ms, e.clean, "keys", "leave", None) for e in entries]
    assert (change["change"], change["from"], change["to"], change["name"]) == (AM_C, AM, C, "Am → C")
    assert (change["tuning"], change["capo"]) == (["E2", "A2", "D3", "G3", "B3", "E4"], 0)
    assert (change["timing"], change["tempo"], change["texture"], change["source"]) == ("leave", None, "block", "keys")
    # Ordered 655, 701.25, 812.5, 990.125: quartiles at 689.6875 and 856.90625, by hand.
    assert (change["count"], change["best_ms"], change["median_ms"], change["iqr_ms"]) == (4, 655.0, 756.875, 167.21875)
    assert change["last_ten_ms"] == times
    assert (change["clean"], change["answered"], change["last_at"]) == (2, 3, 1003.0)
    assert change["trend"] == {
        "verdict": "too few yet",
        "ms_per_attempt": None,
        "attempts": 4,
        "words": "too few yet (4 of 10)",
    }


def test_json_never_pools_what_cannot_be_compared(keep: Keep, progress: Callable[..., str]) -> None:
    keep(
        attempt(500.0),
        attempt(600.0, timing=Timing.CUE),
        attempt(700.0, source="pedal"),
        attempt(800.0, timing=Timing.HEARD, tempo=60.0),
        attempt(900.0, timing=Timing.HEARD, tempo=66.0),
    )
    changes = document(progress("--json"))
    assert [change["median_ms"] for change in changes] == [900.0, 800.0, 700.0, 600.0, 500.0]
    assert {change["change"] for change in changes} == {AM_C}


def test_json_of_a_paced_change_has_no_time(keep: Keep, progress: Callable[..., str]) -> None:
    keep(attempt(None, timing=Timing.BEAT, tempo=60.0, clean=True))
    (change,) = document(progress("--json"))
    assert (change["count"], change["best_ms"], change["median_ms"], change["iqr_ms"]) == (1, None, None, None)
    assert (change["last_ten_ms"], change["clean"], change["answered"]) == ([], 1, 1)


def test_the_limit_keeps_the_newest_attempts_and_every_count(keep: Keep, progress: Callable[..., str]) -> None:
    keep(*(attempt(500.0 + n, at=float(n)) for n in range(30)))
    (change,) = document(progress("--json", "--limit", "3"))
    assert [a["change_ms"] for a in change["attempts"]] == [527.0, 528.0, 529.0]
    assert (change["count"], change["median_ms"], change["trend"]["verdict"]) == (30, 514.5, "slower")
    assert [row["change_ms"] for row in rows(progress("--csv", "--limit", "2"))] == ["528.0", "529.0"]


def test_more_than_the_window_of_statistics_may_be_listed(keep: Keep, progress: Callable[..., str]) -> None:
    keep(*(attempt(float(n), at=float(n)) for n in range(205)))
    (change,) = document(progress("--json", "--limit", "1000"))
    assert (len(change["attempts"]), change["count"], change["best_ms"]) == (205, 205, 0.0)
    assert change["median_ms"] == 104.5  # of 5 to 204, the newest two hundred
    (change,) = document(progress("--json"))
    assert len(change["attempts"]) == 200


def heard(**other: Any) -> Attempt:
    values = {"timing": Timing.HEARD, "source": "Six Strings:Six Strings MIDI 1", "measures": HEARD, "clean": True}
    return attempt(655.5, **{**values, **other})


def test_json_tells_every_measure_of_what_was_heard(keep: Keep, progress: Callable[..., str]) -> None:
    later = replace(HEARD, gap_ms=-8.75, spread_ms=18.0, kept_down={1: Answer.NO}, lateness_ms=None, delay_ms=9.5)
    keep(heard(at=1000.0), heard(at=1001.0, measures=later), attempt(500.0))
    change, silent = document(progress("--json"))
    # Medians of two: 31.25 and -8.75, 12 and 18, -4.5 and 9.5. One finger of two stayed down, the third says nothing.
    assert [change[name] for name in ("gap_ms", "spread_ms", "late_ms")] == [11.25, 15.0, 2.5]
    assert (change["kept"], change["kept_answered"], change["measured"]) == (1, 2, 2)
    first, _ = change["attempts"]
    assert first["measures"] == {
        "strike_ms": 1900.0,
        "delay_ms": None,
        "lateness_ms": -4.5,
        "gap_ms": 31.25,
        "gap_melody_ms": None,
        "gap_bass_ms": None,
        "spread_ms": 12.0,
        "balance": 3.0,
        "direction": "bass first",
        "kept_down": {"1": "yes", "3": "not heard"},
        "guides": {"2": "no"},
        "wrong": [54],
        "octaves": [[2, 72]],
        "missing": [[6, 40], [None, 64]],
        "expected": False,
        "device": "Six Strings:Six Strings MIDI 1 28:0",
        "calibration": "two periods of each string",
    }
    assert [silent[name] for name in ("gap_ms", "spread_ms", "late_ms", "measured")] == [None, None, None, 0]
    assert silent["attempts"][0]["measures"] is None


# One drill, the slowest few


def test_one_drills_changes(keep: Keep, progress: Callable[..., str]) -> None:
    keep(attempt(500.0), attempt(900.0, change=C_G7, run="other"))
    assert [change["to"] for change in document(progress("--json", "--drill", "Two shapes"))] == [C]
    assert [change["to"] for change in document(progress("--json", "--slowest", "1"))] == [G7]
    assert "The 1 slowest of 2" in progress("--slowest", "1")


def test_a_drill_that_is_not_in_the_log(keep: Keep, capsys: pytest.CaptureFixture[str]) -> None:
    keep(attempt(500.0))
    assert main(["progress", "--drill", "Tow shapes"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == "changeover: --drill: no drill 'Tow shapes' in the log (the nearest title is 'Two shapes')\n"


# CSV


def test_csv_has_a_line_for_each_attempt(keep: Keep, progress: Callable[..., str]) -> None:
    keep(attempt(812.5, clean=True), attempt(None, timing=Timing.BEAT, tempo=60.0))
    timed, paced = rows(progress("--csv"))
    assert timed == {
        "change": AM_C,
        "from": AM,
        "to": C,
        "timing": "leave",
        "tempo": "",
        "texture": "block",
        "source": "keys",
        "how": "read",
        "at": "2023-11-14T22:13:20.000+00:00",  # 1,700,000,000 s after 1970, as `date -u -d @1700000000` has it
        "change_ms": "812.5",
        "clean": "yes",
        "run": "run",
        "id": "id 1700000000.0 812.5",
        **dict.fromkeys(OF_HEARD, ""),
    }
    assert (paced["change_ms"], paced["clean"], paced["tempo"]) == ("", "", "60.0")


def test_csv_tells_what_was_heard_in_cells_a_spreadsheet_can_count(keep: Keep, progress: Callable[..., str]) -> None:
    keep(heard())
    (row,) = rows(progress("--csv"))
    assert {name: row[name] for name in OF_HEARD} == {
        "strike_ms": "1900.0",
        "delay_ms": "",
        "lateness_ms": "-4.5",
        "gap_ms": "31.25",
        "gap_melody_ms": "",
        "gap_bass_ms": "",
        "spread_ms": "12.0",
        "balance": "3.0",
        "direction": "bass first",
        "kept_down": "1 yes, 3 not heard",
        "guides": "2 no",
        "wrong": "1",
        "octaves": "1",
        "missing": "2",
        "expected": "no",
        "device": "Six Strings:Six Strings MIDI 1 28:0",
        "calibration": "two periods of each string",
    }


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_csv_holds_no_formula(keep: Keep, progress: Callable[..., str], start: str) -> None:
    keep(attempt(-12.5, source=f'{start}HYPERLINK("x")', id=f"{start}1+1"))
    (row,) = rows(progress("--csv"))
    assert row["source"].startswith("'")
    assert row["id"].startswith("'")
    assert row["change_ms"] == "-12.5"  # a number is a number, its sign no formula


# The table


@pytest.mark.parametrize("columns", ["80", "60"])
def test_the_table_fits_and_says_what_it_shows(
    keep: Keep, progress: Callable[..., str], monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    now = time.time() - 100 * 86_400
    wide = "E2 A2 D3 G3 B3 E4 | 2 | 1/1 3/3 3/4 2/2 1/1 1/1 | 3/1 5/3 5/4 4/2 3/1 3/1"
    unnamed = "E2 A2 D3 G3 B3 E4 | 0 | x 5/2 7/4 x 6/3 5/1 | x 7/2 9/4 x 8/3 7/1"
    keep(
        *(attempt(900.0 - n, at=now + n, clean=n > 0, change=wide) for n in range(12)),
        *(heard(at=now + n, change=unnamed) for n in range(12)),
    )
    printed = progress()
    above, _, hand = printed.partition("\n\n")
    assert hand.startswith("What costs your hand most: not enough yet")
    table, notes = above.splitlines()[:-2], above.splitlines()[-2:]
    assert all(len(line) <= int(columns) for line in table)
    shown = ["two presses", "0.89 s", "11 of 12", "capo 2", "heard", "Six Strings", "31 ms", "12 ms", "12 of 12"]
    shown += ["x 5/2 7/4 x 6/3 5/1", "x 7/2 9/4 x 8/3 7/1", "F"]
    if columns == "80":
        shown += ["best", "faster", "10 ms in"]
    assert [words for words in shown if words not in printed] == []
    assert "newest 200 attempts" in notes[0]
    assert notes[1].startswith("Gap:")


def test_the_table_says_nothing_of_hearing_where_nothing_was_heard(keep: Keep, progress: Callable[..., str]) -> None:
    keep(attempt(900.0), attempt(None, timing=Timing.BEAT, tempo=60.0, source="pedal"))
    printed = progress()
    assert not any(word in printed for word in ("gap", "Gap", "spread", "kept", "heard"))
    for words in ("Am → C", "two presses", "0.90 s", "to the beat", "pedal"):
        assert words in printed


def test_the_table_tells_how_late_a_figure_was(keep: Keep, progress: Callable[..., str]) -> None:
    figure = replace(HEARD, change_ms=None, lateness_ms=None, delay_ms=42.0)
    keep(replace(heard(texture=Texture.FIGURE, measures=figure), change_ms=None))
    assert "42 ms" in progress()


def test_the_table_shows_twenty_rows_unless_asked(keep: Keep, progress: Callable[..., str]) -> None:
    keep(*(attempt(500.0 + n, change=f"{AM_C}{n}") for n in range(21)))
    assert "The 20 slowest of 21" in progress()
    assert "slowest of" not in progress("--slowest", "21")


def test_hostile_text_reaches_the_terminal_as_plain_text(keep: Keep, progress: Callable[..., str]) -> None:
    keep(attempt(500.0, source="\x1b[31mred\x9b [bold]b[/]", change="\x1b]0;title\x07 no key", id="\x9bm"))
    printed = progress() + progress("--csv") + progress("--json")
    assert not any((ord(sign) < 32 and sign != "\n") or 127 <= ord(sign) < 160 for sign in printed)
    assert "[bold]b[/]" in printed


# Bad input, and what it costs to start


@pytest.mark.parametrize("number", ["0", "-1", "ten", "1.5", "²"])
def test_a_number_that_is_none(log: Path, capsys: pytest.CaptureFixture[str], number: str) -> None:
    with pytest.raises(SystemExit) as left:
        main(["progress", f"--limit={number}"])
    assert left.value.code == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "not a whole number from 1 up" in said


def test_a_damaged_log_is_one_line(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log.parent.mkdir()
    log.write_bytes(b"scribbled over " * 1000)
    assert main(["progress", "--json"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "not a practice log" in said.err


def test_a_key_of_another_make_stands_whole() -> None:
    assert split(AM_C) == ("E2 A2 D3 G3 B3 E4", "0", AM, C)
    assert split("something else") == ("", "", "something else", "")


@pytest.mark.parametrize(
    ("words", "spared"),
    [
        (["progress"], {"numpy", "textual", "mido", "concurrent.futures"}),
        (["progress", "--json"], {"numpy", "textual", "mido", "concurrent.futures", "rich"}),
    ],
)
def test_only_what_is_used_is_imported(log: Path, keep: Keep, words: list[str], spared: set[str]) -> None:
    keep(attempt(500.0), replace(attempt(600.0), id="b"))
    text = f"import sys; from trainer.cli import main; main({words}); print(*sys.modules, file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=True, env=os.environ)
    assert ("Am → C" if words == ["progress"] else AM) in done.stdout
    assert set(done.stderr.split()) & spared == set()


# Drills and weeks


@pytest.fixture
def fortnight(keep: Keep) -> None:
    """Eight tries each on a Monday and a Wednesday and on the Monday after, a tenth faster each time."""
    monday = time.mktime((2025, 6, 2, 18, 0, 0, 0, 0, -1))
    starts = [monday + days * 86_400 for days in (0, 2, 7)]
    runs = [replace(RUN, id=f"run {n}", at=at) for n, at in enumerate(starts)]
    entries = [
        attempt(800.0 * 0.9**n + try_, at=at + 10 * (try_ + 1), id=f"{n} {try_}", run=f"run {n}", clean=try_ > 1)
        for n, at in enumerate(starts)
        for try_ in range(8)
    ]
    keep(*entries, runs=runs)


def by(printed: str, name: str) -> list[dict[str, Any]]:
    return list(json.loads(printed)[name])


MANY_WEEKS = ("--limit", "2000")
"""Back to the fortnight from whenever this runs."""


def test_each_week_as_json(fortnight: None, progress: Callable[..., str]) -> None:
    first, second = by(progress("--by", "week", "--json", *MANY_WEEKS), "weeks")
    numbers = ("week", "monday", "days", "runs", "tries", "changes", "clean", "answered")
    assert [first[name] for name in numbers] == ["2025-W23", "2025-06-02", 2, 2, 16, 1, 12, 16]
    assert [second[name] for name in numbers] == ["2025-W24", "2025-06-09", 1, 1, 8, 1, 6, 8]
    assert (first["minutes"], second["minutes"]) == (pytest.approx(160 / 60), pytest.approx(80 / 60))
    # Sixteen times in the first week, 720 to 727 and 800 to 807, median 763.5; eight in the second, 648 to 655, median
    # 651.5. Usual is the middle of both, 707.5.
    assert (first["pace"], second["pace"]) == (pytest.approx(763.5 / 707.5), pytest.approx(651.5 / 707.5))


def test_each_day_of_a_drill_as_json_and_csv(fortnight: None, progress: Callable[..., str]) -> None:
    (drill,) = by(progress("--by", "drill", "--json"), "drills")
    assert (drill["title"], drill["runs"], drill["tries"]) == ("Two shapes", 3, 24)
    assert [day["date"] for day in drill["days"]] == ["2025-06-02", "2025-06-04", "2025-06-09"]
    paces = [pytest.approx(ms / 723.5) for ms in (803.5, 723.5, 651.5)]
    assert [day["pace"] for day in drill["days"]] == paces
    assert [float(row["pace"]) for row in rows(progress("--by", "drill", "--csv"))] == paces
    assert [row["date"] for row in rows(progress("--by", "drill", "--csv", "--limit", "1"))] == ["2025-06-09"]


def test_weeks_as_csv(fortnight: None, progress: Callable[..., str]) -> None:
    told = rows(progress("--by", "week", "--csv", *MANY_WEEKS))
    assert [(row["week"], row["tries"], row["clean"]) for row in told] == [
        ("2025-W23", "16", "12"),
        ("2025-W24", "8", "6"),
    ]


@pytest.mark.parametrize("columns", ["60", "80", "120"])
def test_weeks_as_text_carry_their_axes(
    fortnight: None, progress: Callable[..., str], monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    told = progress("--by", "week", *MANY_WEEKS)
    assert "16 │" in told
    assert "0 │" in told
    assert (
        "2025-W24: 8 tries at 1 change on 1 day, about 1 minute; clean 6 of 8; they took 8 % less than usual." in told
    )
    assert ("2025-06-09" in told) == (columns != "60")
    drawn = [line for line in told.splitlines() if "│" in line or line.startswith("2025-W24 ")]
    assert max(map(len, drawn)) <= int(columns)


def test_one_drill_as_text_has_its_plot(fortnight: None, progress: Callable[..., str]) -> None:
    told = progress("--by", "drill", "--drill", "Two shapes")
    assert "Pace by day of practice; too few days to tell a trend (3 of 10)" in told
    assert "111 % │●" in told
    assert "on 2025-06-09 8 tries at 1 change; they took 10 % less than usual." in told


@pytest.mark.parametrize(
    ("view", "option"), [("week", "--drill=Two shapes"), ("week", "--slowest=2"), ("drill", "--slowest=2")]
)
def test_an_option_that_says_nothing_there_is_one_line(
    log: Path, capsys: pytest.CaptureFixture[str], view: str, option: str
) -> None:
    assert main(["progress", "--by", view, option]) == 2
    name = option.partition("=")[0]
    assert capsys.readouterr().err == f"changeover: {name}: does not go with --by {view} (leave one of them out)\n"


@pytest.mark.parametrize("view", ["week", "drill"])
def test_nothing_practised_by_week_or_drill(log: Path, progress: Callable[..., str], view: str) -> None:
    assert "Start 'changeover'" in progress("--by", view)
    assert by(progress("--by", view, "--json"), f"{view}s") == []
    assert rows(progress("--by", view, "--csv")) == []
    assert not log.exists()
