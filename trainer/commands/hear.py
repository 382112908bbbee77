"""`changeover hear`: a drill in line mode, or a recorded take of it graded."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from trainer.commands.drills import add_drill, as_tempo, chosen
from trainer.commands.heard import document, line, summary
from trainer.commands.output import print_json
from trainer.errors import plain
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange, summarise
from trainer.practice.phases import Mode

_EXIT_NOTHING = 1


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("--take", type=Path, metavar="FILE.mid", help="grade a recorded take instead of listening")
    parser.add_argument("--real-time", action="store_true", help="with --take: as slowly as it was played")
    parser.add_argument("--mode", choices=[str(mode) for mode in Mode], metavar="WAY", help=f"one of {', '.join(Mode)}")
    parser.add_argument("--tempo", type=as_tempo, metavar="BPM", help="in tempo, so that lateness is told")
    parser.add_argument("--json", action="store_true", help="one JSON document at the end; lines go to standard error")


def run(options: argparse.Namespace) -> int:
    """Grade the take, or drill."""
    drill = chosen(options.drill)
    return _drill(drill, options) if options.take is None else _take(drill, options)


def _drill(drill: Drill, options: argparse.Namespace) -> int:
    """Practise in line mode."""
    from trainer.ui.lines.practice import Console, LinePractice
    from trainer.ui.services import open_services

    services = open_services()
    try:
        mode = options.mode and Mode(options.mode)
        LinePractice(services, drill, mode, options.tempo, Console(sys.stdout)).run(sys.stdin)
    finally:
        services.close()
    return 0


def _take(drill: Drill, options: argparse.Namespace) -> int:
    """Grade a take; exit code 1 where nothing of the drill was found in it."""
    from trainer.files import takes
    from trainer.listen.entries import Paced
    from trainer.listen.matcher import Grid
    from trainer.listen.take import LARGEST, parse_take, replay

    path: Path = options.take
    take = parse_take(takes.read(path, LARGEST), str(path), drill)
    remarks = list(take.remarks)
    if take.drill and take.drill != drill.title:
        remarks.append(f"it was played to '{take.drill}'")
    if options.tempo is not None:
        grid = Grid(take.first_note, 60 / options.tempo)
        take = replace(take, entries=(Paced(0.0, grid), *take.entries))
        remarks.append(f"beats are counted from the first note on, {options.tempo:g} to the minute")
    for remark in remarks:
        sys.stderr.write(f"{plain(f'{path}: {remark}')}\n")
    heard = replay(take, drill)
    found = tuple(_told(drill, _slowly(heard) if options.real_time else heard, options))
    if options.json:
        print_json(document(drill, found))
    else:
        sys.stdout.write(f"{summary(summarise(found))}\n")
    return 0 if any(change.landed for change in found) else _EXIT_NOTHING


def _told(
    drill: Drill, heard: Iterable[tuple[float, tuple[HeardChange, ...]]], options: argparse.Namespace
) -> Iterator[HeardChange]:
    """Yield every change that is done, once it has been told."""
    try:
        for _, changes in heard:
            for change in changes:
                if change.done:
                    if not options.json:
                        sys.stdout.write(f"{plain(line(drill, change))}\n")
                        sys.stdout.flush()
                    yield change
    except KeyboardInterrupt:
        # What was heard so far is summed up.
        return


def _slowly(
    heard: Iterable[tuple[float, tuple[HeardChange, ...]]],
) -> Iterator[tuple[float, tuple[HeardChange, ...]]]:
    """Yield the same at the pace at which it was played."""
    began = time.monotonic()
    for at, changes in heard:
        if at != float("inf"):
            time.sleep(max(0.0, began + at - time.monotonic()))
        yield at, changes
