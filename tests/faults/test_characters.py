"""A locale, a terminal or a pipe without UTF-8: every command says what it has to, the app draws in ASCII.

`LC_ALL=C` alone does not show it, for Python then takes UTF-8 all the same (PEP 538 and PEP 540); both are switched off
here, as a system without any UTF-8 locale, or `PYTHONIOENCODING`, does.
"""

from __future__ import annotations

import io
import re
import unicodedata
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.color import Color as RichColor
from rich.color import ColorSystem

from tests.faults.programs import COMMAND, changeover
from tests.terminal.person import Terminal
from trainer.files import paths
from trainer.files.colour import contrast
from trainer.files.themes import GROUNDS, INKS, load_all
from trainer.lookalikes import be_read_and_written, lacks, lookalike
from trainer.ui.board.marks import MARKS

WITHOUT_UTF_8 = {"LC_ALL": "C", "LANG": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
ASCII = {**WITHOUT_UTF_8, "PYTHONIOENCODING": "ascii"}
NAME = "etude"
TITLE = "Étude → 第一 “x” …"
IN_ASCII = 'Etude > ???? "x" .'
DRILL = f"""format = 1
title = "{TITLE}"
about = "Zwölf Übungen"

[[shapes]]
shape = "Em"

[[shapes]]
shape = "Am"
label = "A♭ – né"
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "hôme"
    (home / "drills").mkdir(parents=True)
    for name in ("zwölf", NAME):
        (home / "drills" / f"{name}.toml").write_text(DRILL, encoding="utf-8")
    return home


@pytest.mark.parametrize("surroundings", [WITHOUT_UTF_8, ASCII], ids=["locale", "streams"])
@pytest.mark.parametrize(
    "words",
    [
        ("explain", NAME),
        ("hear", NAME, "--mode", "walk"),
        ("finger", NAME),
        ("check",),
        ("where",),
        ("today",),
        ("progress",),
        ("warmup", "--plan"),
        ("sheet", NAME, "-o", "{out}.html"),
        ("sheet", NAME, "-o", "{out}.txt"),
        ("export", NAME, "-o", "{out}.musicxml"),
        ("explain", NAME, "--json"),
    ],
    ids=lambda words: " ".join(word for word in words if word != NAME),
)
def test_every_command_says_what_it_has_to(
    home: Path, tmp_path: Path, words: tuple[str, ...], surroundings: dict[str, str]
) -> None:
    called = [word.format(out=tmp_path / "out") for word in words]
    done = changeover(home, *called, around=surroundings)
    assert done.returncode == 0, done.stderr
    assert done.stderr == b""
    assert done.stdout.isascii()
    if "--json" in words:
        assert b"\\u2192" in done.stdout  # JSON has a way of its own to say it
    elif NAME in words and "-o" not in words:
        assert IN_ASCII.encode() in done.stdout


def test_a_line_typed_in_other_letters_does_not_end_line_mode(home: Path) -> None:
    typed = "né\n".encode() + b"\xff\xfe\n" + b"q\n"
    for surroundings in ({}, ASCII):
        done = changeover(home, "hear", "C", "F", "--mode", "walk", typed=typed, around=surroundings)
        assert done.returncode == 0, done.stderr
        assert done.stdout.endswith(b"Ended.\n")


def test_the_app_draws_in_ascii(home: Path) -> None:
    with Terminal(home) as terminal:
        terminal.run("drill", NAME, "--mode", "walk", **ASCII)
        rows = terminal.shows("Etude >", "walk through", "+")
        assert all(row.isascii() for row in rows)
        assert not any("\\" in row for row in rows)  # no character is spelt as a number
        terminal.key("q")
        assert terminal.ended() == 0


# A Linux console is no emulator that a test could start. What it is sent can be held against what it has: signs that
# its fonts hold, and sixteen colours. How that looks there, and which keys it sends, nobody has seen.

ON_EVERY_CONSOLE = frozenset(map(chr, range(32, 127)))
"""ASCII, which every font of Debian's console-setup 1.221 has whole."""
CONSOLE_COLOURS = (
    *("000000", "aa0000", "00aa00", "aa5500", "0000aa", "aa00aa", "00aaaa", "aaaaaa"),
    *("555555", "ff5555", "55ff55", "ffff55", "5555ff", "ff55ff", "55ffff", "ffffff"),
)
"""What the kernel paints colours 30-37 and 90-97 with, `default_red`, `default_grn` and `default_blu` in its
drivers/tty/vt/vt.c (from memory; they are those of CGA)."""
OF_TEXT = 4.5
"""Contrast by WCAG 2.2, 1.4.3, level AA."""


def bare(term: str) -> tuple[str, ...]:
    """Return how the app is started as in a terminal of this kind, one that says nothing of its colours."""
    return ("env", "-u", "COLORTERM", f"TERM={term}", *COMMAND)


def colours(codes: str) -> set[str]:
    """Return what the screen was sent to change colours and the like."""
    return {part for code in re.findall(r"\x1b\[([0-9;]*)m", codes) for part in code.split(";")}


@pytest.mark.parametrize("drill", [("C", "F"), ("half-barre",)], ids=" ".join)
def test_a_linux_console_is_sent_signs_and_colours_that_it_has(tmp_path: Path, drill: tuple[str, ...]) -> None:
    with Terminal(tmp_path / "home", (80, 25), bare("linux")) as terminal:
        terminal.run("drill", *drill, "--mode", "presses")
        rows = terminal.shows("when your fingers leave", "change 1 of")
        assert {sign for row in rows for sign in row} <= ON_EVERY_CONSOLE
        assert any("I--" in row for row in rows)
        # Bold, underlined, exchanged, and sixteen colours for the ink; the ground takes the eight that are not bright.
        allowed = {"", "0", "1", "3", "4", "7", "39", "49"}
        allowed |= {str(n) for first in (30, 40, 90) for n in range(first, first + 8)}
        assert colours(terminal.codes()) <= allowed
        terminal.key("j")
        terminal.shows("the clock stops")
        terminal.key("q")
        assert terminal.ended() == 0


def test_the_theme_to_begin_with_can_be_read_in_a_console_s_sixteen_colours() -> None:
    themes, _ = load_all([paths.shipped("themes")])
    sent = {
        role: "#" + CONSOLE_COLOURS[RichColor.parse(colour).downgrade(ColorSystem.STANDARD).number or 0]
        for role, colour in next(iter(themes.values())).colours.items()
    }
    badly = {(ink, ground) for ink in INKS for ground in GROUNDS if contrast(sent[ink], sent[ground]) < OF_TEXT}
    assert badly == set()


def test_a_letter_stays_a_letter_on_a_linux_console(home: Path) -> None:
    with Terminal(home, (80, 25), ("env", "TERM=linux", *COMMAND)) as terminal:
        terminal.run("explain", NAME)
        rows = terminal.shows("Étude", "Zwölf Übungen")  # fonts hold those of their own script
        assert not any(sign in row for row in rows for sign in "…▀►○")
        assert terminal.ended() == 0
    done = changeover(home, "explain", NAME, around={"TERM": "linux"})
    assert TITLE.encode() in done.stdout  # into a pipe all of it goes as it is


def test_the_signs_of_a_linux_console_may_be_said_to_be_there(home: Path) -> None:
    with Terminal(home, (80, 25), ("env", "TERM=linux", *COMMAND)) as terminal:
        terminal.run("drill", NAME, "--mode", "walk", PYTHONIOENCODING="utf-8")
        terminal.shows("Étude →", "╫")
        terminal.key("q")
        assert terminal.ended() == 0


def test_an_old_terminal_is_sent_sixteen_colours(tmp_path: Path) -> None:
    with Terminal(tmp_path / "home", (80, 24), bare("vt100")) as terminal:
        terminal.run("drill", "C", "F", "--mode", "walk", **ASCII)
        rows = terminal.shows("walk through", "I--")
        assert all(row.isascii() for row in rows)
        assert not {"38", "48"} & colours(terminal.codes())
        terminal.key("q")
        assert terminal.ended() == 0


@pytest.mark.parametrize(
    ("term", "words"),
    [("TERM=dumb", ()), ("-uTERM", ("drill", "C", "F")), ("TERM=dumb", ("drill", "C", "F", "--room"))],
)
def test_a_terminal_that_cannot_move_its_cursor_is_told_of_line_mode(
    tmp_path: Path, term: str, words: tuple[str, ...]
) -> None:
    with Terminal(tmp_path / "home", (200, 24), ("env", term, *COMMAND)) as terminal:
        terminal.run(*words)
        rows = terminal.shows("TERM: this terminal cannot show the app ('changeover hear DRILL' drills line by line;")
        assert not any("Traceback" in row for row in rows)
        assert terminal.ended() == 2


@given(st.text())
@example("㍘ Ａ")
def test_whatever_stands_in_is_ascii_and_as_wide(text: str) -> None:
    drawn = "".join(c for c in text if c.isprintable() and unicodedata.category(c)[0] != "M")
    found = lookalike(drawn)
    assert found.isascii()
    assert found.isprintable()
    assert lookalike(found) == found
    assert all(len(lookalike(c)) == cell_len(c) for c in drawn if unicodedata.category(c)[0] in "LS" and cell_len(c))


def test_every_mark_of_the_board_has_a_sign_that_looks_like_it() -> None:
    assert all("?" not in lookalike(mark.fine.replace("?", "")) for mark in MARKS.values())


def test_only_what_the_encoding_lacks_is_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    bytes_ = io.BytesIO()
    written = io.TextIOWrapper(bytes_, "latin-1")
    monkeypatch.setattr("sys.stdout", written)
    be_read_and_written()
    written.write("né → ♯")
    written.flush()
    assert bytes_.getvalue().decode("latin-1") == "né > #"
    assert (lacks(written, "né"), lacks(written, "→")) == (False, True)
