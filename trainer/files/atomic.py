"""Files written whole or not at all, and the plain words for what an operating system refuses."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from pathlib import Path

from trainer.disk import settle
from trainer.errors import ChangeoverError, wrong

_REASONS: dict[int, tuple[str, str]] = {
    errno.ENOSPC: ("the disk is full", "make room and try again; the old file is untouched"),
    errno.EDQUOT: ("your share of the disk is used up", "make room and try again; the old file is untouched"),
    errno.EFBIG: ("the file may not grow so large", "look at the limits set for your account"),
    errno.EROFS: ("the disk can only be read", "set CHANGEOVER_HOME to a folder that can be written"),
    errno.EACCES: ("permission denied", "look at the permissions of the file and its folder"),
    errno.EPERM: ("permission denied", "look at the permissions of the file and its folder"),
    errno.ENOENT: ("there is no such file", "look at the spelling; 'changeover where' lists your folders"),
    errno.ENOTDIR: ("a part of the path is not a folder", "look at the path"),
    errno.EEXIST: ("a file lies where a folder should be", "look at the path"),
    errno.EISDIR: ("it is a folder", "give the path of a file"),
    errno.ENAMETOOLONG: ("the name is too long", "choose a shorter one"),
    errno.ELOOP: ("its links lead in a circle", "look at the path"),
}
"""What went wrong and what to do, for each error number a person can do something about."""


def refused(doing: str, path: Path, error: OSError | ValueError) -> ChangeoverError:
    """Return the error to raise when the system refused to have `path` "read" or "written"."""
    number = error.errno if isinstance(error, OSError) else None
    told = (error.strerror if isinstance(error, OSError) else None) or str(error)
    what, hint = _REASONS.get(number or 0, (told.lower(), None))
    return wrong(f"cannot be {doing}: {what}", file=str(path), hint=hint)


def check_free(path: Path, *, key: str | None = None, hint: str = "choose another name") -> None:
    """Raise ChangeoverError where something lies at `path` already, be it a link that leads nowhere.

    `key` is the option that named it, `hint` says what to do.
    """
    try:
        taken = path.exists() or path.is_symlink()
    except (OSError, ValueError) as error:
        raise refused("written", path, error) from error
    if taken:
        raise wrong("is there already", file=str(path), key=key, hint=hint)


def write_text(path: Path, text: str) -> None:
    """Write `text` as UTF-8 to `path`, see `write_bytes`; line breaks stay as they are."""
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, data: bytes) -> None:
    """Write `data` to `path` so that a reader, or a crash, meets the old file or the new one and nothing between.

    Missing folders are made; the permissions of an old file are kept, and a link goes on leading to its file.
    ChangeoverError where the system refuses; the old file is untouched then.
    """
    try:
        target = Path(os.path.realpath(path))
        mode = _mode(target)
        target.parent.mkdir(parents=True, exist_ok=True)
        _replace(target, data, mode)
    except (OSError, ValueError) as error:
        raise refused("written", path, error) from error


def _mode(target: Path) -> int | None:
    """Return the permissions of the file at `target`, None where there is none; raise where it may not be written."""
    try:
        status = target.stat()
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(status.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if not os.access(target, os.W_OK):
        # Replacing a file asks only for its folder's permission; a file made read-only is meant to stay.
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    return stat.S_IMODE(status.st_mode)


def _replace(target: Path, data: bytes, mode: int | None) -> None:
    # In the same folder, for only within one file system is a replacement atomic.
    draft = target.with_name(f".{os.urandom(8).hex()}.tmp")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        with open(handle, "wb") as file:
            file.write(data)
            file.flush()
            if mode is not None:
                draft.chmod(mode)
            os.fsync(file.fileno())
        draft.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            draft.unlink()
        raise
    settle(target.parent)
