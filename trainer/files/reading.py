"""Files read without being led astray: no pipe is waited for, and none is read that is too large to be meant."""

from __future__ import annotations

import stat
from pathlib import Path

from trainer.errors import wrong
from trainer.files.atomic import refused


def read_bytes(path: Path, most: int, kind: str, too_large: str) -> bytes:
    """Return the bytes of the file at `path`, of which there are at most `most`, a multiple of 1024.

    `kind` is what is wanted, as "a TOML file"; `too_large` is the hint where there are more. Raises ChangeoverError
    where it is no file, cannot be read, or is larger.
    """
    try:
        # Asked before it is opened: opening a pipe waits for someone to write to it.
        if not stat.S_ISREG(path.stat().st_mode):
            raise wrong("is not a file", file=str(path), hint=f"give the path of {kind}")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise refused("read", path, error) from error
    if len(data) > most:
        raise wrong(f"is larger than {most // 1024} KiB", file=str(path), hint=too_large)
    return data
