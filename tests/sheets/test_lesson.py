"""The summary of a class: whole, escaped, readable without sight and without colour, printed by a real browser."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from tests.sheets.test_pages import HOSTILE, POINTS, Seen
from tests.system import require
from trainer.files.library import find
from trainer.hand.reach import HANDS
from trainer.sheets.content import content
from trainer.sheets.lesson import Lesson, Part, Timed, Tried, html
from trainer.sheets.page import html as page
from trainer.sheets.plaintext import txt

SEAT = Part(
    "3 Window",
    4,
    3,
    (Tried("G → Em", 4, 3, 72.0), Tried("Em → C", 2, 0, None)),
    (Timed("Em → C", "on cue from browser", 1234.0, 990.0),),
    (("Em → C", "had 0 of 2 times"),),
)
NOBODY = Part("seat 4", 0, 0, (), (), ())
LESSON = Lesson("Tuesdays", "rounds of 2026-03-03", replace(SEAT, title="The class"), (SEAT, NOBODY))


def test_every_number_is_said() -> None:
    seen = Seen(html(LESSON)).text
    for said in ("Tuesdays", "rounds of 2026-03-03", "3 Window", "3 of 4", "0 of 2", "72", "1.23", "0.99", "seat 4"):
        assert said in seen
    assert seen.count("Nothing played yet.") == 1


@pytest.mark.parametrize(
    ("late_ms", "came_up", "words"),
    [
        (None, 0, ""),
        (0.4, 0, "on time"),
        (-31.0, 0, "usually 31 ms early"),
        (42.0, 2, "usually 42 ms late, a finger came up 2 of 7 times"),
        (None, 1, "a finger came up 1 of 6 times"),
    ],
)
def test_what_guitars_told_stands_in_a_column_where_there_is_any(
    late_ms: float | None, came_up: int, words: str
) -> None:
    tried = Tried("G → Em", 4, 3, 72.0, late_ms, came_up, stayed=5)
    assert tried.heard == words
    seat = replace(SEAT, tried=(tried, Tried("Em → C", 1, 1, 60.0)))
    seen = Seen(html(replace(LESSON, whole=NOBODY, seats=(seat,)))).text
    assert ("heard" in seen) is bool(words)
    assert words in seen


def test_rounds_that_were_all_missed_count_as_played() -> None:
    """Of several changes at once nobody said which was missed, so that there is no row to show."""
    missed = replace(NOBODY, rounds=3)
    seen = Seen(html(replace(LESSON, whole=missed, seats=(missed,)))).text
    assert seen.count("Rounds played: 3, had whole: 0.") == 2
    assert "Nothing played yet." not in seen


def test_a_screen_reader_finds_its_way() -> None:
    """WCAG 2.2, 1.3.1 and 3.1.1: a language, one main heading, captions, heads of columns and of rows."""
    document = html(LESSON)
    seen = Seen(document)
    assert '<html lang="en">' in document
    assert (seen.names.count("h1"), seen.names.count("h2"), seen.names.count("main")) == (1, 3, 1)
    assert seen.names.count("table") == seen.names.count("caption") == 5
    scopes = [value for name, value in seen.attributes if name == "scope"]
    assert scopes.count("row") == seen.names.count("tr") - seen.names.count("table")
    assert len(scopes) == seen.names.count("th")


def test_it_stands_alone_in_greys_and_takes_names_as_data() -> None:
    bad = replace(SEAT, title=HOSTILE, tried=(Tried(HOSTILE, 1, 1, 60.0),), practise=((HOSTILE, HOSTILE),))
    document = html(Lesson(HOSTILE, HOSTILE, bad, (bad,)))
    seen = Seen(document)
    assert not {"script", "link", "img", "iframe"} & set(seen.names)
    assert seen.names.count("title") == 1
    assert "\x1b" not in document
    assert "url(" not in document
    colours = set(re.findall(r"#[0-9a-f]{3,6}\b", document))
    assert colours
    assert all(len(set(colour[1:])) == 1 for colour in colours), "each is black, white or a grey"


def test_a_sheet_says_whose_it_is_and_what_to_practise() -> None:
    sheet = replace(content(find("hinge"), HANDS["adult"]), player="3 Window", practise=SEAT.practise)
    for text in (Seen(page(sheet)).text, txt(sheet)):
        assert "3 Window" in text
        assert "To practise first" in text
        assert "Em → C: had 0 of 2 times" in text
    assert "To practise first" not in page(content(find("hinge"), HANDS["adult"]))
    escaped = page(replace(sheet, player=HOSTILE, practise=((HOSTILE, HOSTILE),)))
    assert "script" not in Seen(escaped).names
    assert "\x1b" not in escaped


@pytest.mark.parametrize("paper", sorted(POINTS))
def test_a_browser_prints_a_class_of_forty(paper: str, tmp_path: Path) -> None:
    chromium = require("chromium", "chromium")
    file, printed = tmp_path / "class.html", tmp_path / "class.pdf"
    full = replace(LESSON, seats=tuple(replace(SEAT, title=f"{n} {'name ' * 11}") for n in range(1, 41)))
    file.write_text(html(full).replace("@page { ", f"@page {{ size: {paper}; "), "utf-8")
    subprocess.run(
        [
            *(chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"),
            *(f"--user-data-dir={tmp_path / 'profile'}", f"--print-to-pdf={printed}", file.as_uri()),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    boxes = re.findall(rb"/MediaBox \[([\d. ]+)\]", printed.read_bytes())
    assert 2 <= len(boxes) <= 20
    for box in boxes:
        width, height = map(float, box.split()[2:])
        assert (width, height) == pytest.approx(POINTS[paper], abs=1)
