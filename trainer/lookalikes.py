"""What a terminal, pipe or locale that lacks a character is given in its place: an ASCII sign for each cell.

Without it Python ends a command at the first such character, or a screen shows `\\u2502` and the like. The console of
Linux takes every character of UTF-8 and shows the same blot for all that its font lacks: it is given look-alikes too.
"""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import sys
import unicodedata

_NAME = "changeover-lookalike"
_DRAWN = {
    "-": "─└├┤┬┴–—−",
    "=": "═≈",
    "|": "│║",
    "+": "┼╪╫",
    "#": "█▇▆▅▄▃▉▊▋▌▍▐▀■",
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
    "x": "×✗",
    ".": "·…",
    "b": "♭",
    "'": "‘’",
    '"': "“”",
}
_SIGNS = {character: sign for sign, characters in _DRAWN.items() for character in characters} | {"♯": "#"}
_UNKNOWN = "?"
_CONSOLE = "changeover_console"
"""UTF-8 without the signs that are not in every font of such a console."""
_CONSOLE_LACKS = "▀▁▂▃▄▅▆▇▉▊▋▌▍▎▏▐▶▸►◄◊○●♪♭♯✓✗…"
"""Signs drawn with that are not in every `Lat15` font of Debian's console-setup 1.221, which are what a Western system
boots with, or, those from memory, not in the kernel's own."""


def lookalike(text: str) -> str:
    """Return `text` in ASCII, as many cells wide: a sign that looks like each character, a letter without its accent.

    What has no such sign becomes `?`, twice where it is two cells wide.
    """
    return "".join(map(_sign, text))


def lacks(stream: object, characters: str) -> bool:
    """Tell whether one of `characters` cannot be written to a text stream; what has no encoding takes them all."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        return characters.encode(encoding).decode(encoding) != characters
    except (LookupError, UnicodeError):
        return True


def be_read_and_written() -> None:
    """See to it that no character ends the program: standard output and error take look-alikes, input takes anything.

    Streams that somebody else has put in their place stay as they are, and where PYTHONIOENCODING says how they are to
    be written, they are.
    """
    for stream, errors in ((sys.stdin, "replace"), (sys.stdout, _NAME), (sys.stderr, _NAME)):
        if isinstance(stream, io.TextIOWrapper):
            # A stream that is in the middle of being read keeps what it has.
            with contextlib.suppress(io.UnsupportedOperation):
                stream.reconfigure(errors=errors, encoding=_CONSOLE if _is_console(stream) else None)


def _is_console(stream: io.TextIOWrapper) -> bool:
    """Tell whether a stream that takes UTF-8 ends at the console of a Linux system."""
    if os.environ.get("TERM") != "linux" or "PYTHONIOENCODING" in os.environ:
        return False
    return stream.writable() and stream.isatty() and codecs.lookup(stream.encoding).name == "utf-8"


def _sign(character: str) -> str:
    if character in _SIGNS:
        return _SIGNS[character]
    if unicodedata.combining(character):
        return ""
    width = 2 if unicodedata.east_asian_width(character) in "WF" else 1
    bare = unicodedata.normalize("NFKD", character)[0]
    if bare.isascii() and bare.isprintable():
        return bare.ljust(width)
    return _UNKNOWN * width


def _replace(error: UnicodeError) -> tuple[str, int]:
    """Stand in for what could not be written, as the table of codecs asks for it."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return lookalike(error.object[error.start : error.end]), error.end


_ON_CONSOLE = str.maketrans({sign: lookalike(sign) for sign in _CONSOLE_LACKS})


class _ConsoleEncoder(codecs.IncrementalEncoder):
    """Writes for such a console."""

    def encode(self, text: str, final: bool = False) -> bytes:
        return text.translate(_ON_CONSOLE).encode("utf-8", self.errors)


def _find(name: str) -> codecs.CodecInfo | None:
    """Return the codec of such a console, as the table of codecs asks for it."""
    if name != _CONSOLE:
        return None
    utf_8 = codecs.lookup("utf-8")
    return codecs.CodecInfo(
        lambda text, errors="strict": (_ConsoleEncoder(errors).encode(text), len(text)),
        utf_8.decode,
        incrementalencoder=_ConsoleEncoder,
        incrementaldecoder=utf_8.incrementaldecoder,
        name=_CONSOLE,
    )


codecs.register(_find)
codecs.register_error(_NAME, _replace)
