"""`changeover drill`: straight into one drill."""

from __future__ import annotations

import argparse

from trainer.commands.drills import add_drill, as_tempo, chosen
from trainer.commands.numbers import whole
from trainer.commands.port import add_port, port_key, wished
from trainer.errors import wrong
from trainer.practice.phases import Mode
from trainer.practice.roster import MOST_SEATS
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
    parser.add_argument(
        "--seats",
        type=_seats,
        metavar="N",
        help="with --room: after each round mark which of N seats had it, 1 to 40; the tempo follows, nothing is kept",
    )
    add_port(parser)


def run(options: argparse.Namespace) -> int:
    """Open the app on the drill."""
    drill = chosen(options.drill)
    if options.seats is not None and not options.room:
        raise wrong("seats are marked before a class", key="--seats", hint="add --room")
    if options.room:
        from trainer.ui.room.numbered import numbered

        start.check_terminal()
        group = None if options.seats is None else numbered(options.seats)
        return start.run("room", drill=drill, tempo=options.tempo, group=group)
    mode = Mode(options.mode) if options.mode else Mode.HEARD if options.port else None
    port = None if options.port is None else port_key(options.port)
    wish = wished(port, options.keep_take)
    start.check_terminal()
    return start.run("drill", drill=drill, mode=mode, tempo=options.tempo, wish=wish)


def _seats(text: str) -> int:
    """Return a number of seats that have a key each; argparse words the error."""
    seats = whole(text, 1, MOST_SEATS)
    if seats is None:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number of seats from 1 to {MOST_SEATS}")
    return seats
