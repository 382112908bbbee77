"""`changeover drill`: straight into one drill."""

from __future__ import annotations

import argparse

from trainer.commands.drills import add_drill, as_tempo, chosen
from trainer.commands.port import add_port, port_key, wished
from trainer.practice.phases import Mode
from trainer.practice.tempo import FASTEST, SLOWEST
from trainer.ui import start


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("--mode", choices=[str(mode) for mode in Mode], metavar="WAY", help=f"one of {', '.join(Mode)}")
    parser.add_argument(
        "--tempo", type=as_tempo, metavar="BPM", help=f"beats per minute, {SLOWEST:g} to {FASTEST:g}; with --mode paced"
    )
    parser.add_argument("--room", action="store_true", help="show it to a class, as large as the terminal allows")
    add_port(parser)


def run(options: argparse.Namespace) -> int:
    """Open the app on the drill."""
    drill = chosen(options.drill)
    if options.room:
        start.check_terminal()
        return start.run("room", drill=drill, tempo=options.tempo)
    mode = Mode(options.mode) if options.mode else Mode.HEARD if options.port else None
    port = None if options.port is None else port_key(options.port)
    wish = wished(port, options.keep_take)
    start.check_terminal()
    return start.run("drill", drill=drill, mode=mode, tempo=options.tempo, wish=wish)
