"""The drills there are: those that ship and the user's own, found by name, by title or by path.

Listing is lazy, so that ten thousand files cost one look at their folder: an entry knows its name and path at once,
reads the few lines before its first shape when it is asked for its title, and all of them when it is loaded. So
what is wrong inside a file is told when that file is loaded, and no file can keep the others from being listed.

A user's drill hides a shipped one of the same name. In sub-folders a drill is named `folder/name`. Links to files
are followed, links to folders are not: they could lead in a circle, or into the whole disk.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path, PurePath
from typing import NamedTuple

from trainer.errors import ChangeoverError, Problem, grave, plain, wrong
from trainer.files import drills, paths
from trainer.files.atomic import refused
from trainer.files.kinds import tidy
from trainer.hand.reach import Hand
from trainer.practice.drill import SKILLS, Drill

SUFFIX = ".toml"
"""How the names of drill files end."""
_HEAD_BYTES = 8192
"""A head longer than this is found by reading the whole file."""
_ADULT = Hand()


class Head(NamedTuple):
    """What a list of drills shows of one."""

    title: str
    """Its title; the file's name where the file has none that can be read."""
    about: str
    """One sentence on what it is for, may be empty."""
    trains: tuple[str, ...]
    """Keys of `SKILLS`."""


@dataclass(frozen=True)
class Entry:
    """One drill file, read as far as it is asked."""

    name: str
    """What a user types to get it: the file's name without its ending; safe to print."""
    path: Path
    """The file."""
    ships: bool
    """True where it came with the program."""

    @cached_property
    def head(self) -> Head:
        """What a list shows of it, read on first use; never raises."""
        return _head(self)

    def load(self, hand: Hand = _ADULT) -> tuple[Drill | None, tuple[Problem, ...]]:
        """Return the drill and every problem of its file, see `drills.load`."""
        return drills.load(self.path, hand)


class Library(NamedTuple):
    """The drills there are, and what kept others from being listed."""

    entries: tuple[Entry, ...]
    """The user's own by name, then those that ship by name."""
    problems: tuple[Problem, ...]
    """Folders that cannot be read, and drills that are no files."""


def library(own: Path | None = None, ships: Path | None = None) -> Library:
    """Return the user's drills and those that ship; the folders can be given for tests and other shelves."""
    problems: list[Problem] = []
    shelves = ((own or paths.drills_dir(), False), (ships or paths.shipped("drills"), True))
    found: dict[str, Entry] = {}
    for folder, shipped in shelves:
        for entry in sorted(_listed(folder, shipped, problems), key=lambda entry: entry.name):
            found.setdefault(entry.name, entry)
    return Library(tuple(found.values()), tuple(problems))


def find(word: str, hand: Hand = _ADULT) -> Drill:
    """Return the drill that `word` names: the name of its file, a path, or its title.

    Raises ChangeoverError with the closest name where there is none, or with every error of the file.
    """
    entry = _named(word) or _at_path(word) or _searched(word)
    drill, problems = entry.load(hand)
    if drill is None:
        raise ChangeoverError(*grave(problems))
    return drill


def titled(title: str) -> Drill | None:
    """Return the first drill of this title that can be read, None where there is none."""
    return next(iter(with_titles([title])), None)


def with_titles(titles: Iterable[str]) -> list[Drill]:
    """Return the first drill of each of these titles that can be read, in their order; folders are listed once."""
    wanted = dict.fromkeys(titles)
    found: dict[str, Drill] = {}
    for entry in library().entries if wanted else ():
        if entry.head.title in wanted and entry.head.title not in found:
            drill, _ = entry.load()
            if drill is not None:
                found[entry.head.title] = drill
                if len(found) == len(wanted):
                    break
    return [found[title] for title in wanted if title in found]


def _named(word: str) -> Entry | None:
    """Return the entry whose file has this name, asking for that file alone."""
    parts = PurePath(word).parts
    if not parts or os.path.isabs(word) or any(part.startswith(".") or "\0" in part for part in parts):
        return None
    for folder, ships in ((paths.drills_dir(), False), (paths.shipped("drills"), True)):
        path = folder / f"{word}{SUFFIX}"
        if _is_file(path):
            return Entry(plain(word), path, ships)
    return None


def _at_path(word: str) -> Entry | None:
    path = Path(word)
    if _is_file(path) or (_says_path(word) and os.path.lexists(path)):
        return Entry(plain(path.stem), path, ships=False)
    return None


def _searched(word: str) -> Entry:
    """Return the entry that has this name or title in any spelling of capitals."""
    entries = library().entries
    wanted = word.strip().casefold()
    by_word = {entry.name.casefold(): entry for entry in reversed(entries)}
    for entry in reversed(entries):
        by_word.setdefault(entry.head.title.casefold(), entry)
    if wanted in by_word:
        return by_word[wanted]
    raise _unknown(word, by_word)


def _unknown(word: str, by_word: dict[str, Entry]) -> ChangeoverError:
    bare = PurePath(word).name.removesuffix(SUFFIX).casefold()
    near = get_close_matches(bare[:100], by_word, n=1)
    hint = (
        f"did you mean '{by_word[near[0]].name}'?"
        if near
        else "'changeover where' shows where they lie; or give a path"
    )
    if _says_path(word):
        return wrong("there is no such file", file=word, hint=hint)
    return wrong(f"no drill is called '{word if len(word) <= 60 else word[:60] + '…'}'", hint=hint)


def _says_path(word: str) -> bool:
    return word.endswith(SUFFIX) or os.sep in word or "/" in word


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _listed(folder: Path, ships: bool, problems: list[Problem]) -> Iterator[Entry]:
    """Yield the drill files under `folder`, noting what is none; a folder that is not there has no drills."""
    waiting = [(folder, "")]
    while waiting:
        inside, prefix = waiting.pop()
        for item, is_folder in _items(inside, problems):
            if is_folder:
                waiting.append((Path(item.path), f"{prefix}{item.name}/"))
            elif item.name.endswith(SUFFIX) and _fit(item, problems):
                yield Entry(plain(prefix + item.name.removesuffix(SUFFIX)), Path(item.path), ships)


def _items(folder: Path, problems: list[Problem]) -> list[tuple[os.DirEntry[str], bool]]:
    """Return what lies in a folder and is not hidden, and whether it is a folder itself; note why it cannot be read.

    A folder that is not there is empty.
    """
    try:
        with os.scandir(folder) as items:
            return [(item, item.is_dir(follow_symlinks=False)) for item in items if not item.name.startswith(".")]
    except FileNotFoundError:
        return []
    except OSError as error:
        problems.extend(refused("read", folder, error).problems)
        return []


def _fit(item: os.DirEntry[str], problems: list[Problem]) -> bool:
    """Tell whether an item of a folder is a regular file, or a link to one; else note why it is left out."""
    try:
        if item.is_file():
            return True
        why = "is a link that leads nowhere" if item.is_symlink() and not os.path.exists(item.path) else "is not a file"
        problems.append(Problem(why, file=item.path, hint="left out of the drills"))
    except OSError as error:
        problems.extend(refused("read", Path(item.path), error).problems)
    return False


def _head(entry: Entry) -> Head:
    """Return the head of a drill file from the lines before its first table, else from the whole file."""
    nothing = Head(entry.name.rpartition("/")[2], "", ())
    try:
        values = _first_lines(entry.path)
    except (OSError, ValueError, RecursionError):
        drill, _ = entry.load()
        return nothing if drill is None else Head(drill.title, drill.about, drill.trains)
    title, about, trains = (values.get(key) for key in ("title", "about", "trains"))
    return Head(
        title=_words(title) or nothing.title,
        about=_words(about),
        trains=tuple(skill for skill in trains if skill in SKILLS) if isinstance(trains, list) else (),
    )


def _first_lines(path: Path) -> dict[str, object]:
    # Opened so that a pipe that has taken the file's place since it was listed does not wait for a writer.
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb", buffering=0) as file:
        start = file.read(_HEAD_BYTES) or b""
    head, table, _ = start.partition(b"\n[")
    if not table and len(start) == _HEAD_BYTES:
        raise ValueError("the head is longer than what was read")
    return tomllib.loads(head.rstrip().decode("utf-8-sig"))


def _words(value: object) -> str:
    return tidy(value) if isinstance(value, str) else ""
