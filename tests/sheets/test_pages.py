"""Hand-outs as they are written: whole, escaped, self-contained, printed by a real browser on both papers."""

from __future__ import annotations

import re
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.system import require
from trainer.files.library import find
from trainer.hand.reach import HANDS
from trainer.practice.drill import Drill, change_key
from trainer.sheets.content import CARE, content
from trainer.sheets.page import html
from trainer.sheets.plaintext import WIDTH, txt
from trainer.sheets.poster import svg

HAND = HANDS["adult"]
SHIPPED = sorted(path.stem for path in (Path(__file__).parents[2] / "drills").glob("*.toml"))
HOSTILE = '<script>alert("x")</script> & \x1b[31mred\x1b]0;title\x07 </title>'
POINTS = {"A4": (595, 842), "Letter": (612, 792)}
"""Paper in points, 72 to an inch: ISO 216 and ANSI/ASME Y14.1."""


class Seen(HTMLParser):
    """What a browser would see: the names of elements, and the text between them."""

    def __init__(self, document: str) -> None:
        super().__init__()
        self.names: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.feed(document)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.text += data


def hostile() -> Drill:
    drill = find("hinge")
    steps = tuple(replace(step, label=HOSTILE, note=HOSTILE) for step in drill.steps)
    return replace(drill, title=HOSTILE, about=HOSTILE, caution=HOSTILE, credits=HOSTILE, steps=steps)


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_drill_has_a_page_that_says_all_of_it(name: str) -> None:
    drill = find(name)
    page = content(drill, HAND)
    seen = Seen(html(page)).text
    plain = " ".join(txt(page).split())
    for said in (drill.title, drill.about, drill.caution, CARE, *(step.name for step in drill.steps)):
        assert said in seen
        assert " ".join(said.split()) in plain
    for card in page.cards:
        assert card.arrival in seen
        assert " ".join(card.arrival.split()) in plain
    assert max(map(len, txt(page).splitlines())) <= WIDTH
    ET.fromstring(svg(page))  # well-formed XML


def test_nothing_outside_the_file_is_asked_for_and_no_script_runs() -> None:
    document = html(content(find("hinge"), HAND))
    seen = Seen(document)
    assert not {"script", "link", "img", "iframe", "object", "embed", "use", "image"} & set(seen.names)
    assert not {"src", "href", "xlink:href", "onload", "onclick"} & {name for name, _ in seen.attributes}
    assert "url(" not in document
    assert "@import" not in document


def test_grey_printing_loses_nothing() -> None:
    document = html(content(find("guide-1"), HAND)) + svg(content(find("guide-1"), HAND))
    colours = set(re.findall(r"#[0-9a-f]{3,6}\b", document))
    assert colours
    assert all(len(set(colour[1:])) == 1 for colour in colours), "each is black, white or a grey"


@pytest.mark.parametrize("write", [html, svg, txt])
def test_text_from_files_is_data(write: object) -> None:
    assert callable(write)
    document = write(content(hostile(), HAND))
    assert "\x1b" not in document
    assert "\x07" not in document
    if write is txt:
        return
    seen = Seen(document)
    assert "script" not in seen.names
    assert seen.names.count("title") == (1 if write is svg else 1 + len(hostile().steps) + 1)
    assert 'alert("x")' in seen.text


def test_a_left_handed_player_gets_the_mirror() -> None:
    page = content(find("first-change"), HAND)
    right, left = (re.findall(r'<circle cx="([\d.]+)"', svg(page, left_handed=side)) for side in (False, True))
    edges = {float(a) + float(b) for a, b in zip(right, left, strict=True)}
    assert right != left
    assert len(edges) == 1, "each circle lies as far from one edge as its mirror from the other"


def test_the_slowest_changes_come_first_with_usual_and_best_time() -> None:
    drill = find("hinge")
    keys = [change_key(drill.instrument, before.shape, after.shape) for before, after in drill.changes]
    times = {key: (1000.0 + 100 * number, 900.0) for number, key in enumerate(keys)}
    slowest = content(drill, HAND, times).slowest
    assert [slow.median_ms for slow in slowest] == [1300.0, 1200.0, 1100.0, 1000.0]
    assert "1.30" in Seen(html(content(drill, HAND, times))).text
    assert "slowest" not in html(content(drill, HAND))


def test_a_long_passage_is_joined_from_segments() -> None:
    drill = find("hinge")
    long = replace(drill, steps=drill.steps * 4, segments=())
    page = content(long, HAND)
    assert len(page.segments) > 1
    assert page.segments[-1].last == len(long.steps)
    assert [picture.count("#") for _, picture in page.plan] == [step.last - step.first + 1 for step, _ in page.plan]


@pytest.mark.parametrize("paper", sorted(POINTS))
def test_a_browser_prints_it_on_this_paper(paper: str, tmp_path: Path) -> None:
    chromium = require("chromium", "chromium")
    page, printed = tmp_path / "page.html", tmp_path / "page.pdf"
    page.write_text(html(content(find("hinge"), HAND)).replace("@page { ", f"@page {{ size: {paper}; "), "utf-8")
    subprocess.run(
        [
            *(chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"),
            *(f"--user-data-dir={tmp_path / 'profile'}", f"--print-to-pdf={printed}", page.as_uri()),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    data = printed.read_bytes()
    boxes = re.findall(rb"/MediaBox \[([\d. ]+)\]", data)
    assert 1 <= len(boxes) <= 2
    for box in boxes:
        width, height = map(float, box.split()[2:])
        assert (width, height) == pytest.approx(POINTS[paper], abs=1)
