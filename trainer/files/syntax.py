"""Why a text is no TOML, in the words of the person who wrote it rather than in those of the parser."""

from __future__ import annotations

import re
from typing import NamedTuple

from trainer.files.lines import Lines, Path


class Slip(NamedTuple):
    """One thing that is no TOML."""

    what: str
    """A short clause without a full stop."""
    line: int
    """1-based line where it stands."""
    hint: str | None
    """What to do about it."""
    path: Path = ()
    """The key it is about, where there is one."""


_TWICE = "is given twice"
_NO_QUOTE = "a text without its closing quote"
_NO_BRACKET = "a list without its closing ]"
_NO_BRACE = "a table without its closing }"

_SAYINGS: tuple[tuple[str, str, str | None], ...] = (
    (r"Cannot overwrite a value|Duplicate inline table key", _TWICE, "keep one of them"),
    (r"Cannot declare .* twice|Cannot (?:mutate|redefine|overwrite)", _TWICE, "keep one of them"),
    (r"Expected '=' after a key", "a key without '=' and a value", "write key = value"),
    (r"Invalid initial character for a key part", "a key is missing or has a character keys may not have", None),
    (r"Invalid statement", "neither a key, a [table] nor a comment", "write key = value, or # before a comment"),
    (r"Expected newline or end of document", "something is left over after the value", "text needs quotes around it"),
    (r"Invalid value", "the value is not one TOML knows", "text needs quotes around it"),
    (r"Unterminated string|Expected \"'|(?:Found invalid|Illegal) character '\\n'", _NO_QUOTE, None),
    (r"Unclosed array", _NO_BRACKET, None),
    (r"Unclosed inline table", _NO_BRACE, None),
    (r"Expected '\]", "a table's name without its closing ]", None),
    (
        r"Unescaped '\\' in a string|Invalid hex value|Escaped character",
        "a \\ in a text that stands for nothing",
        "write \\\\ for one \\",
    ),
    (r"Invalid date or datetime", "a date or time that does not exist", None),
    (r"Exceeds the limit", "a number with too many digits", None),
    (r"Found invalid character|Illegal character", "a character that TOML does not allow here", "write it as \\u…"),
)
"""What tomllib says (a pattern), what we say and the hint; tomllib speaks of its grammar, we of what was written."""


def slips(said: str, text: str) -> list[Slip]:
    """Return why `text`, of which tomllib said `said`, is no TOML.

    Keys given twice are all told; of anything else the first, where the parser stops.
    """
    what, hint = next(
        ((what, hint) for pattern, what, hint in _SAYINGS if re.match(pattern, said)), (f"is not TOML: {said}", None)
    )
    if what == _TWICE and (repeats := Lines(text).repeats):
        return [Slip(f"{what}, first in line {each.first}", each.line, hint, each.path) for each in repeats]
    return [Slip(what, _line(said, what, text), hint)]


def _line(said: str, what: str, text: str) -> int:
    """Return the line of the one thing that is no TOML; what is not closed stands where it was opened."""
    if what in {_NO_QUOTE, _NO_BRACKET, _NO_BRACE}:
        opened = Lines(text).stopped
        if opened is not None:
            return opened
    place = re.search(r"\(at line (\d+), column \d+\)$", said)
    return int(place[1]) if place else text.rstrip().count("\n") + 1
