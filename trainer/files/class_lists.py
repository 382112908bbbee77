"""Lists of a class as CSV, for spreadsheets: a row for each seat, in columns called number, name and port.

Number and name are each enough to say which seat is meant; ids stay at home, so that a list from elsewhere brings
nobody's log along.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import islice
from pathlib import Path

from trainer.errors import ChangeoverError, Problem, wrong
from trainer.files.cells import guarded, unguarded
from trainer.files.reading import read_bytes
from trainer.practice.roster import LONGEST_PORT, MOST_SEATS, Class, Seat, clashes, same_name

COLUMNS = ("number", "name", "port")
"""What a list may say of a seat; in the order of export, in any order on import."""
_NAMES_ONE = COLUMNS[:2]
"""Columns of which a list has one at least."""
_SEPARATORS = ",;\t"
MOST_BYTES = 256 * 1024
"""A list of forty seats is a hundred times as short."""
_UTF16 = (b"\xff\xfe", b"\xfe\xff")
_FULL = f"a class has at most {MOST_SEATS} seats"
_AS_UTF8 = "save it as CSV in UTF-8"
_HEADS = f"the first line names the columns, of {', '.join(COLUMNS)}"


@dataclass(frozen=True, slots=True)
class Row:
    """What a list says of one seat."""

    line: int
    """1-based line of its file."""
    cells: dict[str, str | None]
    """What stands in each column that the list has; None where the cell is empty."""
    number: int | None
    """The number in it."""


def written(group: Class) -> str:
    """Return the seats of a class as CSV."""
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow(COLUMNS)
    for seat in group.seats:
        lines.writerow((seat.number, guarded(seat.name or ""), guarded(seat.port or "")))
    return text.getvalue()


def load(path: Path) -> tuple[Row, ...]:
    """Return the rows of the list at `path`. Raises ChangeoverError with every problem in it."""
    return parse(read_bytes(path, MOST_BYTES, "a CSV file", "is it the list you meant?"), str(path))


def parse(data: bytes, file: str) -> tuple[Row, ...]:
    """Return the rows of the list that is `data`; `file` names it in problems."""
    text = _decoded(data, file)
    heads, separator = _heads(text, file)
    found: list[Row] = []
    problems: list[Problem] = []
    for line, cells in islice(_lines(text, separator, file), 1, None):
        if len(found) + len(problems) == MOST_SEATS:
            problems.append(Problem(_FULL, file, line, hint="begin a second class"))
            break
        try:
            found.append(_row(line, heads, cells, file))
        except ChangeoverError as error:
            problems += error.problems
    if problems:
        raise ChangeoverError(*problems)
    return tuple(found)


def joined(group: Class, rows: Sequence[Row], new_id: Callable[[], str], file: str) -> Class:
    """Return the class with what the rows of a list say; seats that it does not mention stay as they are.

    A row is about the seat with its number; one without a number about the seat with its name, or else a new seat on
    the lowest free number. Raises ChangeoverError with the line of each row that does not fit.
    """
    seats = {seat.number: seat for seat in group.seats}
    named = {same_name(seat.name): seat.number for seat in group.seats if seat.name}
    taken = {*seats, *(row.number for row in rows)}
    free = iter([number for number in range(1, MOST_SEATS + 1) if number not in taken])
    lines: dict[int, int] = {}
    problems: list[Problem] = []
    for row in rows:
        number = row.number or named.get(same_name(row.cells.get("name") or "")) or next(free, None)
        if number is None:
            problems.append(Problem(_FULL, file, row.line, hint="begin a second class"))
            continue
        if number in lines:
            problems.append(Problem(f"seat {number} stands in line {lines[number]} too", file, row.line))
            continue
        lines[number] = row.line
        try:
            seats[number] = _told(seats.get(number), number, row, new_id)
        except ChangeoverError as error:
            problems += _placed(error, file, row.line)
    every = sorted(seats.values(), key=lambda seat: lines.get(seat.number, 0))
    problems += (
        Problem(problem.what, file, lines.get(every[index].number), problem.key, problem.hint)
        for index, problem in clashes(every)
    )
    if problems:
        raise ChangeoverError(*problems)
    return Class(group.name, tuple(every))


def _told(seat: Seat | None, number: int, row: Row, new_id: Callable[[], str]) -> Seat:
    """Return the seat with what a row says of it; what the list has no column for stays."""
    name, port = (None, None) if seat is None else (seat.name, seat.port)
    return Seat(new_id() if seat is None else seat.id, number, row.cells.get("name", name), row.cells.get("port", port))


def _placed(error: ChangeoverError, file: str, line: int) -> Iterator[Problem]:
    return (Problem(problem.what, file, line, problem.key, problem.hint) for problem in error.problems)


def _row(line: int, heads: Sequence[str], cells: Sequence[str], file: str) -> Row:
    """Return what one line says. Raises ChangeoverError."""
    if len(cells) > len(heads) and any(cell.strip() for cell in cells[len(heads) :]):
        what = f"has {len(cells)} cells under {len(heads)} heads"
        raise wrong(what, file=file, line=line, hint="put a cell that holds a separator in double quotes")
    told = {head: unguarded(cell) if cell.strip() else None for head, cell in zip(heads, cells, strict=False)}
    number = None
    if said := told.get("number"):
        said = said.strip()
        if not (said.isascii() and said.isdigit() and len(said) < 3 and 1 <= int(said) <= MOST_SEATS):
            raise wrong(f"'{said[:20]}' is no number from 1 to {MOST_SEATS}", file=file, line=line, key="number")
        number = int(said)
    elif told.get("name") is None:
        raise wrong("says neither a number nor a name", file=file, line=line, hint="take the line out")
    port = told.get("port")
    if port is not None and len(port) > LONGEST_PORT:
        raise wrong(f"a port's name has 1 to {LONGEST_PORT} characters", file=file, line=line, key="port")
    return Row(line, told, number)


def _heads(text: str, file: str) -> tuple[list[str], str]:
    """Return the columns of a list, and what stands between them: of all that may, what makes most heads known."""

    def heads(separator: str) -> list[str]:
        _, cells = next(_lines(text, separator, file), (0, []))
        return [cell.strip().casefold() for cell in cells]

    def known(separator: str) -> int:
        with suppress(ChangeoverError):
            return sum(head in COLUMNS for head in heads(separator))
        return 0

    separator = max(_SEPARATORS, key=known)
    found = heads(separator)
    while found and not found[-1]:  # a spreadsheet that was once wider
        found.pop()
    if not found:
        raise wrong("is empty", file=file, hint=_HEADS)
    for head in found:
        if head not in COLUMNS:
            near = get_close_matches(head[:40], COLUMNS, n=1)
            hint = f"did you mean '{near[0]}'?" if near else _HEADS
            raise wrong(f"has no column known as '{head[:40]}'", file=file, line=1, hint=hint)
        if found.count(head) > 1:
            raise wrong(f"has two columns '{head}'", file=file, line=1, hint="leave one of them out")
    if not set(_NAMES_ONE) & set(found):
        raise wrong("has neither a column 'number' nor a column 'name'", file=file, line=1, hint=_HEADS)
    return found, separator


def _lines(text: str, separator: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Yield the lines that say anything, each with its number. Raises ChangeoverError where one cannot be read."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as error:
        raise wrong(f"cannot be read: {error}", file=file, line=begins, hint=_AS_UTF8) from error


def _decoded(data: bytes, file: str) -> str:
    """Return the text of a list. Raises ChangeoverError where it is no text, or in letters that would be guessed at."""
    try:
        text = data.decode("utf-16" if data.startswith(_UTF16) else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise wrong("is not UTF-8 text", file=file, line=line, hint=_AS_UTF8) from error
    if (at := text.find("\0")) >= 0:
        raise wrong("is no text", file=file, line=text.count("\n", 0, at) + 1, hint=_AS_UTF8)
    return text
