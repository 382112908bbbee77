"""Files written whole or not at all."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from trainer.errors import ChangeoverError, Problem
from trainer.files import atomic
from trainer.files.atomic import refused, write_bytes, write_text


def refusal(path: Path, text: str = "new") -> Problem:
    with pytest.raises(ChangeoverError) as caught:
        write_text(path, text)
    (problem,) = caught.value.problems
    assert problem.file == str(path)
    return problem


def test_a_file_is_written_with_the_folders_it_needs(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "c.toml"
    write_text(path, "é\r\n")
    assert path.read_bytes() == b"\xc3\xa9\r\n"
    assert list(path.parent.iterdir()) == [path], "nothing else is left behind"


def test_an_old_file_is_replaced_and_keeps_its_permissions(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("old")
    path.chmod(0o640)
    write_bytes(path, b"new")
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_has_the_permissions_every_new_file_has(tmp_path: Path) -> None:
    usual = tmp_path / "usual"
    usual.touch()
    write_text(tmp_path / "new", "")
    assert (tmp_path / "new").stat().st_mode == usual.stat().st_mode


def test_a_link_goes_on_leading_to_its_file(tmp_path: Path) -> None:
    kept = tmp_path / "kept" / "settings.toml"
    kept.parent.mkdir()
    kept.write_text("old")
    link = tmp_path / "settings.toml"
    link.symlink_to(kept)
    write_text(link, "new")
    assert link.is_symlink()
    assert kept.read_text() == "new"


def test_a_reader_never_meets_half_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    path.write_text("old")
    seen = []

    def look(_: int) -> None:
        seen.append(path.read_text())

    monkeypatch.setattr(os, "fsync", look)
    write_text(path, "new")
    # First when the new text is on the disk under another name, then when the folder is.
    assert seen == ["old", "new"]


@pytest.mark.parametrize(
    ("number", "what"),
    [
        (errno.ENOSPC, "cannot be written: the disk is full"),
        (errno.EROFS, "cannot be written: the disk can only be read"),
        (errno.EIO, f"cannot be written: {os.strerror(errno.EIO).lower()}"),
    ],
)
def test_a_refusal_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, what: str
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("old")

    def refuse(_: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", refuse)
    assert refusal(path).what == what
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_may_not_grow_so_large_keeps_its_old_text(tmp_path: Path) -> None:
    """A limit of the system's own, so that a real write fails half-way."""
    path = tmp_path / "a.toml"
    path.write_text("old")
    script = (
        "import resource, signal, sys\n"
        "from pathlib import Path\n"
        "from trainer.errors import ChangeoverError\n"
        "from trainer.files.atomic import write_text\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))\n"
        "try:\n"
        "    write_text(Path(sys.argv[1]), 'x' * 100_000)\n"
        "except ChangeoverError as error:\n"
        "    sys.exit(str(error))\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    done = subprocess.run(
        [sys.executable, "-B", "-c", script, str(path)], capture_output=True, text=True, env=environment, check=False
    )
    assert done.returncode == 1
    assert done.stderr.startswith(f"{path}: cannot be written: the file may not grow so large")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_made_read_only_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.toml"
    path.write_text("old")
    # Asked through the system, for to an administrator every file is writable.
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert refusal(path).what == "cannot be written: permission denied"
    assert path.read_text() == "old"


def test_places_where_no_file_can_be(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    assert refusal(tmp_path).what == "cannot be written: it is a folder"
    assert refusal(tmp_path / "file" / "x").what == "cannot be written: a part of the path is not a folder"
    assert refusal(tmp_path / ("x" * 300)).what == "cannot be written: the name is too long"
    assert "null" in refusal(tmp_path / "a\0b").what
    assert sorted(tmp_path.iterdir()) == [tmp_path / "file"]


def test_a_long_name_that_the_disk_allows_is_written(tmp_path: Path) -> None:
    path = tmp_path / ("𝄞" * 63)
    write_text(path, "x")
    assert path.read_text() == "x"


def test_every_reason_has_words_and_a_hint() -> None:
    for number, (what, hint) in atomic._REASONS.items():
        (problem,) = refused("read", Path("f"), OSError(number, "")).problems
        assert str(problem) == f"f: cannot be read: {what} ({hint})"
