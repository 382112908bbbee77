"""The one error type: what is wrong, where, and what to do about it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass


def plain(text: str) -> str:
    """Return `text` with every control, format and surrogate character and every break of a line shown as `·`.

    Text from files, ports and arguments is data: none of it may steer the terminal.
    """
    if text.isprintable():
        return text
    return "".join("·" if unicodedata.category(c) in {"Cc", "Cf", "Cs", "Zl", "Zp"} else c for c in text)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what a person gave us."""

    what: str
    """What is wrong, a short clause without a full stop."""
    file: str | None = None
    """The file it stands in, or None where it came from the command line."""
    line: int | None = None
    """1-based line, or None where it cannot be known."""
    key: str | None = None
    """The key or argument it stands at."""
    hint: str | None = None
    """What to do about it."""
    warning: bool = False
    """True where the thing still works and the player should know."""

    def __str__(self) -> str:
        """Return the problem as one line: where, key, what, hint; safe to print."""
        place = self.file
        if place is not None and self.line is not None:
            place = f"{place}:{self.line}"
        head = ": ".join(part for part in (place, self.key, self.what) if part)
        return plain(f"{head} ({self.hint})" if self.hint else head)


def grave(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return the problems that are more than warnings."""
    return tuple(problem for problem in problems if not problem.warning)


class ChangeoverError(Exception):
    """Bad input that ends a command with exit code 2, one line per problem."""

    def __init__(self, *problems: Problem) -> None:
        """Keep the problems, of which there is at least one."""
        super().__init__("; ".join(str(p) for p in problems))
        self.problems = problems


def wrong(
    what: str,
    *,
    file: str | None = None,
    line: int | None = None,
    key: str | None = None,
    hint: str | None = None,
) -> ChangeoverError:
    """Return an error with one problem, ready to raise."""
    return ChangeoverError(Problem(what, file=file, line=line, key=key, hint=hint))
