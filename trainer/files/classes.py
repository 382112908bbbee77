"""Class files: who sits where, one TOML file for each class in a folder of its own.

    format = 1
    name = "Tuesdays"

    [[seats]]
    number = 1
    id = "kwbtrpzdmc"
    name = "by the window"
    port = "Some guitar:strings"

What a seat has played lies elsewhere, under its id (`paths.seat_dir`), so that a name stands here and nowhere else.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from trainer.errors import ChangeoverError, Problem, grave, wrong
from trainer.files import atomic, paths
from trainer.files.kinds import integer, text
from trainer.files.names import file_name
from trainer.files.toml import Document, Table, take_format
from trainer.practice.roster import LONGEST_NAME, LONGEST_PORT, MOST_SEATS, Class, Seat, clashes

FORMAT = 1
"""Number of the format this program writes and the highest it reads."""
SUFFIX = ".toml"
"""How the name of a class file ends."""
ID_LETTERS = "bcdfghjkmnpqrstvwxz"
"""Letters of a new seat's id: no vowels, so that none spells anybody's name."""
_ID_LENGTH = 10

_HEADER = "# A class of Changeover's: who sits where. Names may be left out.\n"
_SEATS = "seats"
_NAME, _NUMBER, _PORT = text(LONGEST_NAME), integer(1, MOST_SEATS), text(LONGEST_PORT)
_IDS = text(32)


@dataclass(frozen=True, slots=True)
class Entry:
    """One class file."""

    path: Path
    """Where it lies."""
    group: Class | None
    """What it says; None where something is wrong with it."""
    problems: tuple[Problem, ...]
    """What is wrong with it."""

    @property
    def stem(self) -> str:
        """The name of its file, without the ending: what it is called on the command line."""
        return self.path.stem


def new_id(choose: Callable[[str], str]) -> str:
    """Return an id for a new seat; `choose` draws one letter from a text (`secrets.choice`)."""
    return "".join(choose(ID_LETTERS) for _ in range(_ID_LENGTH))


def load(path: Path) -> tuple[Class | None, tuple[Problem, ...]]:
    """Return the class in the file at `path`, None where anything is wrong with it, and every problem."""
    document, problems = Document.load(path)
    return (None, tuple(problems)) if document is None else _read(document, path.stem)


def every() -> tuple[Entry, ...]:
    """Return all class files in the order of their names."""
    folder = paths.classes_dir()
    try:
        found = sorted(path for path in folder.iterdir() if path.suffix == SUFFIX)
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise atomic.refused("read", folder, error) from error
    return tuple(Entry(path, *load(path)) for path in found)


def find(word: str) -> tuple[Path, Class]:
    """Return the class that a person calls `word`, see `seek`. Raises ChangeoverError where there is none."""
    found = seek(word)
    if found is not None:
        return found
    stems = [entry.stem for entry in every()]
    near = get_close_matches(word.strip().casefold(), stems, n=1)
    hint = f"did you mean '{near[0]}'?" if near else "'changeover class' names them"
    raise wrong(f"no class '{word}'", hint=hint if stems else "'changeover class new NAME' begins one")


def seek(word: str) -> tuple[Path, Class] | None:
    """Return the class that a person calls `word`: the name of its file, or its own. None where there is none.

    Raises ChangeoverError where there is something wrong with it.
    """
    wanted = word.strip().casefold()
    for entry in every():
        own = None if entry.group is None else entry.group.name.casefold()
        if wanted in {entry.stem.casefold(), own}:
            if entry.group is None:
                raise ChangeoverError(*entry.problems)
            return entry.path, entry.group
    return None


def create(group: Class) -> Path:
    """Write a new class to a file named after it and return its path. Raises ChangeoverError where one is there."""
    path = paths.classes_dir() / f"{file_name(group.name)}{SUFFIX}"
    if os.path.lexists(path):
        raise wrong("there is such a class already", file=str(path), hint="choose another name")
    save(path, group)
    return path


def save(path: Path, group: Class) -> None:
    """Write the class to the file at `path`: what is said of its seats changes, comments stay.

    A file that cannot be read is not written over. Raises ChangeoverError.
    """
    old = ""
    if os.path.lexists(path):
        document, problems = Document.load(path)
        if document is None:
            raise ChangeoverError(*problems)
        old = document.text
    atomic.write_text(path, written(old, group))


def written(old: str, group: Class) -> str:
    """Return the text of a class file that said `old` and is to say `group`."""
    import tomlkit

    told = tomlkit.parse(old or _HEADER)
    for key, value in (("format", FORMAT), ("name", group.name)):
        if told.get(key) != value:
            told[key] = value
    tables: Any = told.get(_SEATS) or tomlkit.aot()
    for index in reversed(range(len(tables))):
        if tables[index].get("id") not in {seat.id for seat in group.seats}:
            del tables[index]
    for seat in group.seats:
        _tell(next((table for table in tables if table["id"] == seat.id), None) or _begun(tables), seat)
    told.pop(_SEATS, None) if not group.seats else told.setdefault(_SEATS, tables)
    # Between tables that it made tomlkit leaves a line, after one that it read it leaves none.
    text = re.sub(r"\n+\[\[seats\]\]", "\n\n[[seats]]", tomlkit.dumps(told))
    # Where tomlkit loses its way in an unusual layout, the file is written anew.
    return text if not old or _says(text, group) else written("", group)


def _begun(tables: Any) -> Any:
    """Return a new table at the end of `tables`."""
    import tomlkit

    tables.append(tomlkit.table())
    return tables[-1]


def _tell(table: Any, seat: Seat) -> None:
    for key, value in (("number", seat.number), ("id", seat.id), ("name", seat.name), ("port", seat.port)):
        if value is None:
            table.pop(key, None)
        elif table.get(key) != value:
            table[key] = value


def _says(text: str, group: Class) -> bool:
    document, _ = Document.parse(text, "")
    return document is not None and _read(document, "")[0] == group


def _read(document: Document, stem: str) -> tuple[Class | None, tuple[Problem, ...]]:
    top = document.top
    if not take_format(top, FORMAT):
        return None, grave(document.finish())
    name = top.take("name", _NAME, stem)
    tables = top.tables(_SEATS)
    seats = [(table, seat) for table in tables if (seat := _seat(table)) is not None]
    for index, problem in clashes(seat for _, seat in seats):
        seats[index][0].wrong(problem.key or "number", problem.what, problem.hint)
    group = None
    try:
        group = Class(name)
    except ChangeoverError as error:
        top.blame(error, "name")
    problems = tuple(document.finish())
    sound = group is not None and not grave(problems)
    return (replace(group, seats=tuple(seat for _, seat in seats)) if sound and group else None), problems


def _seat(table: Table) -> Seat | None:
    """Return the seat that a table describes; None where something in it is wrong, which is then a problem."""
    number, key = table.need("number", _NUMBER), table.need("id", _IDS, "give it some small letters of its own")
    name, port = table.take("name", _NAME, None), table.take("port", _PORT, None)
    if number is None or key is None:
        return None
    try:
        return Seat(key, number, name, port)
    except ChangeoverError as error:
        table.blame(error, "name")
        return None
