"""`changeover export`: a drill as a fingered MusicXML score, or as a MIDI file to play along to."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from trainer.commands.drills import add_drill, as_tempo, chosen
from trainer.commands.output import FORCE_HINT, add_force
from trainer.errors import plain, wrong
from trainer.files import atomic
from trainer.practice.drill import Drill


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("-o", "--output", metavar="FILE", required=True, help="a file that ends in .musicxml or .mid")
    parser.add_argument("--tempo", type=as_tempo, metavar="BPM", help="beats per minute; without it, the drill's own")
    add_force(parser)


def run(options: argparse.Namespace) -> int:
    """Write the file. Raises ChangeoverError where one lies there, or the drill cannot be written so."""
    target = Path(options.output)
    write = _WRITERS.get(target.suffix.lower())
    if write is None:
        raise wrong("is neither .musicxml nor .mid", file=str(target), hint="the ending says what is written")
    if not options.force:
        atomic.check_free(target, hint=FORCE_HINT)
    drill = chosen(options.drill)
    atomic.write_bytes(target, write(drill, options.tempo))
    sys.stdout.write(f"{plain(drill.title)}: written to {plain(str(target))}\n")
    return 0


def _musicxml(drill: Drill, tempo: float | None) -> bytes:
    from trainer.scores.musicxml.writer import write

    try:
        return write(drill, tempo)
    except ValueError as error:
        raise wrong(f"{drill.title}: {error}", hint="round its strokes to whole parts of a beat") from error


def _midi(drill: Drill, tempo: float | None) -> bytes:
    from trainer.scores.smf_writer import write

    return write(drill, tempo)


_WRITERS: dict[str, Callable[[Drill, float | None], bytes]] = {".musicxml": _musicxml, ".mid": _midi}
"""What writes each kind of file."""
