"""`changeover sheet`, as a process."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from trainer.files.library import find
from trainer.log.writer import Log
from trainer.practice.drill import change_key
from trainer.practice.record import Attempt, Run, Timing


def sheet(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "trainer.cli", "sheet", *words],
        env={**os.environ, "CHANGEOVER_HOME": str(home)},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize(("ending", "begins"), [("html", "<!DOCTYPE html>"), ("svg", "<svg"), ("txt", "Hinge barre")])
def test_a_page_of_each_kind_is_written(tmp_path: Path, ending: str, begins: str) -> None:
    path = tmp_path / f"page.{ending}"
    done = sheet(tmp_path, "hinge", "-o", str(path))
    assert (done.returncode, done.stderr) == (0, "")
    assert path.read_text("utf-8").startswith(begins)


def test_nothing_is_written_over_unless_told(tmp_path: Path) -> None:
    path = tmp_path / "page.txt"
    path.write_text("mine", "utf-8")
    refused = sheet(tmp_path, "hinge", "-o", str(path))
    assert refused.returncode == 2
    assert len(refused.stderr.splitlines()) == 1
    assert path.read_text("utf-8") == "mine"
    assert sheet(tmp_path, "hinge", "-o", str(path), "--force").returncode == 0
    assert path.read_text("utf-8") != "mine"


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("hinge", "-o", "page.docx"), ".html, .svg, .txt"),
        (("no-such", "-o", "page.txt"), "no-such"),
        (("hinge", "-o", "/dev/null/page.txt"), "cannot be written"),
        (("hinge",), "-o"),
    ],
)
def test_bad_words_are_one_line(tmp_path: Path, words: tuple[str, ...], what: str) -> None:
    refused = sheet(tmp_path, *words)
    assert refused.returncode == 2
    assert what in refused.stderr
    assert len(refused.stderr.splitlines()) == 1


def test_the_player_s_times_stand_on_it_and_a_damaged_log_does_not_stop_it(tmp_path: Path) -> None:
    drill = find("hinge")
    before, after = next(iter(drill.changes))
    log_file = tmp_path / "data" / "practice.sqlite3"
    log_file.parent.mkdir()
    with Log.open(log_file) as log:
        log.begin(Run("run", drill.title, time.time(), Timing.LEAVE))
        change = change_key(drill.instrument, before.shape, after.shape)
        log.add(Attempt("one", "run", change, time.time(), Timing.LEAVE, "keys", 1234.0))
    path = tmp_path / "page.txt"
    assert sheet(tmp_path, "hinge", "-o", str(path)).returncode == 0
    assert "C to Am: 1.23, best 1.23" in path.read_text("utf-8")
    log_file.write_bytes(b"this was a log once " * 200)
    done = sheet(tmp_path, "hinge", "-o", str(path), "--force")
    assert done.returncode == 0
    assert "without your times" in done.stderr
    assert "C to Am: 1.23" not in path.read_text("utf-8")
