"""What lies in a folder, as far as a player who looks for a score wants to see it."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from trainer.errors import plain
from trainer.files.atomic import refused
from trainer.scores.names import is_score

_MUSIC = ("Music", "music")
UP = ".."
"""What the line is called that leads to the folder above."""


class Item(NamedTuple):
    """One line: a folder or a score."""

    name: str
    """As shown; safe to print."""
    path: Path
    """Where it lies."""
    folder: bool
    """True where it leads to other lines."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """A folder's lines."""

    folder: Path
    """Which folder."""
    items: tuple[Item, ...] = ()
    """The folder above first, then folders, then scores, each by name."""
    said: str = ""
    """Why the folder cannot be read; empty where it can."""

    @property
    def scores(self) -> int:
        """How many scores there are."""
        return sum(not item.folder for item in self.items)

    def fitting(self, typed: str) -> tuple[Item, ...]:
        """Return the lines that have every word of `typed` in their name; scores first where something is typed."""
        words = typed.casefold().split()
        if not words:
            return self.items
        found = [item for item in self.items if all(word in item.name.casefold() for word in words)]
        return tuple(sorted(found, key=lambda item: item.folder))


def named(typed: str) -> Path | None:
    """Return the path that is typed in full, from the root or the home folder; None where that is none."""
    path = Path(os.path.expanduser(typed.strip()))
    return path if typed.strip() and "\0" not in typed and path.is_absolute() else None


def listed(folder: Path) -> Shelf:
    """Return the folders and scores in `folder`; never raises. What begins with a dot stays hidden."""
    above = (Item(UP, folder.parent, folder=True),) if folder.parent != folder else ()
    try:
        with os.scandir(folder) as entries:
            found = [item for entry in entries if (item := _item(entry)) is not None]
    except (OSError, ValueError) as error:
        return Shelf(folder, above, str(refused("read", folder, error)))
    return Shelf(folder, (*above, *sorted(found, key=lambda item: (not item.folder, item.name.casefold()))))


def first_folder(last: str, home: Path) -> Path:
    """Return where to look first: the folder looked in last, else that for music, else `home`."""
    wanted = [Path(last)] if last else []
    return next((path for path in (*wanted, *(home / name for name in _MUSIC)) if _is_there(path)), home)


def _item(entry: os.DirEntry[str]) -> Item | None:
    """Return the line of what lies in a folder; None where it has none."""
    if entry.name.startswith("."):
        return None
    if _is_folder(entry):
        return Item(plain(entry.name) + "/", Path(entry.path), folder=True)
    return Item(plain(entry.name), Path(entry.path), folder=False) if is_score(entry.name) else None


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


def _is_there(path: Path) -> bool:
    try:
        return path.is_absolute() and path.is_dir()
    except (OSError, ValueError):
        return False
