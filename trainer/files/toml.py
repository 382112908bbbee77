"""TOML files read with every problem found in them, each with its line, and written with their comments kept."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Any, TypeVar, cast

from trainer.errors import ChangeoverError, Problem, wrong
from trainer.files import atomic
from trainer.files.kinds import Fault, Kind, UnfitError, closest, integer, shown
from trainer.files.lines import Lines, Path
from trainer.files.reading import read_bytes
from trainer.files.syntax import slips

T = TypeVar("T")
D = TypeVar("D")

LIMIT = 1 << 20
"""Largest file read, in bytes."""

_LONGEST_KEY_FREE = 1 << 12
"""Texts up to this many characters are not searched for over-long dotted keys."""
_LONG_KEY = re.compile(
    r"""(?:^|[\[{,])[ \t]*+(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){64}""", re.MULTILINE
)
"""Keys with so many dots cost tomllib time and memory in the square of their number."""


@dataclass(slots=True)
class Document:
    """A TOML file that parsed, and what was found wrong with its values so far."""

    file: str
    """The file's name as problems show it."""
    text: str
    """The text, without a byte order mark."""
    values: dict[str, object]
    """The parsed values as tomllib returns them."""
    _problems: list[Problem] = field(default_factory=list)
    """What was noted so far."""
    _tables: list[Table] = field(default_factory=list)
    """Every table that was opened, the top one first."""
    _lines: Lines | None = None
    """Where each key stands; None until there is a problem to place."""

    @staticmethod
    def load(path: FilePath) -> tuple[Document | None, list[Problem]]:
        """Read the file at `path`; where it cannot be read or parsed: None and the reasons."""
        try:
            text = _read(path)
        except ChangeoverError as error:
            return None, list(error.problems)
        return Document.parse(text, str(path))

    @staticmethod
    def parse(text: str, file: str) -> tuple[Document | None, list[Problem]]:
        """Parse `text`, naming `file` in problems; where it is not TOML: None and the reasons."""
        if len(text) > _LONGEST_KEY_FREE:
            long_key = _LONG_KEY.search(text)
            if long_key is not None:
                line = text.count("\n", 0, long_key.start()) + 1
                return None, [Problem("a key has more than 64 parts", file, line)]
        try:
            return Document(file, text, tomllib.loads(text)), []
        except ValueError as error:
            found = slips(str(error), text)
            return None, [Problem(slip.what, file, slip.line, spelt(slip.path), slip.hint) for slip in found]
        except RecursionError:
            return None, [Problem("lists or tables lie too deep in one another", file)]

    @property
    def top(self) -> Table:
        """The table of the top-level keys; the same one each time."""
        if not self._tables:
            self._tables.append(Table(self, (), self.values))
        return self._tables[0]

    def line(self, path: Path) -> int | None:
        """Return the line where `path` (keys and 0-based indices) stands, or what is nearest around it."""
        if self._lines is None:
            self._lines = Lines(self.text)
        return self._lines.of(path)

    def problem(self, path: Path, what: str, hint: str | None = None, *, warning: bool = False) -> None:
        """Note a problem at `path`."""
        self._problems.append(Problem(what, self.file, self.line(path), spelt(path), hint, warning))

    def finish(self) -> list[Problem]:
        """Return all problems in the order of the file, with a warning for each key that nobody took.

        Only the keys of tables that were opened are looked at: an unknown table is one unknown key.
        """
        unknown = [problem for table in self._tables for problem in table.unknown()]
        return sorted(self._problems + unknown, key=lambda problem: problem.line or 0)


class Table:
    """A table of a document, of which each key is taken once with the kind its value must be."""

    __slots__ = ("_known", "document", "path", "values")

    def __init__(self, document: Document, path: Path, values: dict[str, object]) -> None:
        """Stand for the table at `path`."""
        self.document = document
        self.path = path
        self.values = values
        """The values as tomllib returns them."""
        self._known: list[str] = []

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def __iter__(self) -> Iterator[str]:
        return iter(self.values)

    def take(self, key: str, kind: Kind[T], default: D) -> T | D:
        """Return the value of `key`; the default where it is absent, or wrong, which is then a problem."""
        self._known.append(key)
        if key not in self.values:
            return default
        try:
            return kind.read(self.values[key])
        except UnfitError as unfit:
            for fault in unfit.faults:
                self.fault(key, fault)
            return default

    def need(self, key: str, kind: Kind[T], hint: str | None = None) -> T | None:
        """Return the value of `key`; None where it is wrong or absent, each of which is a problem."""
        if key not in self.values:
            self.wrong(key, "is missing", hint or f"it must be {kind.name}")
        return self.take(key, kind, None)

    def table(self, key: str) -> Table:
        """Return the table at `key`, an empty one where it is absent, or wrong, which is then a problem."""
        self._known.append(key)
        value = self.values.get(key, {})
        if not isinstance(value, dict):
            self.wrong(key, f"must be a table, not {shown(value)}", f"write [{key}]")
            value = {}
        return self._open((key,), value)

    def tables(self, key: str) -> list[Table]:
        """Return the entries of the list of tables at `key`; what is no table among them is a problem and left out."""
        self._known.append(key)
        entries = self.values.get(key, [])
        if not isinstance(entries, list):
            self.wrong(key, f"must be a list of tables, not {shown(entries)}", f"write [[{key}]] before each entry")
            return []
        found = []
        for index, entry in enumerate(entries):
            if isinstance(entry, dict):
                found.append(self._open((key, index), entry))
            else:
                self.document.problem((*self.path, key, index), f"must be a table, not {shown(entry)}")
        return found

    def rest(self, kind: Kind[T]) -> dict[str, T]:
        """Return every key nobody took so far, wrong ones left out, where the keys are of the writer's choosing."""
        missing = object()
        found: dict[str, T] = {}
        for key in [key for key in self.values if key not in self._known]:
            value = self.take(key, kind, missing)
            if value is not missing:
                found[key] = cast("T", value)
        return found

    def wrong(self, key: str, what: str, hint: str | None = None) -> None:
        """Note that what stands at `key` is wrong for a reason its kind does not know."""
        self.fault(key, Fault(what, hint))

    def blame(self, error: ChangeoverError, key: str) -> None:
        """Note each problem of `error` at the key that it names itself, else at `key`."""
        for problem in error.problems:
            self.wrong(problem.key or key, problem.what, problem.hint)

    def warn(self, key: str, what: str, hint: str | None = None) -> None:
        """Note something at `key` that still works and that the player should know."""
        self.document.problem((*self.path, key), what, hint, warning=True)

    def fault(self, key: str, fault: Fault) -> None:
        """Note a fault of the value at `key`, or of something inside it."""
        self.document.problem((*self.path, key, *fault.at), fault.what, fault.hint)

    def unknown(self) -> list[Problem]:
        """Return a warning for each key nobody took, with the nearest known key as a hint."""
        return [
            Problem(
                "is not a key known here",
                self.document.file,
                self.document.line((*self.path, key)),
                spelt((*self.path, key)),
                closest(key, self._known) or _listed(self._known),
                warning=True,
            )
            for key in self.values
            if key not in self._known
        ]

    def _open(self, below: Path, values: dict[str, object]) -> Table:
        table = Table(self.document, (*self.path, *below), values)
        self.document._tables.append(table)  # the two classes are one reader
        return table


def take_format(table: Table, newest: int = 1) -> bool:
    """Take the key `format`, the version of a file's layout; return whether this program can read the file.

    A file without one is read as the newest; a newer one than `newest` is a problem.
    """
    version = table.take("format", integer(1, 1_000_000), 1 if "format" in table else newest)
    if version > newest:
        table.wrong("format", f"is {version}, and this version reads up to {newest}", "update Changeover")
    return version <= newest


def spelt(path: Path) -> str | None:
    """Return `path` as a person would write it, `shapes[3].frets`; entries count from 1. None for the top."""
    written = ""
    for part in path:
        if isinstance(part, int):
            written += f"[{part + 1}]"
        else:
            key = part if re.fullmatch(r"[A-Za-z0-9_-]+", part) else f'"{part}"'
            written += f".{key}" if written else key
    return written or None


def update(path: FilePath, changes: Mapping[str | Path, object]) -> None:
    """Change single values of the file at `path`, atomically, and keep everything else, comments included.

    `changes` maps a key, or a path of keys and 0-based indices, to its new value; None takes the key out. Tables
    on the way are made. A file that is not there is made. ChangeoverError where the file there cannot be parsed.
    """
    old = _read(path) if path.exists() else ""
    document, problems = Document.parse(old, str(path))
    if document is None:
        raise ChangeoverError(*problems)
    try:
        atomic.write_text(path, updated(old, changes))
    except ChangeoverError as error:
        raise ChangeoverError(*(replace(problem, file=str(path)) for problem in error.problems)) from error


def to_change(path: FilePath) -> tuple[Document | None, FilePath | None]:
    """Return the file to be changed, None where a new one is to be begun, and where the old one was put aside.

    What is there and is no TOML is copied beside itself as `.bad`, `.bad2` and so on, before it is written over.
    Raises ChangeoverError where it is no file, or cannot be read or copied.
    """
    if not os.path.exists(path):
        return None, None
    document, problems = Document.load(path)
    if document is not None:
        return document, None
    if not os.path.isfile(path):
        raise ChangeoverError(*problems)
    aside = _free_name(path)
    try:
        atomic.write_bytes(aside, path.read_bytes())
    except OSError as error:
        raise atomic.refused("read", path, error) from error
    return None, aside


def write_changes(path: FilePath, old: Document | None, header: str, changes: Mapping[str | Path, object]) -> None:
    """Make `changes` in the file at `path`, see `update`; where there is no `old` one, in a new one under `header`."""
    if old is None:
        atomic.write_text(path, updated(header, changes))
    else:
        update(path, changes)


def _free_name(path: FilePath) -> FilePath:
    names = (path.with_name(f"{path.name}.bad{number or ''}") for number in (None, *range(2, 10_000)))
    return next((name for name in names if not os.path.lexists(name)), path.with_name(f"{path.name}.bad"))


def updated(text: str, changes: Mapping[str | Path, object]) -> str:
    """Return the TOML in `text` with `changes` made, see `update`."""
    import tomlkit

    document, values = tomlkit.parse(text), tomllib.loads(text)
    for place, value in changes.items():
        path = (place,) if isinstance(place, str) else place
        _change(document, path, value)
        _change(values, path, value)
    written = tomlkit.dumps(document)
    # Where tomlkit loses its way in an unusual layout, the file keeps its old text.
    if tomllib.loads(written) != values:
        raise wrong("cannot be changed without touching other values", hint="change it in an editor")
    return written


def _change(values: Any, path: Path, value: object) -> None:
    """Set or take out one value; works alike on tomlkit's containers and on plain ones."""
    for length, part in enumerate(path[:-1], start=1):
        if isinstance(part, str) and part not in values:
            if value is None:
                return
            values[part] = {}
        values = values[part]
        if not isinstance(values, dict | list):
            raise wrong("is not a table, so nothing in it can be changed", key=spelt(path[:length]))
    last = path[-1]
    if value is not None:
        values[last] = value
    elif isinstance(last, int) or last in values:
        del values[last]


def _read(path: FilePath) -> str:
    """Return the text of the file at `path`; ChangeoverError where it is no text file of a bearable size."""
    data = read_bytes(path, LIMIT, "a TOML file", "is it the file you meant?")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise wrong("is not UTF-8 text", file=str(path), line=line, hint="save it as UTF-8") from error


def _listed(known: list[str]) -> str | None:
    """Return a hint that names the known keys, where they are few."""
    return f"known: {', '.join(known)}" if 0 < len(known) <= 12 else None
