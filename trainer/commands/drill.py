"""`changeover drill`: straight into one drill."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.commands.drills import add_drill, as_tempo, chosen
from trainer.commands.port import port_key
from trainer.errors import wrong
from trainer.practice.phases import Mode
from trainer.practice.tempo import FASTEST, SLOWEST
from trainer.ui import start
from trainer.ui.drilling.ears import Wish


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("--mode", choices=[str(mode) for mode in Mode], metavar="WAY", help=f"one of {', '.join(Mode)}")
    parser.add_argument(
        "--tempo", type=as_tempo, metavar="BPM", help=f"beats per minute, {SLOWEST:g} to {FASTEST:g}; with --mode paced"
    )
    parser.add_argument("--port", metavar="NAME", help="the MIDI port to hear, or a part of its name")
    parser.add_argument(
        "--keep-take", nargs="?", type=Path, const=Path(), metavar="FILE", help="keep what is heard as a MIDI file"
    )


def run(options: argparse.Namespace) -> int:
    """Open the app on the drill."""
    drill = chosen(options.drill)
    mode = Mode(options.mode) if options.mode else Mode.HEARD if options.port else None
    port = None if options.port is None else port_key(options.port)
    wish = Wish(port, keep=options.keep_take is not None, take=_named(options.keep_take))
    if wish.take is not None and wish.take.exists():
        raise wrong("a file is there already", file=str(wish.take), key="--keep-take", hint="give another name")
    start.check_terminal()
    return start.run("drill", drill=drill, mode=mode, tempo=options.tempo, wish=wish)


def _named(path: Path | None) -> Path | None:
    """Return the file that was named after --keep-take; None where none was."""
    return None if path is None or path == Path() else path
