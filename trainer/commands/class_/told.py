"""How a class is told: as text and as JSON."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trainer.commands.output import FORCE_HINT, add_force, print_json
from trainer.counts import plural
from trainer.errors import plain
from trainer.files.atomic import check_free

if TYPE_CHECKING:
    import argparse

    from trainer.practice.roster import Class, Seat


def class_document(path: Path, group: Class) -> dict[str, Any]:
    """Return a class as JSON."""
    return {"name": plain(group.name), "file": plain(str(path)), "seats": [seat_document(seat) for seat in group.seats]}


def seat_document(seat: Seat) -> dict[str, Any]:
    """Return a seat as JSON."""
    return {
        "number": seat.number,
        "id": seat.id,
        "name": None if seat.name is None else plain(seat.name),
        "port": None if seat.port is None else plain(seat.port),
    }


def done(options: argparse.Namespace, path: Path, group: Class, said: str) -> int:
    """Tell what was done, or the class as it is now."""
    if options.json:
        print_json(class_document(path, group))
    else:
        sys.stdout.write(f"{plain(said)}\n")
    return 0


def seats_of(count: int) -> str:
    """Return so many seats in words."""
    return plural(count, "seat") if count else "no seats"


def add_output(parser: argparse.ArgumentParser, what: str, does: str, *, required: bool = False) -> None:
    """Add the options -o and --force."""
    parser.add_argument("-o", "--output", type=Path, metavar=what, required=required, help=does)
    add_force(parser)


def may_write(options: argparse.Namespace, *paths: Path) -> None:
    """Raise ChangeoverError where one of the files to be written is there and may not be written over."""
    for path in () if options.force else paths:
        check_free(path, key="-o", hint=FORCE_HINT)
