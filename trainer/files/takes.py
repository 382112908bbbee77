"""Files of takes: read without being led astray, and begun without writing over anything."""

from __future__ import annotations

import os
import stat
import time
from itertools import count
from pathlib import Path
from typing import BinaryIO

from trainer.errors import wrong
from trainer.files import paths
from trainer.files.atomic import refused
from trainer.files.names import file_name


def read(path: Path, most: int) -> bytes:
    """Return the bytes of the file at `path`, of which there are at most `most`.

    Raises ChangeoverError where it is larger, no file (a pipe would keep us waiting), or cannot be read.
    """
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise wrong("it is a folder", file=str(path), hint="give the path of a MIDI file")
        if not stat.S_ISREG(status.st_mode):
            raise wrong("no file", file=str(path), hint="give the path of a MIDI file")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise refused("read", path, error) from error
    if len(data) > most:
        raise wrong(f"larger than {most // 2**20} MB", file=str(path), hint="cut it into shorter takes")
    return data


def create(path: Path) -> BinaryIO:
    """Return a new, empty file at `path`, unbuffered; missing folders are made.

    Raises ChangeoverError where something lies there already, or it cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        return path.open("xb", buffering=0)
    except FileExistsError as error:
        raise wrong(
            "a file is there already", file=str(path), hint="a take is never written over; give another name"
        ) from error
    except (OSError, ValueError) as error:
        raise refused("written", path, error) from error


def fresh(title: str, at: float) -> Path:
    """Return a path in the folder of takes for one of the drill `title`, begun at `at` (seconds since 1970-01-01 UTC).

    Named by local date and time; nothing lies there yet.
    """
    stem = f"{time.strftime('%Y-%m-%d-%H%M%S', time.localtime(at))}-{file_name(title, 'take')}"
    folder = paths.takes_dir()
    names = (folder / f"{stem}{'' if number == 1 else f'-{number}'}.mid" for number in count(1))
    return next(path for path in names if not os.path.lexists(path))
