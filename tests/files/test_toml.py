"""TOML files read with all their problems, and written with their comments kept."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError, Problem
from trainer.files.kinds import FLAG, integer, list_of, number, text
from trainer.files.toml import LIMIT, Document, spelt, take_format, update, updated


def parse(source: str) -> Document:
    document, problems = Document.parse(source, "f.toml")
    assert document is not None, problems
    return document


def refusals(source: str) -> list[str]:
    document, problems = Document.parse(source, "f.toml")
    assert document is None
    return [str(problem) for problem in problems]


def test_all_problems_of_a_file_are_told_in_its_order() -> None:
    document = parse(
        "format = 1\n"
        'titel = "Walk"\n'
        "tempo = true\n"
        "\n"
        "[[shapes]]\n"
        'shape = "x"\n'
        "[[shapes]]\n"
        "shape = 3\n"
        "frets = [1,\n"
        '  "a",\n'
        "  99]\n"
        "sub = { a = nan, b = 2 }\n"
    )
    top = document.top
    assert take_format(top)
    assert top.need("title", text()) is None
    assert top.take("tempo", integer(20, 300), 60) == 60
    first, second = top.tables("shapes")
    assert first.need("shape", text()) == "x"
    assert second.need("shape", text()) is None
    assert second.take("frets", list_of(integer(0, 24)), None) is None
    assert second.table("sub").take("a", number(0, 1), 0.5) == 0.5
    assert [(p.line, p.key, p.warning) for p in document.finish()] == [
        (None, "title", False),
        (2, "titel", True),
        (3, "tempo", False),
        (8, "shapes[2].shape", False),
        (10, "shapes[2].frets[2]", False),
        (11, "shapes[2].frets[3]", False),
        (12, "shapes[2].sub.a", False),
        (12, "shapes[2].sub.b", True),
    ]
    assert {p.file for p in document.finish()} == {"f.toml"}
    assert str(document.finish()[1]) == "f.toml:2: titel: is not a key known here (did you mean 'title'?)"


def test_a_sound_file_has_no_problems_and_is_not_scanned_for_lines() -> None:
    document = parse("a = 1\n[t]\nb = true\n")
    assert document.top.need("a", integer(0, 9)) == 1
    assert document.top.table("t").take("b", FLAG, False) is True
    assert document.finish() == []
    assert document._lines is None


def test_an_absent_key_takes_the_default_and_is_no_problem() -> None:
    document = parse("")
    assert document.top.take("a", FLAG, None) is None
    assert list(document.top.table("t")) == []
    assert document.top.tables("list") == []
    assert document.finish() == []


def test_a_key_that_is_missing_stands_at_its_table() -> None:
    document = parse("x = 1\n[[t]]\ny = 1\n")
    document.top.take("x", integer(0, 9), 0)
    (table,) = document.top.tables("t")
    assert "y" in table
    table.take("y", integer(0, 9), 0)
    table.need("z", FLAG)
    table.need("w", FLAG, "say so")
    assert document.finish() == [
        Problem("is missing", "f.toml", 2, "t[1].z", "it must be true or false"),
        Problem("is missing", "f.toml", 2, "t[1].w", "say so"),
    ]


@pytest.mark.parametrize("value", ["1", "[]", '"x"', "1979-05-27"])
def test_what_should_be_a_table_and_is_none(value: str) -> None:
    document = parse(f"t = {value}\n")
    assert list(document.top.table("t")) == []
    (problem,) = document.finish()
    assert problem.what.startswith("must be a table, not ")
    assert problem.hint == "write [t]"


def test_entries_that_are_no_tables_are_left_out() -> None:
    document = parse("t = [{ a = 1 },\n 2]\nu = 3\n")
    (table,) = document.top.tables("t")
    assert table.values == {"a": 1}
    assert document.top.tables("u") == []
    table.take("a", integer(0, 9), 0)
    assert [(p.line, p.key) for p in document.finish()] == [(2, "t[2]"), (3, "u")]


def test_keys_of_the_writers_choosing() -> None:
    document = parse('[t]\nfixed = 1\nfree = "x"\n"a.b" = "y"\nbad = 2\n')
    table = document.top.table("t")
    table.take("fixed", integer(0, 9), 0)
    assert table.rest(text()) == {"free": "x", "a.b": "y"}
    assert [(p.line, p.key) for p in document.finish()] == [(5, "t.bad")]


def test_what_its_reader_finds_wrong_is_placed_too() -> None:
    document = parse("a = 1\nb = 2\n")
    for key in "ab":
        document.top.take(key, integer(0, 9), 0)
    document.top.wrong("b", "is more than a", "make it less")
    document.top.warn("a", "is rather small")
    assert document.finish() == [
        Problem("is rather small", "f.toml", 1, "a", None, warning=True),
        Problem("is more than a", "f.toml", 2, "b", "make it less"),
    ]


def test_unknown_keys_without_a_near_one_hint_at_all_there_are() -> None:
    document = parse("zzz = 1\n")
    document.top.take("tempo", FLAG, False)
    document.top.take("title", FLAG, False)
    assert document.finish()[0].hint == "known: tempo, title"


@pytest.mark.parametrize(
    ("source", "readable", "told"),
    [
        ("", True, []),
        ("format = 1", True, []),
        ("format = 2", False, ["is 2, and this version reads up to 1"]),
        ('format = "1"', True, ["must be a whole number from 1 to 1000000, not the text '1'"]),
    ],
)
def test_a_newer_format_is_refused(source: str, readable: bool, told: list[str]) -> None:
    document = parse(source)
    assert take_format(document.top) is readable
    assert [problem.what for problem in document.finish()] == told


@pytest.mark.parametrize(
    ("source", "told"),
    [
        ("a = 1\n\nb 2\n", "f.toml:3: a key without '=' and a value (write key = value)"),
        ("a = [1,\n2\n", "f.toml:1: a list without its closing ]"),
        ("a = abc\n", "f.toml:1: the value is not one TOML knows (text needs quotes around it)"),
        ("a = 'x\x01'\n", "f.toml:1: a character that TOML does not allow here (write it as \\u…)"),
        ("a = 1\nb = 'x\nc = 2\n", "f.toml:2: a text without its closing quote"),
        ('a = 1\nb = "x\nc = 2\n', "f.toml:2: a text without its closing quote"),
        ('a = 1\nb = """x\nc = 2\n', "f.toml:2: a text without its closing quote"),
        ("a = 1\nb = ['x', \n'y'\nc = 2\n", "f.toml:2: a list without its closing ]"),
        ("a = 1\nb = { c = 2\nd = 2\n", "f.toml:2: a table without its closing }"),
        ("a = 1 2\n", "f.toml:1: something is left over after the value (text needs quotes around it)"),
        ("a = 2023-02-29\n", "f.toml:1: a date or time that does not exist"),
        ('a = "\\q"\n', "f.toml:1: a \\ in a text that stands for nothing (write \\\\ for one \\)"),
        ("a = " + "9" * 5000, "f.toml:1: a number with too many digits"),
        ("a = " + "[" * 50_000, "f.toml: lists or tables lie too deep in one another"),
        ("x = 1\n" * 1 + ".".join("a" * 3000) + " = 1\n", "f.toml:2: a key has more than 64 parts"),
        ("[t\n", "f.toml:1: a table's name without its closing ]"),
        ("%\n", "f.toml:1: neither a key, a [table] nor a comment (write key = value, or # before a comment)"),
    ],
)
def test_what_is_not_toml_is_told_in_one_line(source: str, told: str) -> None:
    assert refusals(source) == [told]


def test_every_key_given_twice_is_told() -> None:
    assert refusals("a = 1\n[t]\nx = 1\nx = 2\n[u]\n[t]\n[v]\nq = 1\nq = 2\n") == [
        "f.toml:4: t.x: is given twice, first in line 3 (keep one of them)",
        "f.toml:6: t: is given twice, first in line 2 (keep one of them)",
        "f.toml:9: v.q: is given twice, first in line 8 (keep one of them)",
    ]
    assert refusals("a.b = 1\n[a]\nc = 2\n") == ["f.toml:2: is given twice (keep one of them)"]


@given(st.text(alphabet="ab.=[]{},\"'\\#\n \t\r10-:Té\x00", max_size=80))
def test_no_text_is_too_odd_to_be_answered(source: str) -> None:
    document, problems = Document.parse(source, "f.toml")
    assert (document is None) == bool(problems)
    assert all(problem.what and "\n" not in str(problem) for problem in problems)


class TestFiles:
    """Files that are no text files, or none at all."""

    def refusal(self, path: Path) -> Problem:
        document, problems = Document.load(path)
        assert document is None
        (problem,) = problems
        assert problem.file == str(path)
        return problem

    def test_no_file(self, tmp_path: Path) -> None:
        assert self.refusal(tmp_path / "none.toml").what == "cannot be read: there is no such file"

    def test_a_folder(self, tmp_path: Path) -> None:
        assert self.refusal(tmp_path).what == "is not a file"

    def test_a_pipe_nobody_writes_to(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe")
        assert self.refusal(tmp_path / "pipe").what == "is not a file"

    def test_a_name_no_file_can_have(self) -> None:
        assert "null" in self.refusal(Path("a\0b")).what

    def test_not_utf8(self, tmp_path: Path) -> None:
        path = tmp_path / "a.toml"
        path.write_bytes(b'a = 1\nb = "caf\xe9"\n')
        problem = self.refusal(path)
        assert (problem.what, problem.line, problem.hint) == ("is not UTF-8 text", 2, "save it as UTF-8")

    def test_too_large(self, tmp_path: Path) -> None:
        path = tmp_path / "a.toml"
        path.write_bytes(b"#" * (LIMIT + 1))
        assert self.refusal(path).what == "is larger than 1024 KiB"
        path.write_bytes(b"#" * LIMIT)
        assert Document.load(path)[1] == []

    def test_a_byte_order_mark_is_no_part_of_the_text(self, tmp_path: Path) -> None:
        path = tmp_path / "a.toml"
        path.write_bytes(b"\xef\xbb\xbfa = 1\n")
        document, _ = Document.load(path)
        assert document is not None
        assert document.values == {"a": 1}


@pytest.mark.parametrize(
    ("path", "written"),
    [((), None), (("a",), "a"), (("shapes", 2, "frets", 0), "shapes[3].frets[1]"), (("keys", "a.b"), 'keys."a.b"')],
)
def test_paths_are_spelt_as_they_are_written(path: tuple[str | int, ...], written: str | None) -> None:
    assert spelt(path) == written


KEPT = """\
# My settings
theme = "dusk"   # for the evening

[keys]  # my own
# next
next = "n"
back = 'b'

[[shapes]]
shape = "x" # one
"""


def test_changes_keep_comments_order_and_everything_else() -> None:
    changes: dict[str | tuple[str | int, ...], object] = {
        "theme": "dawn",
        ("keys", "next"): "space",
        ("keys", "more"): "m",
        ("shapes", 0, "shape"): "y",
        "bell": True,
        ("reach", "span"): 80.5,
    }
    written = updated(KEPT, changes)
    assert written == (
        "# My settings\n"
        'theme = "dawn"   # for the evening\n'
        "bell = true\n"
        "\n"
        "[keys]  # my own\n"
        "# next\n"
        'next = "space"\n'
        "back = 'b'\n"
        'more = "m"\n'
        "\n"
        "[[shapes]]\n"
        'shape = "y" # one\n'
        "\n"
        "[reach]\n"
        "span = 80.5\n"
    )


def test_none_takes_a_key_out() -> None:
    changes: dict[str | tuple[str | int, ...], object] = {
        ("keys", "next"): None,
        "theme": None,
        "absent": None,
        ("absent", "x"): None,
        ("shapes", 0): None,
    }
    values = tomllib.loads(updated(KEPT, changes))
    assert values == {"keys": {"back": "b"}, "shapes": []}


NAMES = st.sampled_from(["a", "b", "t", "u"])
VALUES = st.integers(0, 99) | st.booleans() | st.text("x\"\\\n#'", max_size=4) | st.lists(st.integers(0, 9), max_size=3)
SOURCES = st.sampled_from(
    ["", KEPT, "a = 1\r\nb = [1,\r\n 2] # c\r\n", "[t]\nx = 1\n[u.v]\ny = 1\n", "u = { x = 1 }\n"]
)


@given(SOURCES, st.dictionaries(st.tuples(NAMES), VALUES) | st.dictionaries(st.tuples(st.just("n"), NAMES), VALUES))
def test_what_was_written_is_read_back(source: str, changes: dict[Any, Any]) -> None:
    expected = tomllib.loads(source)
    for path, value in changes.items():
        inside = expected
        for part in path[:-1]:
            inside = inside.setdefault(part, {})
        inside[path[-1]] = value
    assert tomllib.loads(updated(source, changes)) == expected


def test_nothing_is_changed_inside_what_is_no_table(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 3\n")
    with pytest.raises(ChangeoverError) as caught:
        update(path, {("a", "b", "c"): 1})
    assert str(caught.value) == f"{path}: a: is not a table, so nothing in it can be changed"
    assert path.read_text() == "a = 3\n"


def test_a_file_is_made_and_changed(tmp_path: Path) -> None:
    path = tmp_path / "new" / "settings.toml"
    update(path, {"theme": "dusk"})
    assert path.read_text() == 'theme = "dusk"\n'
    path.write_text(path.read_text() + "# a remark\n")
    update(path, {"theme": "dawn"})
    assert path.read_text() == 'theme = "dawn"\n# a remark\n'


def test_a_damaged_file_is_not_written_to(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text("theme = 'du")
    with pytest.raises(ChangeoverError, match=r"settings.toml:1: "):
        update(path, {"theme": "dawn"})
    assert path.read_text() == "theme = 'du"
