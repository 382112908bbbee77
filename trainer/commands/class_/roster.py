"""Classes and their seats: listed, begun, shown, added to, renamed, removed from."""

from __future__ import annotations

import argparse
import secrets
import sys
from functools import partial
from typing import TYPE_CHECKING

from trainer.commands.class_.told import class_document, done, seats_of
from trainer.commands.numbers import between
from trainer.errors import plain
from trainer.files import classes, paths
from trainer.practice.roster import MOST_SEATS, Class

if TYPE_CHECKING:
    from collections.abc import Callable

new_id: Callable[[], str] = partial(classes.new_id, secrets.choice)
"""Draws an id for a new seat."""


def list_all(options: argparse.Namespace) -> int:
    """Print the classes there are; 1 where the file of one is wrong."""
    from trainer.commands.output import print_json

    entries = classes.every()
    if options.json:
        documents = [
            {
                **({"name": None, "file": plain(str(entry.path)), "seats": None} | _known(entry)),
                "problems": [str(problem) for problem in entry.problems],
            }
            for entry in entries
        ]
        print_json({"classes": documents})
    for entry in entries:
        for problem in entry.problems:
            sys.stderr.write(f"changeover: {problem}\n")
        if entry.group is not None and not options.json:
            sys.stdout.write(f"{plain(entry.stem)}: {plain(entry.group.name)}, {seats_of(len(entry.group.seats))}\n")
    if not entries and not options.json:
        sys.stdout.write("No class yet. 'changeover class new NAME --seats 12' begins one.\n")
    return int(any(entry.group is None for entry in entries))


def _known(entry: classes.Entry) -> dict[str, object]:
    return {} if entry.group is None else class_document(entry.path, entry.group)


def add_new(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `new`."""
    parser.add_argument(
        "--seats", type=between(1, MOST_SEATS), default=0, metavar="N", help="with so many seats, nobody's yet"
    )


def do_new(options: argparse.Namespace) -> int:
    """Begin a class."""
    group = Class(options.name)
    for _ in range(options.seats):
        group = group.add(new_id())
    path = classes.create(group)
    return done(options, path, group, f"'{group.name}' begun with {seats_of(len(group.seats))}: {path}")


def add_show(_: argparse.ArgumentParser) -> None:
    """`show` has no arguments of its own."""


def do_show(options: argparse.Namespace) -> int:
    """Print the seats of a class."""
    path, group = classes.find(options.name)
    if options.json or not group.seats:
        return done(options, path, group, f"'{group.name}' has no seats yet; 'changeover class add' adds one.")
    from trainer.commands.output import console, table

    rows = [
        (
            str(seat.number),
            plain(seat.name or ""),
            plain(seat.port or ""),
            "has played" if paths.seat_log(seat.id).exists() else "",
        )
        for seat in group.seats
    ]
    screen = console()
    screen.print(f"{plain(group.name)}: {seats_of(len(group.seats))}")
    screen.print(table(("seat", "name", "port", "log"), rows, right=("seat",)), soft_wrap=False)
    return 0


def add_add(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `add`."""
    parser.add_argument("player", nargs="?", metavar="PLAYER", help="who sits there, where that is to be written down")
    parser.add_argument(
        "--number", type=between(1, MOST_SEATS), metavar="N", help="its number (else the lowest that is free)"
    )
    parser.add_argument("--port", metavar="PORT", help="the MIDI port of the guitar there, or a part of its name")


def do_add(options: argparse.Namespace) -> int:
    """Add a seat."""
    path, group = classes.find(options.name)
    port = None
    if options.port is not None:
        from trainer.commands.port import port_key

        port = port_key(options.port)
    key = new_id()
    group = group.add(key, options.number, options.player, port)
    classes.save(path, group)
    return done(options, path, group, f"{group.seat(key).title} added to '{group.name}'.")


def add_rename(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `rename`."""
    _add_seat(parser)
    parser.add_argument("player", nargs="?", metavar="PLAYER", help="who sits there; left out: nobody's")


def do_rename(options: argparse.Namespace) -> int:
    """Write down who sits on a seat."""
    path, group = classes.find(options.name)
    key = group.find(options.seat).id
    group = group.rename(key, options.player)
    classes.save(path, group)
    seat = group.seat(key)
    said = f"seat {seat.number} is {seat.name}'s" if seat.name else f"seat {seat.number} is nobody's"
    return done(options, path, group, f"In '{group.name}' {said} now.")


def add_remove(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `remove`."""
    _add_seat(parser)


def do_remove(options: argparse.Namespace) -> int:
    """Take a seat out of the class; what was played there stays."""
    path, group = classes.find(options.name)
    seat = group.find(options.seat)
    group = group.remove(seat.id)
    classes.save(path, group)
    folder = paths.seat_dir(seat.id)
    words = f"changeover class forget {path.stem} {seat.id} --yes"
    left = f" What was played there is still kept; '{words}' deletes it." if folder.exists() else ""
    return done(options, path, group, f"{seat.title} removed from '{group.name}'.{left}")


def _add_seat(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("seat", metavar="SEAT", help="its number, or the name on it")
