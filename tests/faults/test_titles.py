"""A title that would steer the terminal: control codes, markup, marks that turn or hide letters, breaks of lines.

Wherever a drill's own words are shown they are letters and nothing else. Looked at are the very bytes that commands
write and the very cells that the screens show.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest

from tests.faults.programs import changeover, refused
from tests.ui.app_fakes import app, rows, services, shows, until
from trainer.errors import Problem
from trainer.files.drills import load
from trainer.log.writer import Log
from trainer.practice.drill import Drill
from trainer.practice.record import Attempt, Run, Timing

EVIL = "\x1b[31m[red]\x9b2J<b>&\u202e\u2066\u200b\ufeff\u2028\x07\x00\r\b[/]$x\N{TAG LATIN SMALL LETTER A}"
"""Colours, markup of two kinds, wiping the screen, letters turned round, nothing seen, lines broken, a bell."""
SEEN = "[red]"
"""What is to be seen of it as it is: no markup is read."""


def quoted(text: str) -> str:
    """Return `text` as a string of TOML."""
    return '"' + "".join(c if c.isalnum() else f"\\U{ord(c):08X}" for c in text) + '"'


FILE = f"""format = 1
title = {quoted("T" + EVIL)}
about = {quoted("A" + EVIL)}
caution = {quoted("C" + EVIL)}
credits = {quoted("M" + EVIL)}

[[segments]]
name = {quoted("S" + EVIL)}
from = 1
to = 2

[[shapes]]
shape = "Em"
label = {quoted("L" + EVIL[:14])}
note = {quoted("N" + EVIL)}

[[shapes]]
shape = "Am"
"""


def steers(text: str) -> list[str]:
    """Return what in `text` is no letter to be seen; the break at the end of a line is one that we make."""
    return [c for c in text if unicodedata.category(c) in {"Cc", "Cf", "Cs", "Zl", "Zp"} and c != "\n"]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path / "home"
    (home / "drills").mkdir(parents=True)
    (home / "drills" / "evil.toml").write_text(FILE)
    monkeypatch.setenv("CHANGEOVER_HOME", str(home))
    return home


@pytest.fixture
def drill(home: Path) -> Drill:
    drill, problems = load(home / "drills" / "evil.toml")
    assert drill is not None, problems
    return drill


@pytest.mark.parametrize(
    "words",
    [
        ("explain", "evil"),
        ("explain", "evil", "--json"),
        ("finger", "evil"),
        ("hear", "evil", "--mode", "walk"),
        ("hear", "evil", "--mode", "presses"),
        ("check",),
        ("export", "evil", "-o", "{out}.musicxml"),
    ],
    ids=" ".join,
)
def test_no_command_passes_it_on(home: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    done = changeover(home, *(word.format(out=tmp_path / "out") for word in words), typed=b"\n\n\n?\n")
    assert done.returncode == 0, done.stderr
    assert steers(done.stdout.decode()) == []
    assert done.stderr == b""


@pytest.mark.parametrize("suffix", ["html", "svg", "txt", "musicxml"])
def test_no_page_passes_it_on(home: Path, tmp_path: Path, suffix: str) -> None:
    page = tmp_path / f"page.{suffix}"
    done = changeover(home, "export" if suffix == "musicxml" else "sheet", "evil", "-o", str(page))
    assert done.returncode == 0, done.stderr
    written = page.read_text(encoding="utf-8")
    assert steers(written) == []
    assert SEEN in written
    if suffix != "txt":
        assert "<b>" not in written
        assert "&lt;b&gt;&amp;" in written


@pytest.mark.parametrize("screen", ["home", "library", "drill", "room", "bench"])
async def test_no_screen_passes_it_on(drill: Drill, home: Path, screen: str) -> None:
    with Log.open(home / "practice.sqlite3") as log:
        given = services(log)
        given.problems = [Problem(f"P{EVIL}", file=f"/F{EVIL}", hint=EVIL)]
        arguments = {} if screen in {"home", "library"} else {"drill": drill}
        async with app(given, screen, **arguments).run_test(size=(100, 40)) as pilot:
            if screen == "library":
                await pilot.press(*"evil")
            await until(pilot, lambda: shows(pilot, SEEN))
            assert steers("\n".join(rows(pilot))) == []


@pytest.mark.parametrize("words", [("explain", f"x{EVIL[:10]}"), (f"y{EVIL[:10]}",), ("check", f"/z{EVIL[:10]}.toml")])
def test_no_line_that_refuses_it_passes_it_on(home: Path, words: tuple[str, ...]) -> None:
    done = changeover(home, *words)
    said = done.stderr.decode() + done.stdout.decode()
    assert done.returncode in {1, 2}
    assert said.count("\n") == 1
    assert steers(said) == []
    assert SEEN in said


def test_a_key_or_value_of_a_broken_file_is_told_in_one_line(home: Path) -> None:
    (home / "drills" / "broken.toml").write_text(f"{quoted(EVIL)} = {quoted(EVIL)}\n{FILE}")
    line = refused(changeover(home, "explain", "broken"))
    assert SEEN in line
    assert steers(line) == []


def test_what_the_log_keeps_of_it_is_told_plainly(home: Path) -> None:
    with Log.open(home / "data" / "practice.sqlite3") as log:
        log.begin(Run("run", f"T{EVIL}", 0.0, Timing.LEAVE))
        key = f"E2 A2 D3 G3 B3 E4 | 0 | {EVIL} | x 3/3 2/2 0 1/1 0"
        assert log.add(Attempt("one", "run", key, 0.0, Timing.LEAVE, "keys", 700.0)).result(30) is None
    for words in (
        ("progress",),
        ("progress", "--json"),
        ("today",),
        ("progress", "--by", "drill"),
        ("progress", "--csv"),
    ):
        told = changeover(home, *words)
        said = (told.stdout + told.stderr).decode()
        assert "Traceback" not in said
        assert steers(said) == []
