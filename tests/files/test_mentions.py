"""What is looked for is found as a word of its own, in every file of the user's."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.files import paths
from trainer.files.mentions import files, in_file, mentions_of, parts_of


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Jo", True),
        ("with JO, late", True),
        ("jo's", True),
        ('name = "Jo"\n', True),
        ("\ufffdJo\ufffd", True),
        ("Joined up", False),
        ("banjo", False),
        ("Jo_2", False),
        ("", False),
    ],
)
def test_a_name_is_a_word_of_its_own(text: str, found: bool) -> None:
    assert mentions_of("kwbtrpzdmc", "Jo")(text) is found


def test_in_a_database_texts_stand_side_by_side() -> None:
    assert parts_of("Jo")("A drilljo was late")
    assert not parts_of("Jo")("A drill")


def test_signs_of_a_name_are_signs() -> None:
    assert mentions_of("J.o (2)")("with j.O (2)!")
    assert not mentions_of("J.o (2)")("Jxo (2)")


def test_every_file_of_the_users_is_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    for name in ("settings.toml", "classes/.0123.tmp", "data/practice.sqlite3-wal", "takes/deep/a.mid"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"\0\xffJo\xff")
    assert sorted(str(file.relative_to(tmp_path)) for file in files()) == [
        "classes/.0123.tmp",
        "data/practice.sqlite3-wal",
        "settings.toml",
        "takes/deep/a.mid",
    ]
    assert all(in_file(file, mentions_of("Jo")) for file in files())
    assert not in_file(tmp_path / "none", mentions_of("Jo"))
    (tmp_path / "jo.toml").write_bytes(b"")
    assert in_file(tmp_path / "jo.toml", mentions_of("Jo"))


@pytest.mark.parametrize("text", ["", "any remark", "a class of nobody's."])
def test_nothing_to_look_for_is_found_nowhere(text: str) -> None:
    """Or forgetting a class without seats would take every remark there is."""
    assert not mentions_of()(text)
    assert not parts_of()(text)
