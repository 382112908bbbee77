"""`changeover drill`: straight into one drill."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from trainer.commands.drills import add_drill, as_tempo, chosen
from trainer.commands.numbers import between
from trainer.commands.port import add_port, port_key, wished
from trainer.errors import wrong
from trainer.practice.phases import Mode
from trainer.practice.roster import MOST_SEATS
from trainer.practice.tempo import FASTEST, SLOWEST
from trainer.ui import start

if TYPE_CHECKING:
    from trainer.ui.room.desk import Group


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("--mode", choices=[str(mode) for mode in Mode], metavar="WAY", help=f"one of {', '.join(Mode)}")
    parser.add_argument(
        "--tempo", type=as_tempo, metavar="BPM", help=f"beats per minute, {SLOWEST:g} to {FASTEST:g}; with --mode paced"
    )
    parser.add_argument("--room", action="store_true", help="show it to a class, as large as the terminal allows")
    seats = parser.add_mutually_exclusive_group()
    seats.add_argument(
        "--seats",
        type=between(1, MOST_SEATS, "not a number of seats"),
        metavar="N",
        help="with --room: after each round mark which of N seats had it, 1 to 40; the tempo follows, nothing is kept",
    )
    seats.add_argument(
        "--class",
        dest="roster",
        metavar="NAME",
        help="with --room: mark the seats of this class; each round is kept in the log of its seat",
    )
    add_port(parser)


def run(options: argparse.Namespace) -> int:
    """Open the app on the drill."""
    drill = chosen(options.drill)
    for key, value in (("--seats", options.seats), ("--class", options.roster)):
        if value is not None and not options.room:
            raise wrong("seats are marked before a class", key=key, hint="add --room")
    if options.room:
        group = _group(options)
        start.check_terminal()
        return start.run("room", drill=drill, tempo=options.tempo, group=group)
    mode = Mode(options.mode) if options.mode else Mode.HEARD if options.port else None
    port = None if options.port is None else port_key(options.port)
    wish = wished(port, options.keep_take)
    start.check_terminal()
    return start.run("drill", drill=drill, mode=mode, tempo=options.tempo, wish=wish)


def _group(options: argparse.Namespace) -> Group | None:
    """Return the class that plays rounds; None where nobody is marked."""
    if options.roster is not None:
        from trainer.commands.classes import group

        return group(options.roster)
    if options.seats is not None:
        from trainer.ui.room.numbered import numbered

        return numbered(options.seats)
    return None
