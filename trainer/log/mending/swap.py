"""The mended log into the place of the damaged one, which stays beside it under a dated name.

Killed at any moment, either the damaged log stands with all that is beside it, or the mended one; or the damaged one
without what waited in its write-ahead log, which `undo` puts back.
"""

from __future__ import annotations

import contextlib
import glob
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from trainer.disk import settle
from trainer.errors import wrong

BESIDE = ("-wal", "-shm")
"""What SQLite puts beside a log in use: changes not yet in the main file, and where to find them."""
_AND_LOCKED = (0x40000000, 512)
"""The bytes that SQLite locks (sqlite.org/fileformat2.html, 1.4 "The Lock-Byte Page"): where they begin, how many."""
_MOST = 1000
_ASIDE = ".damaged-"
"""What stands in the name of a log that was put aside, before the day."""


@contextmanager
def alone(path: Path, *, only_read: bool = False) -> Iterator[bytes]:
    """Hold the log at `path` so that no other program opens it, and yield what stands in it.

    Raises ChangeoverError where one has it open. A file that may not be written to raises OSError; with `only_read` it
    is read all the same. Nothing in this process may open and close it meanwhile: that would let go of it. Where there
    are no such locks (Windows), a file that is open cannot be renamed, and `put` raises OSError.
    """
    try:
        import fcntl
    except ImportError:
        yield path.read_bytes()
        return
    try:
        file = path.open("r+b")
    except OSError:
        if not only_read:
            raise
        # Who may not write cannot ask for it alone, and on a stick that allows no writing nobody writes.
        yield path.read_bytes()
        return
    with file:
        try:
            fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, _AND_LOCKED[1], _AND_LOCKED[0])
        except (BlockingIOError, PermissionError) as error:
            hint = "close Changeover, in a browser too, and say so once more"
            raise wrong("another program has the practice log open", file=str(path), hint=hint) from error
        yield file.read()


def undo(path: Path, damaged: bytes) -> None:
    """Take back what a `put` left that was killed halfway: the log at `path`, `damaged`, has all beside it again."""
    for aside in path.parent.glob(f"{glob.escape(path.stem)}{_ASIDE}*{glob.escape(path.suffix)}"):
        if aside.samefile(path) or aside.read_bytes() == damaged:
            for beside in BESIDE:
                kept, back = _beside(aside, beside), _beside(path, beside)
                if kept.exists() and not back.exists():
                    kept.rename(back)
            aside.unlink()
    for draft in path.parent.glob(f".{glob.escape(path.name)}.*.tmp"):
        draft.unlink()


def put(path: Path, damaged: bytes, content: bytes, day: str) -> Path:
    """Write `content` to `path`, where `damaged` stands, and return where that lies, named after the day.

    Raises OSError, and then all is as it was.
    """
    aside = _free(path, day)
    draft = path.with_name(f".{path.name}.{os.urandom(8).hex()}.tmp")
    try:
        write(draft, content)
        draft.chmod(path.stat().st_mode & 0o777)
        try:
            os.link(path, aside)
        except OSError:  # a file system that has no links
            write(aside, damaged)
            shutil.copystat(path, aside)
        for beside in BESIDE:
            with contextlib.suppress(FileNotFoundError):
                _beside(path, beside).rename(_beside(aside, beside))
        settle(path.parent)
        draft.replace(path)
    except OSError:
        undo(path, damaged)
        raise
    settle(path.parent)
    return aside


def is_aside(path: Path) -> bool:
    """Tell whether a file is, by its name, a damaged log that was put aside, or was beside one."""
    return _ASIDE in path.name


def write(path: Path, content: bytes) -> None:
    """Write a file that is not there yet, onto the disk; where it cannot be written whole, nothing of it stays."""
    try:
        with path.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except FileExistsError:
        raise
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _free(path: Path, day: str) -> Path:
    for number in range(1, _MOST + 1):
        name = path.with_name(f"{path.stem}{_ASIDE}{day}{'' if number == 1 else f'-{number}'}{path.suffix}")
        if not any(os.path.lexists(_beside(name, beside)) for beside in ("", *BESIDE)):
            return name
    raise wrong(f"{_MOST} damaged logs lie beside it", file=str(path), hint="move some of them away")


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)
