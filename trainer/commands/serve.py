"""`changeover serve`: the app in browsers, on this machine or on the room's network."""

from __future__ import annotations

import argparse
import importlib.util
import secrets
import socket
import sys
import time
from typing import TYPE_CHECKING

from trainer.commands.drills import add_drill, chosen
from trainer.commands.numbers import between
from trainer.counts import plural
from trainer.errors import wrong
from trainer.practice.roster import MOST_SEATS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trainer.serve.guests import Seat

_INSTALL = "pip install 'changeover[serve]'"


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser, required=False)
    seats = parser.add_mutually_exclusive_group()
    seats.add_argument(
        "--seats", type=between(1, MOST_SEATS), metavar="N", help="so many seats, each with files and a log of its own"
    )
    seats.add_argument("--class", dest="roster", metavar="NAME", help="the seats of this class, each with its own log")
    parser.add_argument(
        "--host", default="localhost", metavar="ADDRESS", help="listen there; 0.0.0.0 is the room's network (localhost)"
    )
    parser.add_argument(
        "--port", type=between(1, 65535, "no port"), default=8017, metavar="N", help="on this port (8017)"
    )
    parser.add_argument(
        "--sessions", type=between(1, MOST_SEATS), default=12, metavar="N", help="browsers at once, at most (12)"
    )


def run(options: argparse.Namespace) -> int:
    """Serve until Ctrl+C."""
    if importlib.util.find_spec("textual_serve") is None:
        raise wrong("no browsers without textual-serve", hint=_INSTALL)
    from trainer.serve.door import Door, code_from
    from trainer.serve.guard import LOOPBACK
    from trainer.serve.server import SeatServer

    if options.drill:
        chosen(options.drill)  # a slip in it is better told here than in twelve browsers
    alone = options.host in LOOPBACK
    if not alone and options.seats is None and options.roster is None:
        raise wrong("on a network everybody needs a seat", key="--host", hint="as in --seats 12, or --class NAME")
    seats = _seats(options)
    door = None if alone else Door(code_from(secrets.choice))
    words = [sys.executable, "-m", "trainer.cli", *(["drill", *options.drill] if options.drill else [])]
    _check_free(options.host, options.port)
    sys.stdout.write(_told(options, len(seats), door.code if door else None))
    sys.stdout.flush()
    SeatServer(
        words,
        seats,
        door=door,
        sessions=options.sessions,
        host=options.host,
        port=options.port,
        clock=time.monotonic,
    ).serve()
    return 0


def _told(options: argparse.Namespace, count: int, code: str | None) -> str:
    """Return what the terminal says of the way in."""
    many = f"{plural(options.sessions, 'browser')} at once"
    whose = f"{plural(count, 'seat')}, " if options.seats or options.roster else ""
    lines = [f"Changeover, {whose}{many}: http://{_address(options.host)}:{options.port}"]
    if code is not None:
        lines += [
            f"Code: {code}",
            "Nothing on the way is encrypted: only on a network you trust.",
            "MIDI guitars are heard on this machine alone; keys from browsers are timed as they arrive and marked so.",
        ]
    return "\n".join([*lines, "Ctrl+C ends it.", ""])


def _address(host: str) -> str:
    """Return the address to type into a browser for a host that is listened on."""
    if host not in {"0.0.0.0", "::"}:  # noqa: S104  # compared, not bound
        return f"[{host}]" if ":" in host else host
    # Connecting a datagram socket sends nothing; it only asks which of our addresses would be used. RFC 5737's address.
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])


def _check_free(host: str, port: int) -> None:
    """Raise ChangeoverError where nothing can be served there."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        family, kind, protocol, _, address = found[0]
        with socket.socket(family, kind, protocol) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except (OSError, UnicodeError) as error:
        words = getattr(error, "strerror", None) or "no such address"
        raise wrong(f"cannot serve at {host} port {port}: {words}", hint="another --port or --host") from error


def _seats(options: argparse.Namespace) -> Sequence[Seat]:
    """Return the seats; the files of each, its log among them, lie in a folder that is kept for the next time.

    Where none were asked for, all are the player's at this machine, with their own files.
    """
    from trainer.serve.guests import Seat

    if options.roster is not None:
        from trainer.commands.classes import seated

        return [_seat(str(seat.number), seat.title, seat.id) for seat in seated(options.roster)[1].seats]
    if options.seats is not None:
        return [_seat(str(number), f"Seat {number}", number) for number in range(1, options.seats + 1)]
    return [Seat(str(number), "this machine", {}) for number in range(options.sessions)]


def _seat(key: str, name: str, folder: int | str) -> Seat:
    from trainer.files import paths
    from trainer.serve.guests import Seat
    from trainer.ui.seat import SEAT

    return Seat(key, name, {paths.HOME: str(paths.seat_dir(folder)), SEAT: name})
