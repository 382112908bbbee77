"""Where keys stand. The lines are known because the documents are laid out here, line by line."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.files.lines import Lines, Path, Repeat

EVERY_FORM = """\
# a comment = 1
title = "not # a comment"
"quoted key" = 'C:\\path'
'literal "key"' = 1
a.b.c = 2
a.b.d = 3

long = \"\"\"
x = 1
[table]
\\\"\"\" ""\"\"\"
raw = '''
y = 2
'''
when = 1979-05-27 07:32:32
list = [
  1, 2,  # two = 2
  "]",
  [ 3,
    4 ],
]
one = { x = 1, y.z = [5, 6] }

[shape]
name = "first"
  [shape.hand]
  finger = 1

[[steps]]
beats = 4

[[steps]]
[steps.more]
beats = 5
[[steps.more.deep]]
x = 1
[[steps.more.deep]]
x = 2
[ spaced . "out" ]
"\\u00e9" = true"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("quoted key",), 3),
        (('literal "key"',), 4),
        (("a",), 5),
        (("a", "b"), 5),
        (("a", "b", "c"), 5),
        (("a", "b", "d"), 6),
        (("long",), 8),
        (("raw",), 12),
        (("when",), 15),
        (("list",), 16),
        (("list", 0), 17),
        (("list", 1), 17),
        (("list", 2), 18),
        (("list", 3), 19),
        (("list", 3, 1), 20),
        (("one",), 22),
        (("one", "y", "z", 1), 22),
        (("shape",), 24),
        (("shape", "hand"), 26),
        (("shape", "hand", "finger"), 27),
        (("steps",), 29),
        (("steps", 0), 29),
        (("steps", 0, "beats"), 30),
        (("steps", 1), 32),
        (("steps", 1, "more"), 33),
        (("steps", 1, "more", "beats"), 34),
        (("steps", 1, "more", "deep", 0), 35),
        (("steps", 1, "more", "deep", 1, "x"), 38),
        (("spaced", "out"), 39),
        (("spaced", "out", "é"), 40),
    ],
)
def test_every_form_of_key_is_found(path: Path, line: int) -> None:
    assert Lines(EVERY_FORM).of(path) == line
    assert path in Lines(EVERY_FORM)


def test_every_value_of_a_document_has_a_line() -> None:
    lines = Lines(EVERY_FORM)
    assert [path for path in paths(tomllib.loads(EVERY_FORM)) if path not in lines] == []


def test_what_is_not_there_stands_where_its_surroundings_stand() -> None:
    lines = Lines("a = 1\n[b]\nc = 1\n")
    assert lines.of(("b", "missing")) == 2
    assert lines.of(("b", "c", 4, "x")) == 3
    assert lines.of(("missing",)) is None
    assert lines.of(()) is None


def test_windows_line_breaks_count_once() -> None:
    assert Lines("a = 1\r\nb = 2\r\n\r\n[c]\r\nd = 3\r\n").of(("c", "d")) == 5


@pytest.mark.parametrize(
    ("text", "repeats"),
    [
        ("a = 1\nb = 2\na = 3\na = 4\n", [Repeat(("a",), 3, 1), Repeat(("a",), 4, 1)]),
        ("[t]\nx = 1\n[u]\n[t]\ny = 1\n", [Repeat(("t",), 4, 1)]),
        ("[[s]]\nx = 1\n[[s]]\nx = 2\nx = 3\n", [Repeat(("s", 1, "x"), 5, 4)]),
        ("t = { a = 1, a = 2 }\n", [Repeat(("t", "a"), 1, 1)]),
        ("a.b = 1\na.b = 2\n", [Repeat(("a", "b"), 2, 1)]),
        ("a = 1\na = 2\n!!\na = 3\n", [Repeat(("a",), 2, 1)]),
        ("[a.b]\n[a]\n[[c]]\n[[c]]\n[a.c]\n", []),
    ],
)
def test_what_is_given_twice(text: str, repeats: list[Repeat]) -> None:
    assert list(Lines(text).repeats) == repeats


@given(st.text(alphabet="ab.=[]{},\"'\\#\n \r1é", max_size=60))
def test_no_text_stops_the_scan(text: str) -> None:
    lines = Lines(text)
    try:
        values = tomllib.loads(text)
    except ValueError:
        return
    assert [path for path in paths(values) if path not in lines] == []


def paths(value: object, at: Path = ()) -> list[Path]:
    """Return the path of everything inside `value`."""
    match value:
        case dict():
            inside = [((*at, key), entry) for key, entry in value.items()]
        case list():
            inside = [((*at, index), entry) for index, entry in enumerate(value)]
        case _:
            return []
    return [path for place, entry in inside for path in (place, *paths(entry, place))]


@dataclass
class Page:
    """A document being laid out, which notes the line of all it is given."""

    text: str = ""
    lines: dict[Path, int] = field(default_factory=dict)

    def note(self, path: Path) -> None:
        self.lines.setdefault(path, self.text.count("\n") + 1)


KEYS = st.sampled_from(["a", "b-c", "d e", 'f"g', "h.i", "é", "#j"])
SCALARS = st.sampled_from(
    ["1", "-2.5e3", "true", '"x # y"', "'[z]'", '"\\"{"', '"""\n=\n"""', "'''\n[q]\n'''", "2024-02-29", "inf", '""']
)
BREAKS = st.sampled_from(["", " ", "\n", " # no = 1\n", "\n\n  "])


def quoted(key: str) -> str:
    return key if key.replace("-", "").isalnum() and key.isascii() else '"' + key.replace('"', '\\"') + '"'


@st.composite
def documents(draw: st.DrawFn) -> Page:
    """Draw a document with scalars, lists, inline tables, tables and lists of tables."""
    page = Page()
    pairs(draw, page, ())
    for name in draw(st.lists(KEYS, unique=True, max_size=3)):
        key = f"t{name}"
        page.text += draw(st.sampled_from(["\n", "# [x]\n", ""]))
        if draw(st.booleans()):
            page.note((key,))
            page.text += f"[{quoted(key)}]\n"
            pairs(draw, page, (key,))
            continue
        for index in range(draw(st.integers(1, 3))):
            page.note((key,))
            page.note((key, index))
            page.text += f"[[ {quoted(key)} ]] # entry\n"
            pairs(draw, page, (key, index))
    return page


def pairs(draw: st.DrawFn, page: Page, inside: Path) -> None:
    for key in draw(st.lists(KEYS, unique=True, max_size=3)):
        page.note((*inside, key))
        page.text += f"{quoted(key)} = "
        value(draw, page, (*inside, key), 3)
        page.text += draw(st.sampled_from(["\n", "  # c = 1\n"]))


def value(draw: st.DrawFn, page: Page, path: Path, depth: int) -> None:
    forms: list[Callable[[st.DrawFn, Page, Path, int], None]] = [scalar, array, inline]
    draw(st.sampled_from(forms if depth else [scalar]))(draw, page, path, depth)


def scalar(draw: st.DrawFn, page: Page, path: Path, depth: int) -> None:
    page.text += draw(SCALARS)


def array(draw: st.DrawFn, page: Page, path: Path, depth: int) -> None:
    page.text += "["
    for index in range(draw(st.integers(0, 3))):
        page.text += draw(BREAKS)
        page.note((*path, index))
        value(draw, page, (*path, index), depth - 1)
        page.text += draw(BREAKS) + ","
    page.text += draw(BREAKS) + "]"


def inline(draw: st.DrawFn, page: Page, path: Path, depth: int) -> None:
    page.text += "{"
    for count, key in enumerate(draw(st.lists(KEYS, unique=True, max_size=3))):
        page.text += ", " if count else " "
        page.note((*path, key))
        page.text += f"{quoted(key)} = "
        value(draw, page, (*path, key), depth - 1)
    page.text += "}"


@given(documents())
def test_lines_are_those_the_document_was_laid_out_with(page: Page) -> None:
    assert sorted(page.lines, key=str) == sorted(paths(tomllib.loads(page.text)), key=str)
    lines = Lines(page.text)
    assert {path: lines.of(path) for path in page.lines} == page.lines
    assert lines.repeats == ()
