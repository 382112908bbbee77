"""What a value in a file must be: small readers that say what is wrong in the words of the person who wrote it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from typing import Generic, Self, TypeVar

from trainer.errors import ChangeoverError, plain
from trainer.files.lines import Path

T = TypeVar("T")
Word = TypeVar("Word", bound=str)
K = TypeVar("K", bound=str | int)

_UNSAFE = re.compile("[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
_UNSAFE_IN_LINES = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
_LONGEST_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a value."""

    what: str
    """What is wrong, a short clause without a full stop."""
    hint: str | None = None
    """What to do about it."""
    at: Path = ()
    """Where inside the value, empty for the value itself."""


class UnfitError(Exception):
    """A value is not of the kind that is wanted."""

    def __init__(self, *faults: Fault) -> None:
        """Keep the faults, of which there is at least one."""
        super().__init__("; ".join(fault.what for fault in faults))
        self.faults = faults

    @classmethod
    def of(cls, error: ChangeoverError) -> Self:
        """Return the same problems as faults of a value."""
        return cls(*(Fault(problem.what, problem.hint) for problem in error.problems))


@dataclass(frozen=True, slots=True)
class Kind(Generic[T]):
    """What a value must be."""

    name: str
    """The words after "must be": "a whole number from 1 to 9"."""
    read: Callable[[object], T]
    """Returns the value as the program holds it, or raises `UnfitError`."""
    choices: tuple[str, ...] = ()
    """Every value there is, where they can be listed."""
    low: float | None = None
    """Lowest number allowed."""
    high: float | None = None
    """Highest number allowed."""


def shown(value: object) -> str:
    """Return `value` as a person would name it in one line, shortened: `true`, `12`, `the text 'abc'`, `a list`."""
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            digits = repr(value) if isinstance(value, float) or abs(value) < 10**_LONGEST_SHOWN else "a huge number"
            return {"inf": "infinity", "-inf": "minus infinity", "nan": "nan"}.get(digits, digits)
        case str():
            return f"the text '{value if len(value) <= _LONGEST_SHOWN else value[:_LONGEST_SHOWN] + '…'}'"
        case list():
            return "a list"
        case dict():
            return "a table"
        case _:
            return "a date or time"


def closest(word: str, known: tuple[str, ...] | list[str]) -> str | None:
    """Return a hint with the known word nearest to `word`, or None where none is near."""
    near = get_close_matches(word.lower()[:_LONGEST_SHOWN], known, n=1)
    return f"did you mean '{near[0]}'?" if near else None


def integer(low: int, high: int) -> Kind[int]:
    """Return the kind of whole numbers from `low` to `high`, both allowed; true and 3.0 are none."""
    name = f"a whole number from {low} to {high}"

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise _must_be(name, value)
        return value

    return Kind(name, read, low=low, high=high)


def number(low: float, high: float) -> Kind[float]:
    """Return the kind of finite numbers from `low` to `high`, both allowed; whole ones need no point."""
    name = f"a number from {low:g} to {high:g}"

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _must_be(name, value)
        # Compared before it is converted: a whole number may be too large for a float.
        if (isinstance(value, float) and math.isnan(value)) or not low <= value <= high:
            raise _must_be(name, value)
        return float(value)

    return Kind(name, read, low=low, high=high)


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise _must_be("true or false", value)
    return value


FLAG: Kind[bool] = Kind("true or false", _flag)
"""True or false, and nothing that is merely like it."""


def text(longest: int = 200, *, lines: bool = False) -> Kind[str]:
    """Return the kind of texts of 1 to `longest` characters, with line breaks only where `lines` is true.

    Control characters and those that turn the direction of writing are refused: they could steer a terminal.
    """
    name = f"text of 1 to {longest} characters"
    unsafe = _UNSAFE_IN_LINES if lines else _UNSAFE

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise _must_be(name, value)
        if not value.strip():
            raise UnfitError(Fault("is empty"))
        if len(value) > longest:
            raise UnfitError(Fault(f"is too long: {len(value)} characters of {longest}"))
        found = unsafe.search(value)
        if found is not None:
            raise UnfitError(Fault(f"holds the control character U+{ord(found[0]):04X}", "take it out"))
        return value

    return Kind(name, read)


def words(longest: int, *, needed: bool = False) -> Kind[str]:
    """Return the kind of texts for people: line breaks become spaces, control characters a visible mark."""
    name = f"text of at most {longest} characters"

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise _must_be(name, value, "put quotes around it")
        text = tidy(value)
        if needed and not text:
            raise UnfitError(Fault("is empty"))
        if len(text) > longest:
            raise UnfitError(Fault(f"is too long: {len(text)} characters of {longest}"))
        return text

    return Kind(name, read)


def tidy(text: str) -> str:
    """Return a text from a file as it is kept: in one line, without controls."""
    return plain(" ".join(text.splitlines()).replace("\t", " ")).strip()


def choice(*words: Word) -> Kind[Word]:
    """Return the kind of texts that are one of `words`, spelt exactly so."""
    name = ", ".join(f"'{word}'" for word in words[:-1]) + f" or '{words[-1]}'" if words[1:] else f"'{words[0]}'"

    def read(value: object) -> Word:
        for word in words:
            if value == word:
                return word
        hint = closest(value, words) if isinstance(value, str) else None
        raise _must_be(name, value, hint)

    return Kind(name, read, choices=words)


def parsed(name: str, parse: Callable[[str], T], longest: int = 200) -> Kind[T]:
    """Return the kind of texts that `parse` understands; it raises ChangeoverError or ValueError on others."""
    plain_text = text(longest)

    def read(value: object) -> T:
        if not isinstance(value, str):
            raise _must_be(name, value)
        written = plain_text.read(value)
        try:
            return parse(written)
        except ChangeoverError as error:
            raise UnfitError.of(error) from error
        except ValueError as error:
            raise UnfitError(Fault(f"must be {name}, not {shown(value)}", str(error) or None)) from error

    return Kind(name, read)


def list_of(kind: Kind[T], fewest: int = 0, most: int = 1000) -> Kind[tuple[T, ...]]:
    """Return the kind of lists of `fewest` to `most` values of `kind`; each wrong entry is a fault of its own."""
    name = f"a list of {fewest} to {most} entries" if fewest != most else f"a list of {most} entries"

    def read(value: object) -> tuple[T, ...]:
        if not isinstance(value, list):
            raise _must_be(name, value)
        if not fewest <= len(value) <= most:
            raise UnfitError(Fault(f"must be {name}, not of {len(value)}"))
        return tuple(_read_all(kind, enumerate(value)).values())

    return Kind(name, read)


def map_of(kind: Kind[T]) -> Kind[dict[str, T]]:
    """Return the kind of tables with keys of the writer's choosing and values of `kind`."""

    def read(value: object) -> dict[str, T]:
        if not isinstance(value, dict):
            raise _must_be("a table", value)
        return _read_all(kind, value.items())

    return Kind("a table", read)


def _read_all(kind: Kind[T], entries: Iterable[tuple[K, object]]) -> dict[K, T]:
    """Read every entry before complaining, so that all that is wrong is told at once."""
    found: dict[K, T] = {}
    faults: list[Fault] = []
    for key, value in entries:
        try:
            found[key] = kind.read(value)
        except UnfitError as unfit:
            faults += [Fault(fault.what, fault.hint, (key, *fault.at)) for fault in unfit.faults]
    if faults:
        raise UnfitError(*faults)
    return found


def _must_be(name: str, value: object, hint: str | None = None) -> UnfitError:
    return UnfitError(Fault(f"must be {name}, not {shown(value)}", hint))


def _day(value: object) -> date:
    # A date with a time of day is a date to Python; TOML tells them apart.
    if type(value) is not date:
        raise UnfitError(Fault(f"must be a date, not {shown(value)}", "as in 2026-03-14, without quotes"))
    return value


DAY: Kind[date] = Kind("a date", _day)
"""A day."""
