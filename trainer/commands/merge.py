"""`changeover merge`: a practice log that was taken away, taken into the player's own without doubles."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.counts import plural
from trainer.errors import plain, wrong

if TYPE_CHECKING:
    from trainer.log.union import Brought

_SEAT = "say which seat with CLASS/NUMBER"


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("file", type=Path, metavar="FILE", help="a practice log, as one file")
    parser.add_argument(
        "--player",
        metavar="NAME",
        help="into the log of a seat of a class: its name, or CLASS/NUMBER; else into your own",
    )
    parser.add_argument("--dry-run", action="store_true", help="say what would come; write nothing")
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Take FILE in and say what came."""
    from trainer.files.paths import log_file
    from trainer.log.merge import merge

    into = log_file() if options.player is None else _log_of(options.player)
    brought = merge(options.file, into, dry_run=options.dry_run)
    if options.json:
        from trainer.commands.output import print_json

        print_json(_document(brought, options.file, into, options.dry_run))
    else:
        sys.stdout.writelines(f"{line}\n" for line in _lines(brought, options.dry_run))
    return 0


def _log_of(player: str) -> Path:
    """Return the log of the seat that a person calls `player`. Raises ChangeoverError where that is not one seat."""
    from trainer.files.classes import every, find
    from trainer.files.paths import seat_log
    from trainer.practice.roster import same_name

    name, of_class, seat = player.partition("/")
    if of_class:
        return seat_log(find(name)[1].find(seat).id)
    wanted = same_name(player.strip())
    found = [
        (entry.stem, seat)
        for entry in every()
        if entry.group is not None
        for seat in entry.group.seats
        if seat.name is not None and same_name(seat.name) == wanted
    ]
    if not found:
        raise wrong(f"no seat of a class has the name '{player}'", key="--player", hint=_SEAT)
    if len(found) > 1:
        classes = " and ".join(f"'{stem}'" for stem, _ in found)
        raise wrong(f"more than one seat has the name '{player}', in {classes}", key="--player", hint=_SEAT)
    return seat_log(found[0][1].id)


def _lines(brought: Brought, dry_run: bool) -> list[str]:
    changes = (
        f"{plural(brought.new, 'change')} new in {plural(brought.runs, 'new run')}, {brought.known:,} known already"
    )
    fuller = f"; {plural(brought.fuller, 'entry', 'entries')} told more fully" if brought.fuller else ""
    head = "Nothing was written. There would be" if dry_run else "Merged:"
    width = max((len(f"{new:,}") for _, new in brought.drills), default=0)
    return [f"{head} {changes}{fuller}.", *(f"  {new:>{width},}  {plain(title)}" for title, new in brought.drills)]


def _document(brought: Brought, source: Path, into: Path, dry_run: bool) -> dict[str, object]:
    return {
        "file": plain(str(source)),
        "log": plain(str(into)),
        "dry_run": dry_run,
        "changes": {"new": brought.new, "known": brought.known},
        "runs": {"new": brought.runs},
        "fuller": brought.fuller,
        "drills": [{"title": plain(title), "new": new} for title, new in brought.drills],
    }
