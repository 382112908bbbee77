"""Files as bytes, and the score inside a compressed one (.mxl). Nothing is unpacked to disk."""

from __future__ import annotations

import io
import os
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import wrong
from trainer.scores.musicxml.xml import MOST_BYTES, Node, read_blocks

if TYPE_CHECKING:
    # Imported where it is needed: it costs more than reading a short score.
    import zipfile

CONTAINER = "META-INF/container.xml"
"""Where a compressed score says which of its files is the score (MusicXML 4.0, compressed .mxl files)."""
MOST_ENTRIES = 500
"""Files in one archive: a score, pictures, sounds."""
_SMALL = 64 * 1024
"""Bytes of a sound container.xml."""
_END = b"PK\x05\x06"
_FLAG_ENCRYPTED = 0x1
_PACKINGS = {0, 8}
"""Stored and deflated (ZIP file format specification)."""


def read_bytes(path: Path) -> bytes:
    """Return what is in the file at `path`. Raises ChangeoverError where it is no file, or too large for a score."""
    file = str(path)
    no_file = wrong("is not a file", file=file, hint="give the path of a score")
    try:
        # Opened so that a pipe does not wait for a writer.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with open(handle, "rb") as opened:
            status = os.fstat(handle)
            if not stat.S_ISREG(status.st_mode):
                raise no_file
            if status.st_size > MOST_BYTES:
                raise wrong(
                    f"is larger than {MOST_BYTES // 2**20} MB",
                    file=file,
                    hint="a score of a part or two is far smaller",
                )
            return opened.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise wrong("there is no such file", file=file, hint="look at the spelling") from None
    except IsADirectoryError:
        raise no_file from None
    except (OSError, ValueError) as error:
        why = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise wrong(f"cannot be read: {why.lower()}", file=file) from None


def is_archive(data: bytes) -> bool:
    """Tell whether `data` is a compressed score."""
    return data.startswith((b"PK\x03\x04", _END))


def unpacked(data: bytes, file: str) -> bytes:
    """Return the score inside the compressed score `data`, whatever size it declares. Raises ChangeoverError."""
    import zipfile
    import zlib

    _check_directory(data, file)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            inside = _root_file(_member(archive, CONTAINER, _SMALL, file), file)
            return _member(archive, inside, MOST_BYTES, file)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError) as error:
        raise wrong(
            f"is no sound compressed score: {error}", file=file, hint="save it again from its program"
        ) from None


def _check_directory(data: bytes, file: str) -> None:
    """Refuse an archive of many entries before its directory is read, which would take time and room for each."""
    end = data.rfind(_END, max(0, len(data) - 65_557))
    if end < 0 or end + 16 > len(data):
        raise wrong("is no whole compressed score", file=file, hint="it may be cut short; fetch it again")
    entries = int.from_bytes(data[end + 10 : end + 12], "little")
    size = int.from_bytes(data[end + 12 : end + 16], "little")
    if entries > MOST_ENTRIES or size > MOST_ENTRIES * 400:
        raise wrong(f"has more than {MOST_ENTRIES} files inside", file=file, hint="a score has one, and a few pictures")


def _member(archive: zipfile.ZipFile, name: str, most: int, file: str) -> bytes:
    try:
        info = archive.getinfo(name)
    except KeyError:
        raise wrong(f"has no {name[:80]} inside", file=file, hint="it is no compressed MusicXML score") from None
    if info.compress_type not in _PACKINGS or info.flag_bits & _FLAG_ENCRYPTED:
        raise wrong(
            f"{name[:80]} inside is packed in a way no score is", file=file, hint="save it again from its program"
        )
    # What it declares may be a lie either way, so what comes out is counted too.
    data = b""
    if info.file_size <= most:
        with archive.open(info) as packed:
            data = packed.read(most + 1)
    if max(info.file_size, len(data)) > most:
        raise wrong(f"{name[:80]} inside is larger than {most // 1024} KB", file=file, hint="no score is so large")
    return data


def _root_file(container: bytes, file: str) -> str:
    """Return the name of the score, the first root file that is none of another kind."""
    found: list[str] = []

    def take(around: Node, block: Node) -> None:
        if around.tag == "rootfiles" and block.tag == "rootfile":
            kind = block.attributes.get("media-type", "application/vnd.recordare.musicxml+xml")
            if kind in {"application/vnd.recordare.musicxml+xml", "application/vnd.recordare.musicxml", "text/xml"}:
                found.append(block.attributes.get("full-path", ""))

    read_blocks(container, f"{file}: {CONTAINER}", frozenset({"container"}), frozenset({"rootfiles"}), take)
    if not found:
        raise wrong("does not say which file inside is the score", file=file, hint="it is no compressed MusicXML score")
    name = found[0]
    if name.startswith(("/", "\\")) or ":" in name or ".." in name.replace("\\", "/").split("/"):
        raise wrong(f"its score is said to lie outside it, at {name[:80]}", file=file, hint="leave such a file alone")
    return name
