"""The options that take some bars of a score, the same wherever a score is taken."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.errors import wrong

if TYPE_CHECKING:
    from trainer.scores.importing import Source


def add_bars(parser: argparse.ArgumentParser) -> None:
    """Add the options that say which bars, of which part, and how."""
    parser.add_argument("--bars", metavar="BARS", help="bars by their printed numbers, as 5-8; without it, all")
    parser.add_argument("--part", metavar="PART", help="a part by its number or name")
    parser.add_argument(
        "--voice", action="append", default=[], metavar="VOICE", help="only this voice; may be repeated"
    )
    parser.add_argument("--played", action="store_true", help="follow repeats and endings, not the written order")
    parser.add_argument(
        "--octave",
        type=int,
        choices=(-2, -1, 0, 1),
        metavar="N",
        help="the part sounds so many octaves above what is written",
    )


def bars_of(path: Path, options: argparse.Namespace) -> Source:
    """Return the bars of the score at `path` that the options name. Raises ChangeoverError."""
    from trainer.scores.importing import bars_from

    return bars_from(
        path,
        bars=options.bars,
        part=options.part,
        voices=options.voice,
        as_played=options.played,
        octave=options.octave,
    )


def check_no_bars(options: argparse.Namespace) -> None:
    """Raise ChangeoverError where bars are asked for of what is no score."""
    for name in ("bars", "part", "voice", "played", "octave"):
        if getattr(options, name) not in (None, False, []):
            raise wrong("not of a drill", key=f"--{name}", hint="bars are taken of a MusicXML or MIDI file")
