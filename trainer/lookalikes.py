"""What a terminal, pipe or locale that lacks a character is given in its place: an ASCII sign for each cell.

Without it Python ends a command at the first such character, or a screen shows `\\u2502` and the like.
"""

from __future__ import annotations

import codecs
import contextlib
import io
import sys
import unicodedata

_NAME = "changeover-lookalike"
_DRAWN = {
    "-": "─└├┤┬┴–—−",
    "=": "═≈",
    "|": "│║",
    "+": "┼╪╫",
    "#": "█▇▆▅▄▃▉▊▋▌▐▀■",
    "_": "▁▂▎▏",
    "%": "▒",
    ":": "░",
    ">": "→►▶▸»",
    "<": "←◄«",
    "v": "▼",
    "^": "▲",
    "o": "○",
    "*": "●•♪✓",
    "@": "◊",
    "x": "×",
    ".": "·…",
    "b": "♭",
    "'": "‘’",
    '"': "“”",
}
_SIGNS = {character: sign for sign, characters in _DRAWN.items() for character in characters} | {"♯": "#"}
_UNKNOWN = "?"


def lookalike(text: str) -> str:
    """Return `text` in ASCII, as many cells wide: a sign that looks like each character, a letter without its accent.

    What has no such sign becomes `?`, twice where it is two cells wide.
    """
    return "".join(map(_sign, text))


def lacks(stream: object, characters: str) -> bool:
    """Tell whether one of `characters` cannot be written to a text stream; what has no encoding takes them all."""
    encoding = getattr(stream, "encoding", None)
    try:
        characters.encode(encoding or "utf-8")
    except (LookupError, UnicodeEncodeError):
        return True
    return False


def be_read_and_written() -> None:
    """See to it that no character ends the program: standard output and error take look-alikes, input takes anything.

    Streams that somebody else has put in their place stay as they are.
    """
    for stream, errors in ((sys.stdin, "replace"), (sys.stdout, _NAME), (sys.stderr, _NAME)):
        if isinstance(stream, io.TextIOWrapper):
            # A stream that is in the middle of being read keeps what it has.
            with contextlib.suppress(io.UnsupportedOperation):
                stream.reconfigure(errors=errors)


def _sign(character: str) -> str:
    if character in _SIGNS:
        return _SIGNS[character]
    if unicodedata.combining(character):
        return ""
    bare = unicodedata.normalize("NFKD", character)[0]
    if bare.isascii() and bare.isprintable():
        return bare
    return _UNKNOWN * (2 if unicodedata.east_asian_width(character) in "WF" else 1)


def _replace(error: UnicodeError) -> tuple[str, int]:
    """Stand in for what could not be written, as the table of codecs asks for it."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return lookalike(error.object[error.start : error.end]), error.end


codecs.register_error(_NAME, _replace)
