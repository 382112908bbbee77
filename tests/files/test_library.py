"""The library: what is listed, what is found, and that no file gets in the way of the others."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from trainer.errors import ChangeoverError
from trainer.files.library import Entry, Head, Library, find, library, titled

DRILL = 'title = "{title}"\nabout = "{about}"\n{more}\n[[shapes]]\nshape = "Am"\n[[shapes]]\nshape = "C"\n'


def write(path: Path, title: str = "T", about: str = "", more: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(DRILL.format(title=title, about=about, more=more), encoding="utf-8")
    return path


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's drills folder, not made yet."""
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path / "home"))
    return tmp_path / "home" / "drills"


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """An empty folder that stands in for the drills that ship."""
    folder = tmp_path / "ships"
    folder.mkdir()
    return folder


def names(found: Library) -> list[str]:
    return [entry.name for entry in found.entries]


# Listing


def test_what_ships_is_listed_where_the_user_has_no_folder(own: Path) -> None:
    assert not own.exists()
    found = library()
    assert found.problems == ()
    assert "first-change" in names(found)
    assert all(entry.ships for entry in found.entries)
    assert all(entry.head.title and entry.head.about and entry.head.trains for entry in found.entries)


def test_own_drills_come_first_and_hide_shipped_ones_of_the_same_name(own: Path, shelf: Path) -> None:
    for name in ("b", "a", "warm/c", ".hidden", "warm/.d"):
        write(own / f"{name}.toml")
    for name in ("a", "z"):
        write(shelf / f"{name}.toml")
    (own / "readme.txt").write_text("no drill", encoding="utf-8")
    found = library(own, shelf)
    assert [(entry.name, entry.ships) for entry in found.entries] == [
        ("a", False),
        ("b", False),
        ("warm/c", False),
        ("z", True),
    ]
    assert found.problems == ()


def test_a_head_is_read_without_the_shapes(own: Path, shelf: Path) -> None:
    path = write(own / "a.toml", "Tit[b]le", "For this.", 'trains = ["guide", "no such skill"]')
    path.write_text(path.read_text(encoding="utf-8") + "this is no TOML", encoding="utf-8")
    entry = library(own, shelf).entries[0]
    assert entry.head == Head("Tit[b]le", "For this.", ("guide",))
    assert entry.load()[0] is None


@pytest.mark.parametrize(
    ("text", "title"),
    [
        (b"", "a"),
        (b"\xff\xfe", "a"),
        (b"title = 3\n", "a"),
        (b'title = ""\n', "a"),
        (b"title = [[[[[[\n", "a"),
        (b'title = "\\u001b]0;x"\n[[shapes]]\n', "·]0;x"),
        (b'\xef\xbb\xbftitle = "Mark"\r\n[[shapes]]\r\nnot = \r\n', "Mark"),
        (b'title = """\n[not a table]\n"""\n[[shapes]]\nshape = "Am"\n[[shapes]]\nshape = "C"\n', "[not a table]"),
        (b"#" * 9000 + b'\ntitle = "Late"\n[[shapes]]\nshape = "Am"\n[[shapes]]\nshape = "C"\n', "Late"),
        (b"#" * 9000 + b'\ntitle = "Late"\n', "a"),
    ],
)
def test_a_title_that_cannot_be_read_gives_way_to_the_files_name(
    own: Path, shelf: Path, text: bytes, title: str
) -> None:
    own.mkdir(parents=True)
    (own / "a.toml").write_bytes(text)
    assert library(own, shelf).entries[0].head.title == title


def test_what_is_no_file_is_told_and_left_out_and_the_rest_is_there(own: Path, shelf: Path) -> None:
    write(own / "good.toml")
    os.mkfifo(own / "pipe.toml")
    (own / "loop.toml").symlink_to(own / "loop.toml")
    (own / "gone.toml").symlink_to(own / "nowhere")
    (own / "linked.toml").symlink_to(own / "good.toml")
    (own / "circle").symlink_to(own, target_is_directory=True)
    (own / "folder.toml").mkdir()
    (own / "huge.toml").write_bytes(b"x" * (1 << 21))
    (own / os.fsdecode(b"bad\xff.toml")).write_text("", encoding="utf-8")
    found = library(own, shelf)
    assert names(found) == ["bad·", "good", "huge", "linked"]
    told = {Path(problem.file or "").name: problem.what for problem in found.problems}
    assert told.keys() == {"pipe.toml", "loop.toml", "gone.toml"}
    assert told["pipe.toml"] == "is not a file"
    assert "circle" in told["loop.toml"]
    assert told["gone.toml"] == "is a link that leads nowhere"
    assert [entry.head.title for entry in found.entries] == ["bad·", "T", "huge", "T"]


def test_a_folder_that_cannot_be_read_is_told(own: Path, shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(own / "good.toml")
    write(own / "locked" / "b.toml")
    scan = os.scandir

    def refuse(path: Path) -> object:
        if path.name == "locked":
            raise PermissionError(13, "Permission denied")
        return scan(path)

    monkeypatch.setattr(os, "scandir", refuse)
    found = library(own, shelf)
    assert names(found) == ["good"]
    assert [str(problem) for problem in found.problems] == [
        f"{own / 'locked'}: cannot be read: permission denied (look at the permissions of the file and its folder)"
    ]


def test_a_pipe_in_the_place_of_a_listed_file_does_not_block(own: Path, shelf: Path) -> None:
    path = write(own / "a.toml")
    entry = library(own, shelf).entries[0]
    path.unlink()
    os.mkfifo(path)
    assert entry.head.title == "a"
    assert entry.load()[0] is None


def test_a_file_that_has_gone_since_it_was_listed_keeps_its_name(own: Path, shelf: Path) -> None:
    path = write(own / "deep" / "a.toml")
    entry = library(own, shelf).entries[0]
    path.unlink()
    assert entry == Entry("deep/a", path, ships=False)
    assert entry.head == Head("a", "", ())


# Finding


def test_a_drill_is_found_by_name_path_and_title(own: Path, tmp_path: Path) -> None:
    write(own / "mine.toml", "My own")
    write(own / "set" / "one.toml", "One")
    elsewhere = write(tmp_path / "elsewhere.toml", "Elsewhere")
    for word, title in (
        ("mine", "My own"),
        ("set/one", "One"),
        ("MINE", "My own"),
        ("my OWN", "My own"),
        (str(elsewhere), "Elsewhere"),
        ("first-change", "First change: Em and Am"),
        ("first change: em and am", "First change: Em and Am"),
    ):
        assert find(word).title == title


def test_a_path_without_a_folder_is_a_file_here(own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(tmp_path / "here.toml", "Here")
    write(tmp_path / "plainname", "Plain")
    monkeypatch.chdir(tmp_path)
    assert (find("here.toml").title, find("plainname").title) == ("Here", "Plain")


def test_a_name_in_the_library_goes_before_a_file_here(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path / "hinge", "Here")
    monkeypatch.chdir(tmp_path)
    assert find("hinge").title == "Hinge barre: lie down, stand up"


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("first-chagne", "no drill is called 'first-chagne' (did you mean 'first-change'?)"),
        ("Hinge bare: lie down, stand up", "(did you mean 'hinge'?)"),
        (
            "qqqqqqqqqqqq",
            "no drill is called 'qqqqqqqqqqqq' ('changeover where' shows where they lie; or give a path)",
        ),
        ("", "no drill is called '' "),
        ("no/such/hinges.toml", "no/such/hinges.toml: there is no such file (did you mean 'hinge'?)"),
        ("../first-change", "../first-change: there is no such file (did you mean 'first-change'?)"),
        ("a\0b", "no drill is called 'a·b'"),
        ("\x1b[31m", "no drill is called '·[31m'"),
        ("x" * 5000, f"no drill is called '{'x' * 60}…' ("),
        ("/", "/: is not a file (give the path of a TOML file)"),
    ],
)
def test_what_is_not_there_is_told_with_the_closest_name(own: Path, word: str, told: str) -> None:
    with pytest.raises(ChangeoverError) as caught:
        find(word)
    assert len(caught.value.problems) == 1
    assert told in str(caught.value.problems[0])


def test_a_drill_with_errors_raises_all_of_them(own: Path) -> None:
    write(own / "bad.toml", more='tempo = 0\nmeter = "x"')
    with pytest.raises(ChangeoverError) as caught:
        find("bad")
    assert [problem.key for problem in caught.value.problems] == ["tempo", "meter"]


def test_a_drill_with_a_stretch_is_found(own: Path) -> None:
    write(own / "wide.toml", more="").write_text(
        'title = "W"\n[[shapes]]\nshape = "x 1/1 x x x 7/4"\n[[shapes]]\nshape = "C"\n', encoding="utf-8"
    )
    assert find("wide").title == "W"


def test_a_title_is_found_where_a_file_of_the_same_title_is_broken(own: Path) -> None:
    write(own / "a.toml", "Same", more="tempo = 0")
    write(own / "b.toml", "Same", more="tempo = 80")
    drill = titled("Same")
    assert drill is not None
    assert drill.tempo == 80
    assert titled("no such title") is None
