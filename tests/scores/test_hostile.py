"""Files made to do harm are refused with one line, within a second and 256 MiB of memory, by a program of its own."""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.scores.building import CONTAINER, HEAD, document, measure, note, packed
from trainer.scores.source import parse

MEMORY = 256 * 1024 * 1024
ROOT = Path(__file__).parents[2]
SOUND = document(measure(note("E4", 16), attributes=HEAD))
BODY = SOUND.partition("?>")[2]

NAMED = BODY.replace("Guitar", "&a;")
PASSWORDS = 'SYSTEM "file:///etc/passwd"'
LATE = b"\xff\xff\xff\x7f\x90\x40\x40\x60\x80\x40\x40\0\xff\x2f\0"
"""A note after 268,435,455 ticks."""


def _doctype(inside: str, body: str = BODY) -> bytes:
    return f'<?xml version="1.0"?><!DOCTYPE score-partwise [{inside}]>{body}'.encode()


def _lolz() -> bytes:
    entities = '<!ENTITY a0 "ha">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    return _doctype(entities, BODY.replace("Guitar", "&a11;"))


def _quadratic() -> bytes:
    return _doctype(f'<!ENTITY a "{"x" * 100_000}">', BODY.replace("Guitar", "&a;" * 10_000))


def _huge_zip_size() -> bytes:
    """A small member that declares 4 GB, in its own header and in the directory."""
    data = bytearray(packed("score.xml", SOUND.encode()))
    for sign, place in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = data.rfind(sign)
        data[at + place : at + place + 4] = b"\xff\xff\xff\xfe"
    return bytes(data)


def _many_entries() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("META-INF/container.xml", CONTAINER.format("score.xml"))
        for number in range(5000):
            archive.writestr(f"{number}", b"")
    return out.getvalue()


def _midi(body: bytes, kind: int = 0, division: int = 96, tracks: int = 1) -> bytes:
    head = b"MThd" + (6).to_bytes(4, "big") + b"".join(n.to_bytes(2, "big") for n in (kind, tracks, division))
    return head + b"MTrk" + len(body).to_bytes(4, "big") + body


CASES: dict[str, tuple[str, Callable[[], bytes], str]] = {
    "entity bomb": (".musicxml", _lolz, "declares entities"),
    "quadratic entity": (".xml", _quadratic, "declares entities"),
    "external entity": (".xml", lambda: _doctype(f"<!ENTITY a {PASSWORDS}>", NAMED), "declares entities"),
    "parameter entity": (".xml", lambda: _doctype(f"<!ENTITY % a {PASSWORDS}> %a;"), "declares entities"),
    "unknown entity": (".xml", lambda: BODY.replace("Guitar", "&a;").encode(), "no sound XML"),
    "deep nesting": (".musicxml", lambda: b"<score-partwise>" + b"<a>" * 500_000, "deep"),
    "deep within a bar": (".musicxml", lambda: document(measure("<a>" * 100 + "</a>" * 100)).encode(), "deep"),
    "many elements": (".musicxml", lambda: b"<score-partwise>" + b"<a/>" * 2_000_000, "elements"),
    "many elements, UTF-16": (".xml", lambda: f"<score-partwise>{'<a/>' * 2_000_000}".encode("utf-16"), "elements"),
    "many bytes": (".musicxml", lambda: b"<score-partwise>" + b" " * (33 * 2**20), "larger than 32 MB"),
    "zip bomb": (".mxl", lambda: packed("score.xml", b"<a>" + b" " * (300 * 2**20)), "larger than"),
    "zip bomb in the container": (".mxl", lambda: packed("s", b"", container=" " * 10**8), "larger than"),
    "huge declared size": (".mxl", _huge_zip_size, "larger than"),
    "many entries": (".mxl", _many_entries, "files inside"),
    "path upwards": (".mxl", lambda: packed("../score.xml", SOUND.encode()), "lie outside"),
    "path from the root": (".mxl", lambda: packed("/etc/passwd", SOUND.encode()), "lie outside"),
    "no container": (".mxl", lambda: packed("s", b"", container="<html/>"), "which is no score"),
    "cut archive": (".mxl", lambda: packed("score.xml", SOUND.encode())[:-30], "compressed score"),
    "NaN": (".xml", lambda: SOUND.replace("<duration>16", "<duration>NaN").encode(), "'NaN'"),
    "negative": (".xml", lambda: SOUND.replace("<duration>16", "<duration>-16").encode(), "'-16'"),
    "endless": (".xml", lambda: SOUND.replace("<duration>16", f"<duration>{'9' * 100_000}").encode(), "is '999"),
    "unknown encoding": (".xml", lambda: b'<?xml version="1.0" encoding="rot13"?><score-partwise/>', "encoding"),
    "another kind of XML": (".xml", lambda: b"<html><body/></html>", "which is no score"),
    "nothing": (".musicxml", lambda: b"", "neither MusicXML nor"),
    "noise": (".mxl", lambda: bytes(range(256)) * 100, "neither MusicXML nor"),
    "MIDI in seconds": (".mid", lambda: _midi(b"\0\xff\x2f\0", division=0xE728), "in seconds"),
    "MIDI of division 0": (".mid", lambda: _midi(b"\0\xff\x2f\0", division=0), "in seconds"),
    "MIDI of format 2": (".mid", lambda: _midi(b"\0\xff\x2f\0", kind=2), "format 2"),
    "MIDI with a huge text": (".mid", lambda: _midi(b"\0\xff\x01\xff\xff\xff\x7f"), "no sound MIDI"),
    "MIDI cut short": (".mid", lambda: _midi(b"\0\x90\x40")[:-1], "no sound MIDI"),
    "MIDI of many bytes": (".mid", lambda: _midi(b"\0\x90\x40\x40" * 200_000), "larger than"),
    "MIDI after centuries": (".mid", lambda: _midi(LATE, division=1), "20,000 bars"),
}  # fmt: skip
"""Name to the file's ending, its bytes, and what the refusal says."""


def _refused(path: Path) -> tuple[str, float]:
    """Return what the program says of the file at `path`, and how many seconds of processor time that took it."""
    code = (
        "import sys, time\nfrom trainer.cli import main\nimport trainer.scores.importing, trainer.commands.import_\n"
        "import trainer.scores.musicxml.reader, trainer.scores.smf\n"
        "start = time.process_time()\ncode = main(['import', sys.argv[1]])\n"
        "print(time.process_time() - start)\nsys.exit(code)"
    )

    def bounded() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))

    done = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        preexec_fn=bounded,
        timeout=60,
        check=False,
    )
    assert done.returncode == 2, done.stderr[-2000:]
    assert done.stderr.count("\n") == 1, done.stderr[-2000:]
    return done.stderr, float(done.stdout)


@pytest.mark.parametrize("name", CASES)
def test_refused_in_a_line_within_bounds(name: str, tmp_path: Path) -> None:
    ending, make, what = CASES[name]
    path = tmp_path / f"file{ending}"
    path.write_bytes(make())
    said, seconds = _refused(path)
    assert what in said
    # Processor time of the refusal alone, with room for a slow machine: seconds are what a bomb would cost.
    assert seconds < 3


def test_a_gigabyte_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "large.musicxml"
    with path.open("wb") as file:
        file.truncate(2**30)
    said, seconds = _refused(path)
    assert "larger than 32 MB" in said
    assert seconds < 3


def test_a_folder_and_a_pipe_are_no_scores(tmp_path: Path) -> None:
    import os

    folder, pipe = tmp_path / "a.mxl", tmp_path / "b.mxl"
    folder.mkdir()
    os.mkfifo(pipe)
    assert "is not a file (give" in _refused(folder)[0]
    assert "is not a file" in _refused(pipe)[0]


def test_text_that_would_steer_a_terminal_is_made_plain() -> None:
    text = SOUND.replace("Guitar", "Gui\u202etar").replace('number="1"', 'number="1&#10;&#9;2"')
    read = parse(text.encode(), "x")
    assert read.parts[0].name == "Gui·tar"
    assert read.bars[0].number == "1 2"
