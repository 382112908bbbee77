"""What somebody does wrong on the first day: each time one line says what is the matter, and what to do next."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.programs import COMMAND, changeover, refused
from tests.terminal.person import Terminal


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    (home / "drills").mkdir(parents=True)
    (home / "binary.toml").write_bytes(bytes(range(256)))
    (home / "folder.toml").mkdir()
    (home / "score.mid").write_bytes(b"MThd nothing")
    (home / "score.musicxml").write_text("<score-partwise>")
    return home


@pytest.mark.parametrize(
    ("words", "what", "next_"),
    [
        ("", "the app needs a terminal", "'changeover hear DRILL' drills line by line"),
        ("drill first-change", "the app needs a terminal", "'changeover hear DRILL'"),
        ("expalin C F", "no command 'expalin'", "did you mean 'explain'?"),
        ("xyzzy", "no command 'xyzzy'", "'changeover --help' lists the commands"),
        ("hear frist-change", "no drill is called 'frist-change'", "did you mean 'first-change'?"),
        ("hear xyzzy", "no drill is called 'xyzzy'", "'changeover where' shows where they lie"),
        ("explain {home}/first-chagne.toml", "there is no such file", "did you mean 'first-change'?"),
        ("explain {home}", "is not a file", "give the path of a TOML file"),
        ("explain {home}/folder.toml", "is not a file", "give the path of a TOML file"),
        ("explain {home}/binary.toml", "is not UTF-8 text", "save it as UTF-8"),
        ("import {home}", "is not a file", "give the path of a score"),
        ("import {home}/none.mid", "there is no such file", "look at the spelling"),
        ("import {home}/binary.toml", "is neither MusicXML nor a MIDI file", "names of scores end in"),
        ("import {home}/score.mid", "score.mid", "("),
        ("import {home}/score.musicxml", "score.musicxml", "("),
        ("hear first-change --take {home}", "it is a folder", "give the path of a MIDI file"),
        ("hear first-change --take {home}/binary.toml", "no Standard MIDI File", "begins with MThd"),
        ("explain C H", "H", "("),
        ("drill", "the following arguments are required: DRILL", "'changeover drill --help'"),
        ("sheet first-change -o page.pdf", "page.pdf", ".html, .svg, .txt"),
        ("export first-change -o {home}/page.txt", "page.txt", "("),
    ],
)
def test_it_is_refused_in_one_line_that_says_what_to_do(home: Path, words: str, what: str, next_: str) -> None:
    line = refused(changeover(home, *words.format(home=home).split(), around={"TERM": "xterm"}))
    assert what in line
    assert next_ in line.partition(what)[2]


@pytest.mark.parametrize("term", ["dumb", "unknown", "", None])
def test_a_terminal_that_cannot_show_it_is_told_so(home: Path, term: str | None) -> None:
    line = refused(changeover(home, around={"TERM": term}))
    assert "TERM: this terminal cannot show the app ('changeover hear DRILL'" in line


@pytest.mark.parametrize(("term", "size"), [("linux", (80, 24)), ("screen", (60, 20)), ("vt100", (120, 40))])
def test_every_terminal_times_a_change(home: Path, term: str, size: tuple[int, int]) -> None:
    # Not as a variable of the session: tmux gives its programs a TERM of its own.
    with Terminal(home, size, ("env", "-u", "COLORTERM", f"TERM={term}", *COMMAND)) as terminal:
        terminal.run("drill", "C", "F", "--mode", "presses")
        terminal.shows("SPACE", "when your fingers leave C")
        terminal.key("Space")
        terminal.shows("the clock stops")
        terminal.key("k")
        terminal.shows("change 2 of", "seconds")
        terminal.key("q")
        assert terminal.ended() == 0


def test_a_window_far_too_small_says_what_it_needs_and_can_be_left(home: Path) -> None:
    with Terminal(home, (20, 5)) as terminal:
        terminal.run()
        terminal.shows("Too small: 20 x 5", "needed: 60 x 20")
        terminal.resize(60, 20)
        terminal.shows("Changeover", "ENTER")
        terminal.resize(20, 5)
        terminal.shows("Too small")
        terminal.key("C-q")
        terminal.resize(60, 20)
        assert terminal.ended() == 0
