"""A seat's log taken home, as one file."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from trainer.commands.class_.told import add_output, may_write
from trainer.commands.output import print_json
from trainer.errors import plain, wrong
from trainer.files import atomic, classes, paths
from trainer.log.history import reading


def add_take(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `take`."""
    parser.add_argument("seat", metavar="SEAT", help="its number, or the name on it")
    add_output(parser, "FILE", "where to write it", required=True)


def do_take(options: argparse.Namespace) -> int:
    """Write a seat's whole log to a file."""
    from trainer.log.seats import whole

    _, group = classes.find(options.name)
    seat = group.find(options.seat)
    log = paths.seat_log(seat.id)
    if not log.exists():
        raise wrong(f"{seat.title} of '{group.name}' has played nothing yet")
    output: Path = options.output
    may_write(options, output)
    atomic.write_bytes(output, whole(log))
    tries = tries_in(log)
    if options.json:
        print_json({"file": plain(str(output)), "seat": seat.number, "attempts": tries})
    else:
        sys.stdout.write(f"{plain(str(output))} written: {tries:,} tries of {plain(seat.title)}.\n")
    return 0


def tries_in(log: Path) -> int:
    """Return how many tries a log holds. Raises ChangeoverError where it cannot be read."""
    with reading(log) as history:
        return sum(summary.count for summary in history.summaries())
