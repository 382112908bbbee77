"""Where each key of a TOML document stands: one scan of the text, made only when there is a problem to place."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import TypeAlias

Path: TypeAlias = tuple[str | int, ...]
"""Keys and 0-based list indices from the top of a document to a value."""

_SPACE = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*+")
_SCALAR = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?!"")(?:\\.|[^"\\\n])*"'
    r"|'(?!'')[^'\n]*'"
    r"|[^\s,\[\]{}#\"'][^,\]}#\n]*",
    re.DOTALL,
)
_KEY_PART = re.compile(r"""[ \t]*(?:([A-Za-z0-9_-]+)|("(?:\\.|[^"\\\n])*")|'([^'\n]*)')[ \t]*""")


@dataclass(frozen=True, slots=True)
class Repeat:
    """A key or table that is given a second time."""

    path: Path
    """The path of both."""
    line: int
    """Line of the second."""
    first: int
    """Line of the first."""


class Lines:
    """The lines of a document's keys, of its tables and of the entries of its lists.

    The text should be TOML that parses. In other text the scan stops at the first thing it cannot read, and
    what came before it is known.
    """

    def __init__(self, text: str) -> None:
        """Scan `text` once, in time proportional to its length."""
        scan = _Scan(text)
        self.stopped: int | None = None
        """Line where the scan could not go on, or where the list or inline table opens that it stopped in."""
        try:
            scan.document()
        except _LostError:
            self.stopped = scan.line(scan.open[-1] if scan.open else scan.at)
        self._lines = scan.lines
        self.repeats: tuple[Repeat, ...] = tuple(scan.repeats)
        """Keys and tables given twice, in the order of the text."""

    def __contains__(self, path: Path) -> bool:
        """Tell whether the scan has met exactly this path."""
        return path in self._lines

    def of(self, path: Path) -> int | None:
        """Return the 1-based line of `path`, or of the nearest thing around it; None at the top of the document."""
        for length in range(len(path), 0, -1):
            line = self._lines.get(path[:length])
            if line is not None:
                return line
        return None


class _LostError(Exception):
    """The text is not TOML from here on."""


@dataclass(slots=True)
class _Scan:
    """A position in a text and what was met before it."""

    text: str
    at: int = 0
    lines: dict[Path, int] = field(default_factory=dict)
    repeats: list[Repeat] = field(default_factory=list)
    set_here: set[Path] = field(default_factory=set)
    """Paths given a value or a header of their own; the others are only on the way to one."""
    entries: dict[Path, int] = field(default_factory=dict)
    """How many `[[entries]]` each list of tables has so far."""
    breaks: list[int] = field(default_factory=list)
    """Offsets of the line breaks."""
    open: list[int] = field(default_factory=list)
    """Offsets of the brackets of lists and inline tables that are not closed yet."""

    def document(self) -> None:
        self.breaks = [m.start() for m in re.finditer("\n", self.text)]
        inside: Path = ()
        self.skip()
        while self.at < len(self.text):
            if self.text.startswith("[", self.at):
                inside = self.header()
            else:
                self.pair(inside)
            self.skip()

    def header(self) -> Path:
        """Take `[table]` or `[[entry]]` and return the path of the table it opens."""
        start = self.at
        brackets = 2 if self.text.startswith("[[", self.at) else 1
        self.at += brackets
        keys = self.keys()
        self.expect("]" * brackets)
        path: Path = ()
        for key in keys[:-1]:
            path = self.latest((*path, key))
            self.pass_by(path, start)
        path = (*path, keys[-1])
        if brackets == 1:
            self.give(path, start)
            return path
        self.pass_by(path, start)
        index = self.entries.get(path, 0)
        self.entries[path] = index + 1
        path = (*path, index)
        self.give(path, start)
        return path

    def latest(self, path: Path) -> Path:
        """Return `path`, or its last entry where it is a list of tables."""
        count = self.entries.get(path)
        return path if count is None else (*path, count - 1)

    def pair(self, inside: Path) -> None:
        """Take `key = value`; a dotted key passes by the tables on its way."""
        self.at = _SPACE.match(self.text, self.at).end()  # type: ignore[union-attr]  # it matches the empty text
        start = self.at
        path = inside
        keys = self.keys()
        for key in keys[:-1]:
            path = (*path, key)
            self.pass_by(path, start)
        path = (*path, keys[-1])
        self.give(path, start)
        self.expect("=")
        self.value(path)

    def value(self, path: Path) -> None:
        self.skip()
        if self.text.startswith("[", self.at):
            self.array(path)
        elif self.text.startswith("{", self.at):
            self.inline(path)
        else:
            match = _SCALAR.match(self.text, self.at)
            if match is None:
                raise _LostError
            self.at = match.end()

    def array(self, path: Path) -> None:
        self.enter()
        index = 0
        while not self.closed("]"):
            entry = (*path, index)
            self.give(entry, self.at)
            self.value(entry)
            self.comma("]")
            index += 1

    def inline(self, path: Path) -> None:
        self.enter()
        while not self.closed("}"):
            self.pair(path)
            self.comma("}")

    def enter(self) -> None:
        """Take an opening bracket."""
        self.open.append(self.at)
        self.at += 1

    def closed(self, bracket: str) -> bool:
        """Skip to the next thing and take `bracket` where it is that."""
        self.skip()
        if self.at >= len(self.text):
            raise _LostError
        if not self.text.startswith(bracket, self.at):
            return False
        self.at += 1
        self.open.pop()
        return True

    def comma(self, bracket: str) -> None:
        """Take a comma; only the closing `bracket` may stand in its place."""
        self.skip()
        if self.text.startswith(",", self.at):
            self.at += 1
        elif not self.text.startswith(bracket, self.at):
            raise _LostError

    def keys(self) -> list[str]:
        """Take a dotted key."""
        found = []
        while True:
            match = _KEY_PART.match(self.text, self.at)
            if match is None:
                raise _LostError
            bare, quoted, literal = match.groups()
            found.append(bare or (_unquoted(quoted) if quoted else literal))
            self.at = match.end()
            if not self.text.startswith(".", self.at):
                return found
            self.at += 1

    def expect(self, mark: str) -> None:
        if not self.text.startswith(mark, self.at):
            raise _LostError
        self.at += len(mark)

    def skip(self) -> None:
        match = _SPACE.match(self.text, self.at)
        if match is not None:
            self.at = match.end()

    def line(self, offset: int) -> int:
        return bisect_right(self.breaks, offset - 1) + 1 if offset else 1

    def pass_by(self, path: Path, offset: int) -> None:
        """Note the line of a table that is only on the way to something."""
        self.lines.setdefault(path, self.line(offset))

    def give(self, path: Path, offset: int) -> None:
        """Note the line of something that is given here, and whether it was given before."""
        line = self.line(offset)
        if path in self.set_here:
            self.repeats.append(Repeat(path, line, self.lines[path]))
            return
        self.set_here.add(path)
        self.lines[path] = line


def _unquoted(quoted: str) -> str:
    try:
        return str(tomllib.loads(f"key = {quoted}")["key"])
    except ValueError as error:
        raise _LostError from error
