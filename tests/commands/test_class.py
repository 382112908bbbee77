"""`changeover class`, from the words typed to what comes out and what stands in the files."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from trainer.cli import main
from trainer.commands.classes import group
from trainer.files import classes, paths
from trainer.files.library import find
from trainer.log import connect
from trainer.log.history import reading
from trainer.log.mend import mend
from trainer.log.writer import Log
from trainer.practice.drill import change_key
from trainer.practice.measures import Answer
from trainer.practice.record import Attempt, Run, Timing
from trainer.practice.roster import Class
from trainer.practice.rounds import ChangeHeard, Mark, Marking, Result, Round, SeatHeard
from trainer.ui.services import Services

DRILL = find("group-four-chords")
HOSTILE = '<script>alert("x")</script> & =1+1'
NAME = "Quillfeather"
UNHEARD = {"late_ms": None, "came_up": 0, "stayed": 0}

Say = Callable[..., str]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path / "home"


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Say:
    """Run `changeover class` with these words; return what it prints."""

    def say(*words: str, ends: int = 0) -> str:
        assert main(["class", *words]) == ends
        out, err = capsys.readouterr()
        return err if ends == 2 else out

    return say


def roster() -> Class:
    return classes.find("tuesdays")[1]


def play(missed: Sequence[int] = (), *, away: Sequence[int] = (), tempo: float = 60.0, changes: int = 1) -> str:
    """Play a round of the first changes of the drill: seats with these numbers missed it or were away."""
    lesson = group("tuesdays")
    results = tuple(
        Result(seat.id, Mark.AWAY if seat.number in away else Mark.MISSED if seat.number in missed else Mark.HAD)
        for seat in lesson.seats
    )
    return lesson.keep(DRILL, Round(tempo, DRILL.pairs[:changes], results), Services.clock())


def time_it(number: int, ms: float, tries: int = 6) -> None:
    """Let a seat play the drill's second change alone, in the browser."""
    (seat,) = (seat for seat in roster().seats if seat.number == number)
    before, after = (DRILL.steps[index].shape for index in DRILL.pairs[1])
    key = change_key(DRILL.instrument, before, after)
    with Log.open(paths.seat_log(seat.id)) as log:
        log.begin(Run(f"alone {number}", DRILL.title, 0.0, Timing.CUE))
        for n in range(tries):
            log.add(Attempt(f"{number} {n}", f"alone {number}", key, 1.0 + n, Timing.CUE, "browser", ms + n))


def test_a_class_from_its_begin_to_its_list(say: Say, tmp_path: Path) -> None:
    assert "No class yet" in say()
    assert say("new", "Tuesdays", "--seats", "3").startswith("'Tuesdays' begun with 3 seats: ")
    assert say("rename", "tuesdays", "2", "Door") == "In 'Tuesdays' seat 2 is Door's now.\n"
    assert say("add", "tuesdays", "Window", "--number", "9") == "9 Window added to 'Tuesdays'.\n"
    assert say("remove", "tuesdays", "1") == "seat 1 removed from 'Tuesdays'.\n"
    assert say("rename", "tuesdays", "door") == "In 'Tuesdays' seat 2 is nobody's now.\n"
    assert say() == "tuesdays: Tuesdays, 3 seats\n"
    assert [(seat.number, seat.name) for seat in roster().seats] == [(2, None), (3, None), (9, "Window")]
    assert say("export", "tuesdays") == "number,name,port\n2,,\n3,,\n9,Window,\n"
    listed = tmp_path / "list.csv"
    say("export", "tuesdays", "-o", str(listed))
    before = roster()
    assert say("import", "tuesdays", str(listed)) == "'Tuesdays' has 3 seats now, 0 of them new.\n"
    assert roster() == before
    assert say("import", "Thursdays", str(listed)).startswith("'Thursdays' begun with 3 seats: ")
    assert not {seat.id for seat in roster().seats} & {seat.id for seat in classes.find("thursdays")[1].seats}


def test_json_says_the_same(say: Say) -> None:
    say("new", "Tuesdays", "--seats", "1")
    shown = json.loads(say("show", "tuesdays", "--json"))
    (seat,) = roster().seats
    assert shown["seats"] == [{"number": 1, "id": seat.id, "name": None, "port": None}]
    # Wherever the option stands, and after whatever is done.
    assert json.loads(say("--json", "show", "tuesdays")) == shown
    assert json.loads(say("rename", "tuesdays", "1", "Door", "--json"))["seats"][0]["name"] == "Door"
    (entry,) = json.loads(say("--json"))["classes"]
    assert (entry["name"], len(entry["seats"]), entry["problems"]) == ("Tuesdays", 1, [])


def test_a_class_file_that_is_wrong_is_told_and_the_others_listed(
    capsys: pytest.CaptureFixture[str], home: Path
) -> None:
    main(["class", "new", "Tuesdays"])
    (home / "classes" / "bad.toml").write_text("name = 3\n", "utf-8")
    capsys.readouterr()
    assert main(["class"]) == 1
    out, err = capsys.readouterr()
    assert out == "tuesdays: Tuesdays, no seats\n"
    assert "bad.toml:1: name: must be text" in err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["show", "nope"], "no class 'nope' ('changeover class' names them)"),
        (["show", "tuesday"], "no class 'tuesday' (did you mean 'tuesdays'?)"),
        (["new", "TUESDAYS"], "there is such a class already (choose another name)"),
        (["new", "\x1b[2J"], "name: a name holds a control character (take it out)"),
        (["new", "X", "--seats", "41"], "'41' is no number from 1 to 40"),
        (["add", "tuesdays", "door"], "name: two seats have the name 'door' (give each its own)"),
        (["add", "tuesdays", "--number", "2"], "number: two seats have the number 2 (give each its own)"),
        (["rename", "tuesdays", "7", "x"], "no seat '7' in 'Tuesdays' (its seats: 1, 2)"),
        (["rename", "tuesdays", "1", "12"], "name: '12' would be taken for a number (add a letter to the name)"),
        (["remove", "tuesdays", "dor"], "no seat 'dor' in 'Tuesdays' (did you mean 'Door'?)"),
        (["import", "tuesdays", "none.csv"], "none.csv: cannot be read: there is no such file ("),
        (["export", "tuesdays", "-o", "/"], "/: -o: is there already (choose another name, or say --force)"),
        (["export", "tuesdays", "-o", "/", "--force"], "/: cannot be written: it is a folder (give the path of a file"),
        (["take", "tuesdays", "1", "-o", "x"], "seat 1 of 'Tuesdays' has played nothing yet"),
        (["forget", "tuesdays", "../up", "--yes"], "no seat '../up' in 'Tuesdays'"),
        (
            ["forget", "tuesdays", "1"],
            "--yes: seat 1 of 'Tuesdays' and what was played there would be gone for good: 0",
        ),
        (["forget", "tuesdays"], "--yes: 'Tuesdays' and what was played there would be gone for good: 0 tries ("),
        (["results", "tuesdays", "--hand", "giant"], "invalid choice: 'giant'"),
        (["frobnicate", "tuesdays"], "invalid choice: 'frobnicate'"),
        (["show"], "the following arguments are required: NAME"),
    ],
    ids=lambda value: " ".join(value[:2]) if isinstance(value, list) else "",
)
def test_a_slip_is_one_line_and_changes_nothing(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str], home: Path
) -> None:
    main(["class", "new", "Tuesdays", "--seats", "2"])
    main(["class", "rename", "tuesdays", "2", "Door"])
    before = {file: file.read_bytes() for file in home.rglob("*") if file.is_file()}
    capsys.readouterr()
    try:
        code: object = main(["class", *words])
    except SystemExit as left:
        code = left.code
    assert code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert told in err
    assert err.count("\n") == 1
    assert {file: file.read_bytes() for file in home.rglob("*") if file.is_file()} == before


def test_a_round_is_kept_in_the_log_of_each_seat_that_was_there(say: Say) -> None:
    say("new", "Tuesdays", "--seats", "3")
    assert play([2], away=[3]) == ""
    first, second, third = roster().seats
    with reading(paths.seat_log(first.id)) as history:
        assert [played.had for played in history.rounds()] == [True]
    with reading(paths.seat_log(second.id)) as history:
        assert [played.had for played in history.rounds()] == [False]
    assert not paths.seat_log(third.id).exists()


def test_a_round_that_cannot_be_kept_is_told_by_number(say: Say) -> None:
    say("new", "Tuesdays", "--seats", "3")
    log = paths.seat_log(roster().seats[1].id)
    log.parent.mkdir(parents=True)
    log.write_bytes(b"something else, and not a short one " * 40)
    assert play() == "Not kept for seat 2: this file is not a practice log"
    assert paths.seat_log(roster().seats[2].id).exists()


def test_who_was_forgotten_in_the_middle_of_a_lesson_is_not_begun_anew(say: Say, home: Path) -> None:
    say("new", "Tuesdays", "--seats", "3")
    teaching = group("tuesdays")
    had = Round(60.0, DRILL.pairs[:1], tuple(Result(seat.id, Mark.HAD) for seat in teaching.seats))
    assert teaching.keep(DRILL, had, Services.clock()) == ""
    say("forget", "tuesdays", "2", "--yes")
    assert teaching.keep(DRILL, had, Services.clock()) == "Not kept for seat 2: no longer in the class"
    assert bytes_with(home, teaching.seats[1].id) == []
    with reading(paths.seat_log(teaching.seats[2].id)) as history:
        assert len(history.rounds()) == 2
    # A slip in the file costs nobody a round; a class that is gone altogether is gone.
    (home / "classes" / "tuesdays.toml").write_text("name = 3", "utf-8")
    assert teaching.keep(DRILL, had, Services.clock()) == ""
    (home / "classes" / "tuesdays.toml").unlink()
    assert teaching.keep(DRILL, had, Services.clock()) == "Not kept for seats 1, 2, 3: no longer in the class"


def test_a_guitar_bound_in_the_room_is_kept_in_the_class(say: Say) -> None:
    say("new", "Tuesdays", "--seats", "2")
    lesson = group("tuesdays")
    # In the middle of the lesson somebody writes a name down at another terminal.
    say("rename", "tuesdays", "1", "Door")
    assert lesson.bind is not None
    first, second = lesson.seats
    assert lesson.bind(first.id, "Six:strings") == ""
    assert lesson.bind(second.id, "Six:strings") == ""
    assert [(seat.name, seat.port) for seat in roster().seats] == [("Door", None), (None, "Six:strings")]
    say("remove", "tuesdays", "2")
    assert lesson.bind(second.id, "Other") == "Not kept in the class's file: that seat was removed"


def test_a_class_needs_seats_and_a_room(say: Say, capsys: pytest.CaptureFixture[str]) -> None:
    say("new", "Tuesdays")
    for words, told in (
        (["drill", "first-change", "--room", "--class", "tuesdays"], "--class: 'Tuesdays' has no seats yet ("),
        (["drill", "first-change", "--class", "tuesdays"], "--class: seats are marked before a class (add --room)"),
        (["drill", "first-change", "--room", "--class", "nope"], "no class 'nope'"),
        (["serve", "--class", "nope"], "no class 'nope'"),
    ):
        assert main(words) == 2
        assert told in capsys.readouterr().err


def test_the_seats_of_a_class_are_served_with_their_names_and_logs(say: Say) -> None:
    from argparse import Namespace

    from trainer.commands.serve import _seats
    from trainer.ui.seat import SEAT

    say("new", "Tuesdays", "--seats", "2")
    say("rename", "tuesdays", "2", "Door")
    served = _seats(Namespace(roster="tuesdays", seats=None, sessions=12))
    assert [(seat.id, seat.name, seat.own[SEAT]) for seat in served] == [
        ("1", "seat 1", "seat 1"),
        ("2", "2 Door", "2 Door"),
    ]
    assert [Path(seat.own[paths.HOME]) / "data" / "practice.sqlite3" for seat in served] == [
        paths.seat_log(seat.id) for seat in roster().seats
    ]


class Seen(HTMLParser):
    """What a browser would see."""

    def __init__(self, document: str) -> None:
        super().__init__()
        self.names: list[str] = []
        self.links: list[str] = []
        self.text = ""
        self.feed(document)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.links += [value or "" for key, value in attrs if key in {"src", "href"}]

    def handle_data(self, data: str) -> None:
        self.text += data


def lesson(say: Say) -> None:
    """Play three rounds and something alone."""
    say("new", "Tuesdays", "--seats", "3")
    say("rename", "tuesdays", "2", HOSTILE)
    play([2], tempo=60)
    play([2], tempo=66)
    play([2, 3], tempo=72, changes=2)
    time_it(1, 900.0)
    time_it(3, 500.0)


def test_results_say_what_landed_what_is_slow_and_what_to_practise(say: Say) -> None:
    lesson(say)
    found: dict[str, Any] = json.loads(say("results", "tuesdays", "--json"))
    names = [" → ".join(DRILL.steps[index].name for index in pair) for pair in DRILL.pairs[:2]]
    first, second, third = found["seats"]
    assert [(seat["rounds"], seat["had"]) for seat in (first, second, third)] == [(3, 3), (3, 0), (3, 2)]
    # Of a round of two changes that was missed nobody said which.
    assert second["tried"] == [{"name": names[0], "asked": 2, "had": 0, "tempo": None} | UNHEARD]
    assert third["tried"] == [{"name": names[0], "asked": 2, "had": 2, "tempo": 66.0} | UNHEARD]
    assert found["class"]["tried"] == [
        {"name": names[0], "asked": 7, "had": 5, "tempo": 72.0} | UNHEARD,
        {"name": names[1], "asked": 1, "had": 1, "tempo": 72.0} | UNHEARD,
    ]
    assert [(slow["name"], slow["median_ms"], slow["best_ms"]) for slow in first["slowest"]] == [
        (names[1], 902.5, 900.0)
    ]
    # The middle one of two seats.
    (slow,) = found["class"]["slowest"]
    assert (slow["name"], slow["median_ms"], slow["best_ms"], slow["seats"]) == (names[1], 702.5, 500.0, 2)
    assert first["practise"][0]["change"] == names[1]
    assert second["practise"] == [{"change": names[0], "why": "had 0 of 2 times"}]
    text = say("results", "tuesdays")
    assert f"{names[0]}: had 5 of 7 times, up to 72 beats a minute" in text


def test_results_say_what_guitars_told_of_each_change(say: Say, tmp_path: Path) -> None:
    say("new", "Tuesdays", "--seats", "2")
    (first, _), kept = roster().seats, roster().bind(roster().seats[0].id, "Six:strings")
    classes.save(classes.find("tuesdays")[0], kept)
    lesson = group("tuesdays")
    for late in (30.0, 50.0, 40.0):
        heard = SeatHeard(
            first.id,
            (
                ChangeHeard(0, landed=True, late_ms=late, kept_down={1: Answer.YES, 2: Answer.NO}),
                ChangeHeard(1, landed=False, late_ms=700.0 + late),
            ),
        )
        marking = Marking(tuple(seat.id for seat in lesson.seats)).hear([heard])
        assert lesson.keep(DRILL, Round(60.0, DRILL.pairs[:2], marking.results()), Services.clock()) == ""
    found = json.loads(say("results", "tuesdays", "--json"))["seats"][0]
    names = [" → ".join(DRILL.steps[index].name for index in pair) for pair in DRILL.pairs[:2]]
    assert (found["rounds"], found["had"]) == (3, 0)
    assert found["tried"] == [
        {"name": names[1], "asked": 3, "had": 0, "tempo": None, "late_ms": 740.0, "came_up": 0, "stayed": 0},
        {"name": names[0], "asked": 3, "had": 3, "tempo": 60.0, "late_ms": 40.0, "came_up": 3, "stayed": 3},
    ]
    words = {
        names[1]: "had 0 of 3 times, usually 740 ms late",
        names[0]: "had 3 of 3 times, usually 40 ms late, a finger came up 3 of 6 times",
    }
    assert {one["change"]: one["why"] for one in found["practise"]} == words
    say("results", "tuesdays", "-o", str(tmp_path / "after"))
    seen = Seen((tmp_path / "after" / "class.html").read_text("utf-8")).text
    assert "usually 40 ms late, a finger came up 3 of 6 times" in seen
    rows = list(csv.DictReader(io.StringIO((tmp_path / "after" / "class.csv").read_text("utf-8"), newline="")))
    assert [(row["late_ms"], row["came_up"], row["stayed"]) for row in rows[:2]] == [("740", "", ""), ("40", "3", "3")]
    assert all("ms" not in row["late_ms"] and not row["late_ms"] for row in rows[2:])


def test_a_hair_before_the_beat_is_no_time_at_all(say: Say, tmp_path: Path) -> None:
    say("new", "Tuesdays", "--seats", "1")
    classes.save(classes.find("tuesdays")[0], roster().bind(roster().seats[0].id, "Six:strings"))
    lesson = group("tuesdays")
    heard = SeatHeard(lesson.seats[0].id, (ChangeHeard(0, landed=True, late_ms=-0.4),))
    marking = Marking((lesson.seats[0].id,)).hear([heard])
    assert lesson.keep(DRILL, Round(60.0, DRILL.pairs[:1], marking.results()), Services.clock()) == ""
    say("results", "tuesdays", "-o", str(tmp_path / "after"))
    row = next(csv.DictReader(io.StringIO((tmp_path / "after" / "class.csv").read_text("utf-8"), newline="")))
    assert row["late_ms"] == "0"


def test_results_as_pages_named_by_number(say: Say, tmp_path: Path) -> None:
    lesson(say)
    folder = tmp_path / "after"
    assert "a sheet for each seat" in say("results", "tuesdays", "-o", str(folder))
    pages = sorted(folder.iterdir())
    assert [page.name for page in pages] == [
        "class.csv",
        "class.html",
        "sheet-01.html",
        "sheet-02.html",
        "sheet-03.html",
    ]
    for page in pages[1:]:
        seen = Seen(page.read_text("utf-8"))
        assert "script" not in seen.names
        assert not seen.links
    summary = Seen(pages[1].read_text("utf-8"))
    assert HOSTILE in summary.text
    assert summary.names.count("table") == summary.names.count("caption") == summary.names.count("thead")
    sheet = Seen(pages[3].read_text("utf-8")).text
    assert DRILL.title in sheet
    assert f"2 {HOSTILE}" in sheet
    assert "had 0 of 2 times" in sheet
    # A sheet is of one player alone.
    assert HOSTILE not in Seen(pages[2].read_text("utf-8")).text
    assert "0.90" in Seen(pages[2].read_text("utf-8")).text
    rows = list(csv.DictReader(io.StringIO(pages[0].read_text("utf-8"), newline="")))
    assert [(row["number"], row["asked"], row["had"]) for row in rows if row["asked"]] == [
        ("1", "3", "3"),
        ("1", "1", "1"),
        ("2", "2", "0"),
        ("3", "2", "2"),
    ]
    told = say("results", "tuesdays", "-o", str(folder), ends=2)
    assert "class.html: -o: is there already" in told
    say("results", "tuesdays", "-o", str(folder), "--force")


def test_a_name_in_results_is_no_formula(say: Say, tmp_path: Path) -> None:
    say("new", "Tuesdays", "--seats", "1")
    say("rename", "tuesdays", "1", "=1+1")
    say("results", "tuesdays", "-o", str(tmp_path / "after"))
    assert (tmp_path / "after" / "class.csv").read_text("utf-8").splitlines()[1] == "1,'=1+1,0,0" + "," * 10


def test_a_seat_that_cannot_be_read_does_not_keep_the_others_back(say: Say, capsys: pytest.CaptureFixture[str]) -> None:
    lesson(say)
    paths.seat_log(roster().seats[0].id).write_bytes(b"something else, and not a short one " * 40)
    assert main(["class", "results", "tuesdays"]) == 0
    out, err = capsys.readouterr()
    assert "had 2 of 4 times" in out
    assert err.startswith("changeover: seat 1: ")
    assert err.count("\n") == 1


def test_a_seats_log_goes_home_whole_and_says_nobodys_name(say: Say, tmp_path: Path) -> None:
    say("new", "Tuesdays", "--seats", "1")
    say("rename", "tuesdays", "1", NAME)
    play()
    play()
    taken = tmp_path / "home.sqlite3"
    assert json.loads(say("take", "tuesdays", "1", "-o", str(taken), "--json"))["attempts"] == 2
    assert NAME.encode() not in taken.read_bytes()
    with reading(taken) as there, reading(paths.seat_log(roster().seats[0].id)) as here:
        assert there.runs() == here.runs()
        assert len(there.runs()) == 2
    assert "is there already" in say("take", "tuesdays", "1", "-o", str(taken), ends=2)


def remark(log: Path, *texts: str) -> None:
    """Leave remarks on runs in a log."""
    with Log.open(log) as own:
        for number, text in enumerate(texts):
            own.begin(Run(f"remarked {number}", "A drill", 0.0, Timing.LEAVE))
            own.finish(f"remarked {number}", remark=text)


def bytes_with(home: Path, *words: str) -> list[Path]:
    """Return the files whose name or bytes hold one of `words`, however they are spelt in capitals."""
    return [
        file
        for file in home.rglob("*")
        if any(
            word.lower() in file.name.lower() or (file.is_file() and word.lower().encode() in file.read_bytes().lower())
            for word in words
        )
    ]


def test_what_is_forgotten_stands_in_no_byte_of_any_file(say: Say, home: Path) -> None:
    lesson(say)
    say("rename", "tuesdays", "3", NAME)
    seat = roster().seats[2]
    # It is mentioned wherever it may be: comments, a draft of a crash, another class, remarks, deleted rows.
    path = home / "classes" / "tuesdays.toml"
    path.write_text(path.read_text("utf-8").replace("\nformat", f"\n# {NAME} plays left-handed\nformat"), "utf-8")
    (home / "classes" / ".0123456789abcdef.tmp").write_text(f'name = "{NAME}"', "utf-8")
    classes.create(Class("Copied", (seat,)))
    remark(paths.log_file(), f"{NAME} was late", "went well", f"with {NAME.upper()}")
    remark(paths.seat_log(roster().seats[0].id), f"next to {NAME.lower()}")
    assert len(bytes_with(home, NAME, seat.id)) >= 5
    preview = say("forget", "tuesdays", NAME, ends=2)
    assert "10 tries, and 3 remarks elsewhere" in preview
    assert roster().seats[2] == seat
    told = json.loads(say("forget", "tuesdays", NAME, "--yes", "--json", ends=0))
    assert told["forgotten"] == [seat.id]
    assert told["left"] == []
    assert [one.number for one in roster().seats] == [1, 2]
    assert classes.find("copied")[1].seats == ()
    assert bytes_with(home, NAME, seat.id) == []
    # What is not theirs is all there.
    with reading(paths.log_file()) as history:
        assert [run.remark for run in history.runs()] == [None, "went well", None]
    with reading(paths.seat_log(roster().seats[0].id)) as history:
        assert len(history.rounds()) == 3


def test_a_damaged_log_that_was_put_aside_is_left_alone_and_named(say: Say, home: Path) -> None:
    lesson(say)
    say("rename", "tuesdays", "3", NAME)
    own = paths.log_file()
    remark(own, f"{NAME} was late", "went well")
    with closing(sqlite3.connect(own)) as log:
        (size,) = log.execute("PRAGMA page_size").fetchone()
        (root,) = log.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'series_once'").fetchone()
    damaged = bytearray(own.read_bytes())
    damaged[(root - 1) * size : root * size] = b"\xff" * size
    own.write_bytes(damaged)
    found = mend(own, date(2026, 2, 27))
    assert found is not None
    assert set(bytes_with(home, NAME)) == {home / "classes" / "tuesdays.toml", found.damaged, own}
    told = json.loads(say("forget", "tuesdays", NAME, "--yes", "--json", ends=1))
    assert told["left"] == [str(found.damaged)]
    assert bytes_with(home, NAME) == [found.damaged]
    assert found.damaged.read_bytes() == damaged


def test_where_it_still_stands_is_said(say: Say, home: Path, tmp_path: Path) -> None:
    say("new", "Tuesdays", "--seats", "1")
    say("rename", "tuesdays", "1", NAME)
    drill = home / "drills" / "piece.toml"
    drill.parent.mkdir()
    drill.write_text(f"# for {NAME}\n", "utf-8")
    assert f"Still mentioned in {drill}\n" in say("forget", "tuesdays", "1", "--yes", ends=1)
    assert drill.exists()


def test_a_seat_that_was_removed_is_forgotten_by_its_id(say: Say, home: Path) -> None:
    lesson(say)
    seat = roster().seats[1]
    assert f"'changeover class forget tuesdays {seat.id} --yes' deletes it" in say("remove", "tuesdays", "2")
    assert paths.seat_log(seat.id).exists()
    say("forget", "tuesdays", seat.id, "--yes")
    assert bytes_with(home, seat.id) == []


def test_a_whole_class_is_forgotten(say: Say, home: Path) -> None:
    lesson(say)
    words = [seat.id for seat in roster().seats]
    say("forget", "tuesdays", "--yes")
    assert bytes_with(home, *words, HOSTILE) == []
    assert not (home / "classes" / "tuesdays.toml").exists()


def test_a_seat_that_was_removed_before_its_class_is_forgotten_is_named(say: Say) -> None:
    lesson(say)
    folder = paths.seat_dir(roster().seats[1].id)
    paths.seat_dir(3).mkdir()  # a seat by its number alone, which is of no class
    say("remove", "tuesdays", "2")
    told = say("forget", "tuesdays", "--yes")
    assert [line for line in told.splitlines() if "is of a seat" in line] == [
        f"{folder} is of a seat that no class has any more; delete it to forget that too."
    ]


def test_nobody_is_forgotten_in_the_middle_of_playing(say: Say) -> None:
    lesson(say)
    seat = roster().seats[0]
    with closing(connect.for_writing(paths.seat_log(seat.id))):
        assert "somebody plays there (close the app at that seat first)" in say(
            "forget", "tuesdays", "1", "--yes", ends=2
        )
    assert roster().seats[0] == seat
    assert paths.seat_log(seat.id).exists()
