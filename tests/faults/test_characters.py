"""A locale, a terminal or a pipe without UTF-8: every command says what it has to, the app draws in ASCII.

`LC_ALL=C` alone does not show it, for Python then takes UTF-8 all the same (PEP 538 and PEP 540); both are switched off
here, as a system without any UTF-8 locale, or `PYTHONIOENCODING`, does.
"""

from __future__ import annotations

import io
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tests.faults.programs import changeover
from tests.terminal.person import Terminal
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


@given(st.text())
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
