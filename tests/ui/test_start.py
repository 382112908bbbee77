"""Where there is no terminal fit for a screen: one line, the way on, exit code 2."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest


@pytest.mark.parametrize(("term", "what"), [("dumb", "cannot show the app"), ("", "cannot show"), ("xterm", "needs a")])
@pytest.mark.parametrize("words", [[], ["drill", "C", "F"]])
def test_it_is_refused_in_one_line_that_names_the_way_on(term: str, what: str, words: list[str]) -> None:
    told = subprocess.run(
        [sys.executable, "-m", "trainer.cli", *words],
        env={**os.environ, "TERM": term},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 2
    assert told.stdout == ""
    (line,) = told.stderr.splitlines()
    assert what in line
    assert "changeover explain" in line


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["drill", "no-such-drill"], "no drill is called 'no-such-drill'"),
        (["drill", "C", "H"], "no shape is named 'H'"),
        (["drill", "C", "F", "--tempo", "nan"], "'nan' is not a tempo from 20 to 240"),
        (["drill", "C", "F", "--mode", "fast"], "walk"),
    ],
)
def test_bad_words_are_told_before_any_screen(words: list[str], what: str) -> None:
    told = subprocess.run(
        [sys.executable, "-m", "trainer.cli", *words],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 2
    assert what in told.stderr
    assert "Traceback" not in told.stderr
