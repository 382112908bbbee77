"""Class files: read with line and key, written with comments kept."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.files import classes, paths
from trainer.files.toml import Document
from trainer.practice.roster import Class, Seat

TRIO = Class("Tuesdays", (Seat("kwb", 1, "Window", "Six:strings"), Seat("trp", 2), Seat("zdm", 7, "Door")))
WRITTEN = """\
# A class of Changeover's: who sits where. Names may be left out.
format = 1
name = "Tuesdays"

[[seats]]
number = 1
id = "kwb"
name = "Window"
port = "Six:strings"

[[seats]]
number = 2
id = "trp"

[[seats]]
number = 7
id = "zdm"
name = "Door"
"""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    return tmp_path


def test_a_class_is_one_file_that_reads_as_it_was_written(home: Path) -> None:
    path = classes.create(TRIO)
    assert path == home / "classes" / "tuesdays.toml"
    assert path.read_text("utf-8") == WRITTEN
    assert classes.load(path) == (TRIO, ())


def test_comments_and_what_did_not_change_stay(home: Path) -> None:
    path = classes.create(TRIO)
    path.write_text(WRITTEN.replace("number = 2\n", "# a left-handed guitar\nnumber = 2  # by the stove\n"), "utf-8")
    classes.save(path, TRIO.rename("trp", "Stove").remove("zdm").add("new"))
    assert path.read_text("utf-8") == WRITTEN[: WRITTEN.index("number = 2")] + (
        '# a left-handed guitar\nnumber = 2  # by the stove\nid = "trp"\nname = "Stove"\n\n'
        '[[seats]]\nnumber = 3\nid = "new"\n'
    )


seats = st.lists(
    st.builds(
        Seat,
        id=st.from_regex(r"[a-z][a-z0-9]{2,5}", fullmatch=True),
        number=st.integers(1, 40),
        name=st.none() | st.text(st.characters(categories=("L", "P", "S")), min_size=1, max_size=8),
        port=st.none() | st.sampled_from(["Six:strings", 'a "port"', "p\\1"]),
    ),
    max_size=6,
)


@given(seats, seats)
def test_any_class_turns_into_any_other(before: list[Seat], after: list[Seat]) -> None:
    try:
        old, new = Class("One", tuple(before)), Class("Two", tuple(after))
    except ChangeoverError:
        return
    text = classes.written(classes.written("", old), new)
    document, _ = Document.parse(text, "file")
    assert document is not None
    assert classes._read(document, "stem") == (new, ())


@pytest.mark.parametrize(
    "layout",
    ['name = "A"\nseats = [{number = 3, id = "zdm"}, {number = 1, id = "old"}]\n', "seats = []\n", "# nothing yet\n"],
)
def test_a_layout_of_somebody_elses_is_written_all_the_same(home: Path, layout: str) -> None:
    path = home / "classes" / "own.toml"
    path.parent.mkdir()
    path.write_text(layout, "utf-8")
    classes.save(path, TRIO)
    assert classes.load(path) == (TRIO, ())


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[[seats]]\nnumber = 41\nid = 'abc'", "2: seats[1].number: must be a whole number from 1 to 40, not 41"),
        ("[[seats]]\nnumber = 4", "1: seats[1].id: is missing (give it some small letters of its own)"),
        ("[[seats]]\nnumber = 4\nid = '../up'", "3: seats[1].id: is no id of a seat (3 to 32 small letters and"),
        ("[[seats]]\nnumber = 4\nid = 'abc'\nname = 'a\x9b'", "4: seats[1].name: holds the control character U+009B"),
        ("[[seats]]\nnumber = 4\nid = 'abc'\nname = '12'", "4: seats[1].name: '12' would be taken for a number"),
        ("[[seats]]\nnumber = 4\nid = 'abc'\n[[seats]]\nnumber = 4\nid = 'abd'", "5: seats[2].number: two seats have"),
        ("[[seats]]\nnumber = 4\nid = 'abc'\nnmae = 'x'", "4: seats[1].nmae: is not a key known here (did you mean"),
        ("format = 2", "1: format: is 2, and this version reads up to 1 (update Changeover)"),
        ("name = 3", "1: name: must be text of 1 to 60 characters, not 3"),
        ("name = ", "1: the value is not one TOML knows"),
        ("".join(f"[[seats]]\nnumber = {n}\nid = 's{n}x'\n" for n in range(1, 42)), "must be a whole number from 1"),
    ],
)
def test_what_is_wrong_is_told_with_line_and_key(home: Path, text: str, told: str) -> None:
    path = home / "own.toml"
    path.write_text(text, "utf-8")
    _, problems = classes.load(path)
    assert len(problems) == 1
    assert told in str(problems[0])


def test_classes_are_found_by_file_and_by_name(home: Path) -> None:
    path = classes.create(TRIO)
    other = classes.create(Class("Thursdays, late"))
    assert [entry.stem for entry in classes.every()] == ["thursdays-late", "tuesdays"]
    assert classes.find("TUESDAYS") == (path, TRIO)
    assert classes.find("thursdays, late")[0] == other
    with pytest.raises(ChangeoverError) as error:
        classes.find("tuesday")
    assert str(error.value.problems[0]) == "no class 'tuesday' (did you mean 'tuesdays'?)"


def test_nothing_is_written_over(home: Path) -> None:
    path = classes.create(TRIO)
    with pytest.raises(ChangeoverError, match="there is such a class already"):
        classes.create(Class("TUESDAYS"))
    path.write_text("name = ", "utf-8")
    with pytest.raises(ChangeoverError, match="not one TOML knows"):
        classes.save(path, TRIO)
    assert path.read_text("utf-8") == "name = "


def test_a_seats_files_lie_under_its_id_and_nothing_says_whose_they_are(home: Path) -> None:
    keys = {classes.new_id(random.Random(seed).choice) for seed in range(200)}
    assert len(keys) == 200
    assert all(Seat(key, 1).id == key for key in keys)
    assert paths.seat_log("kwb") == home / "data" / "seats" / "kwb" / "data" / "practice.sqlite3"
