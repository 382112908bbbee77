"""Files that cannot be read, or not be written: a home that is read-only, settings half-written, colours that are none,
a disk without room. Practice goes on, one line says what is the matter, and no file is the worse for it.

The disk is filled by `RLIMIT_FSIZE`, which needs no rights: past it a write fails as one to a full disk does, with
another number. `tests/log/test_faults.py` fills SQLite's own file, `tests/files/test_atomic.py` each step of a write.
"""

from __future__ import annotations

import os
import re
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.programs import COMMAND, ROOT, WAITS_S, changeover, refused
from tests.terminal.person import Terminal
from trainer.files import paths, settings
from trainer.files.themes import load_all
from trainer.log.history import reading
from trainer.ui.services import open_services

NOBODY = 65534
NO_GUARD = "format = 1\nrepeat_ms = 0\n"
"""Lines that come all at once are presses, not the repeats of a held key."""
DRILLED = ("hear", "C", "F", "--mode", "presses")
PRESSES = "\n" * 8 + "q\n"
"""Four changes of two presses."""
TWICE = f"""
import io, os, sys
from trainer.cli import main

first, home, user = sys.argv[1:]
for folder in (first, home):
    sys.stdin = io.StringIO({PRESSES!r})
    os.environ["CHANGEOVER_HOME"] = folder
    code = main({list(DRILLED)!r})
    if not os.geteuid():
        os.setgroups([])
        os.setgid(int(user))
        os.setuid(int(user))
sys.exit(code)
"""
"""Drills in a home of its own, then in another as somebody who is not root and may not read where Python lies."""


def drilled(home: Path, *command: str, most_bytes: int = -1) -> tuple[int, str]:
    """Drill in line mode, or run `command`; return the exit code and what was said on standard error."""
    done = subprocess.run(
        command or [*COMMAND, *DRILLED],
        input=PRESSES,
        capture_output=True,
        text=True,
        timeout=WAITS_S,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes)),
        cwd=ROOT,
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
    )
    assert "4 of 4 changes landed" in done.stdout
    return done.returncode, done.stderr


def not_kept(said: str, home: Path) -> None:
    """Hold that all that was said is one line on the log."""
    (line,) = said.splitlines()
    assert line.startswith(f"changeover: {home / 'data' / 'practice.sqlite3'}: ")
    assert "practice goes on but is not kept (" in line


def kept(home: Path) -> int:
    with reading(home / "data" / "practice.sqlite3") as history:
        return sum(summary.count for summary in history.summaries())


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text(NO_GUARD)
    return home


@pytest.fixture
def open_home() -> Iterator[Path]:
    """A home that everybody may look into, unlike the folders of the test runner."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "settings.toml").write_text(NO_GUARD)
        yield folder
        for item in (folder, *folder.rglob("*")):
            item.chmod(0o755)


def test_drilling_as_it_should_be_keeps_what_landed(home: Path) -> None:
    code, said = drilled(home)
    assert code == 0, said
    assert said == ""
    assert kept(home) == 4


def test_a_disk_without_room_is_told_once_and_practice_goes_on(home: Path) -> None:
    drilled(home)
    code, said = drilled(home, most_bytes=4096)
    assert code == 0, said
    not_kept(said, home)
    assert kept(home) == 4


def test_a_page_that_finds_no_room_is_refused_and_nothing_is_left_of_it(home: Path) -> None:
    page = home / "page.html"
    text = f"ulimit -f 1; exec {' '.join(COMMAND)} sheet first-change -o {page}"
    done = subprocess.run(["bash", "-c", text], capture_output=True, timeout=WAITS_S, check=False, cwd=ROOT)
    line = refused(done)
    assert f"{page}: cannot be written" in line
    assert [item.name for item in home.iterdir()] == ["settings.toml"]


@pytest.mark.parametrize("has_log", [False, True], ids=["new", "known"])
def test_a_home_that_can_only_be_read(home: Path, open_home: Path, has_log: bool) -> None:
    if has_log:
        assert drilled(open_home)[0] == 0
    before = {item: item.read_bytes() for item in open_home.rglob("*") if item.is_file()}
    for item in (*open_home.rglob("*"), open_home):
        item.chmod(0o555 if item.is_dir() else 0o444)
    code, said = drilled(open_home, sys.executable, "-c", TWICE, str(home), str(open_home), str(NOBODY))
    assert code == 0, said
    not_kept(said, open_home)
    assert {item: item.read_bytes() for item in open_home.rglob("*") if item.is_file()} == before


# Half-written, or wrong


WHOLE = 'format = 1\nhand = "small"\nrepeat_ms = 80\nmode = "presses"\n\n[keys]\nstart = "f5, space"\n'


@pytest.mark.parametrize("length", range(1, len(WHOLE), 7))
def test_settings_cut_off_anywhere_let_everything_begin(home: Path, length: int) -> None:
    (home / "settings.toml").write_text(WHOLE[:length])
    found, problems = settings.load(home / "settings.toml")
    assert found.left_handed is False
    assert all("\n" not in str(problem) and "settings.toml" in str(problem) for problem in problems)
    whole_lines = WHOLE[:length].rpartition("\n")[0]
    if not problems and "hand" in whole_lines:
        assert found.hand == "small"


def test_settings_half_written_are_told_by_commands_and_the_app(home: Path) -> None:
    (home / "settings.toml").write_text('format = 1\nhand = "sm')
    done = changeover(home, "hear", "C", "F", "--mode", "walk", typed=b"q\n")
    assert done.returncode == 0
    (line,) = done.stderr.decode().splitlines()
    assert "settings.toml:2: a text without its closing quote" in line
    checked = changeover(home, "check")
    assert checked.returncode == 1
    assert b"settings.toml:2:" in checked.stdout
    with Terminal(home) as terminal:
        terminal.run()
        terminal.shows("settings.toml:2")
        terminal.key("q")
        assert terminal.ended() == 0


def test_what_is_kept_between_sittings_is_put_aside_and_told(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(paths.HOME, str(home))
    path = paths.kept_file()
    path.parent.mkdir()
    path.write_text("[targets\nhalf = 9", encoding="utf-8")
    services = open_services()
    (problem,) = services.problems
    assert problem.file == str(path)
    services.keep_target("Any", 96.0)
    (problem,) = services.problems
    assert "kept.toml.bad" in problem.what
    assert path.with_name("kept.toml.bad").read_text(encoding="utf-8") == "[targets\nhalf = 9"
    assert open_services().kept.targets == {"Any": 96.0}


def test_a_theme_of_which_every_colour_is_wrong_is_left_out(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shipped = next(iter(sorted(paths.shipped("themes").glob("*.toml")))).read_text(encoding="utf-8")
    wrong, colours = re.subn('= "#.*"', r'= "no colour \\\\u001b[31m"', shipped)
    wrong = re.sub("^name = .*$", 'name = "mine"', wrong, flags=re.MULTILINE)
    (home / "themes").mkdir()
    (home / "themes" / "mine.toml").write_text(wrong, encoding="utf-8")
    (home / "settings.toml").write_text('format = 1\ntheme = "mine"\n')
    monkeypatch.setenv(paths.HOME, str(home))
    themes, problems = load_all()
    assert "mine" not in themes
    assert len(problems) == colours > 10
    assert all("\x1b" not in str(problem) for problem in problems)
    done = changeover(home, "check")
    assert done.returncode == 1
    assert b"\x1b" not in done.stdout
    with Terminal(home) as terminal:
        terminal.run()
        # Where the lines break hangs on how long the path is.
        said = f"there is no theme 'mine'. And {colours} more"
        terminal.until(lambda rows: said in " ".join(row.strip() for row in rows), said)
        terminal.key("q")
        assert terminal.ended() == 0
