"""A score from a file of any kind that is understood."""

from __future__ import annotations

from pathlib import Path

from trainer.errors import wrong
from trainer.scores.musicxml.container import is_archive, read_bytes, unpacked
from trainer.scores.names import SUFFIXES
from trainer.scores.score import Score

_SMF = b"MThd"
_XML_STARTS = (b"<", b"\xef\xbb\xbf<", b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<")


def load(path: Path) -> Score:
    """Return the score in the file at `path`. Raises ChangeoverError, with a line where there is one."""
    return parse(read_bytes(path), str(path))


def parse(data: bytes, file: str) -> Score:
    """Return the score in `data`, whose beginning says which kind it is; `file` names it in errors."""
    if data.startswith(_SMF):
        from trainer.scores import smf

        return smf.read(data, file)
    if is_archive(data):
        data = unpacked(data, file)
    if not data.lstrip(b" \t\r\n").startswith(_XML_STARTS):
        raise wrong(
            "is neither MusicXML nor a MIDI file", file=file, hint=f"names of scores end in {' '.join(SUFFIXES)}"
        )
    from trainer.scores.musicxml.reader import read

    return read(data, file)
