"""Scores in a few lines: MusicXML around the bars that a test is about."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

from trainer.scores.musicxml.reader import read
from trainer.scores.score import Score

DATA = Path(__file__).parents[1] / "data" / "scores"
"""Scores from elsewhere."""
STANDARD_TUNING = "".join(
    f'<staff-tuning line="{line}"><tuning-step>{name[0]}</tuning-step><tuning-octave>{name[1]}</tuning-octave>'
    "</staff-tuning>"
    for line, name in enumerate(("E2", "A2", "D3", "G3", "B3", "E4"), start=1)
)
CONTAINER = '<container><rootfiles><rootfile full-path="{}"/></rootfiles></container>'


def note(
    pitch: str,
    duration: object = 1,
    *,
    string: int | None = None,
    fret: int | None = None,
    finger: int | None = None,
    voice: int = 1,
    chord: bool = False,
    more: str = "",
    staff: int = 1,
) -> str:
    """Return a note element; `pitch` is as E4, C#4 or Bb3; `more` goes into its notations."""
    step, octave = pitch[0], pitch[-1]
    alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
    technical = "".join(
        f"<{tag}>{value}</{tag}>"
        for tag, value in (("fingering", finger), ("string", string), ("fret", fret))
        if value is not None
    )
    notations = (f"<technical>{technical}</technical>" if technical else "") + more
    return (
        f"<note>{'<chord/>' if chord else ''}<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>"
        f"<duration>{duration}</duration><voice>{voice}</voice><staff>{staff}</staff>"
        f"{f'<notations>{notations}</notations>' if notations else ''}</note>"
    )


def measure(content: str, number: int = 1, attributes: str = "", extra: str = "") -> str:
    """Return a bar; the first should say its divisions in `attributes`."""
    said = f"<attributes>{attributes}</attributes>" if attributes else ""
    return f'<measure number="{number}" {extra}>{said}{content}</measure>'


HEAD = "<divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
"""Attributes of most first bars: sixteenths are counted."""


def document(*measures: str, name: str = "Guitar", version: str = "4.0") -> str:
    """Return a score of one part."""
    return (
        f'<?xml version="1.0"?><score-partwise version="{version}"><part-list><score-part id="P1">'
        f'<part-name>{name}</part-name></score-part></part-list><part id="P1">{"".join(measures)}</part>'
        "</score-partwise>"
    )


def score(*measures: str, name: str = "Guitar") -> Score:
    """Return such a score read."""
    return read(document(*measures, name=name).encode(), "test.musicxml")


def packed(name: str, data: bytes, *, container: str | None = None) -> bytes:
    """Return a compressed score."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", CONTAINER.format(name) if container is None else container)
        archive.writestr(name, data)
    return out.getvalue()
