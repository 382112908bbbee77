"""`changeover hear`: a drill in line mode, or a recorded take of it graded."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from trainer.commands.drills import add_drill, as_tempo, chosen
from trainer.commands.grades import document
from trainer.commands.output import print_json
from trainer.commands.port import add_port, port_key, wished
from trainer.errors import plain, wrong
from trainer.practice.beats import Due, by_beat, of_changes
from trainer.practice.breaking import breaks
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange, summarise
from trainer.practice.phases import Mode
from trainer.ui.lines.console import Console
from trainer.ui.lines.grades import line, summary

_EXIT_NOTHING = 1
_APART = (("mode", "take"), ("port", "take"), ("keep_take", "take"))
"""Options that cannot both be given."""
_NOT_SET_UP = "changeover: this guitar is not set up: only pitches are heard, strings are not told apart\n"


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    modes = [str(mode) for mode in Mode if mode is not Mode.HEARD]
    add_port(parser)
    parser.add_argument("--mode", choices=modes, metavar="WAY", help=f"{', '.join(modes)}; by ear where a port is")
    parser.add_argument("--tempo", type=as_tempo, metavar="BPM", help="to the beat, so that lateness is measured")
    parser.add_argument("--take", type=Path, metavar="FILE.mid", help="grade a recorded take instead of listening")
    parser.add_argument("--real-time", action="store_true", help="with --take: as slowly as it was played")
    parser.add_argument("--json", action="store_true", help="one JSON document at the end; lines go to standard error")


def run(options: argparse.Namespace) -> int:
    """Grade the take, or drill."""
    _check(options)
    drill = chosen(options.drill)
    if options.take is not None:
        return _take(drill, options)
    key = None if options.mode and options.port is None else port_key(options.port)
    for name in ("json", "keep_take"):
        if key is None and getattr(options, name):
            raise wrong("nothing is heard with keys alone", key=_spelt(name), hint="name a port, or grade a take")
    return _practise(drill, key, options)


def _check(options: argparse.Namespace) -> None:
    """Raise ChangeoverError where two options contradict each other."""
    given = {name for name, value in vars(options).items() if value is not None and value is not False}
    for one, other in _APART:
        if {one, other} <= given:
            raise wrong(f"not together with {_spelt(other)}", key=_spelt(one), hint="give one of them")
    if options.real_time and options.take is None:
        raise wrong("only with --take", key="--real-time", hint="a port is heard in real time anyway")


def _spelt(name: str) -> str:
    """Return an option as it is typed."""
    return f"--{name.replace('_', '-')}"


def _practise(drill: Drill, key: str | None, options: argparse.Namespace) -> int:
    """Practise in line mode, with the guitar on the port `key` or keys alone; JSON tells of all that was heard."""
    from trainer.ui.lines.practice import LinePractice
    from trainer.ui.services import open_services

    wish = wished(key, options.keep_take)
    services = open_services()
    try:
        for problem in services.problems:
            sys.stderr.write(f"changeover: {problem}\n")
        if key is not None and key not in services.guitars:
            sys.stderr.write(_NOT_SET_UP)
        console = Console(sys.stderr if options.json else sys.stdout)
        practice = LinePractice(services, drill, _mode(key, options), options.tempo, console, wish)
        practice.run(sys.stdin)
        if options.json:
            print_json(document(drill, practice.guitar.changes, practice.guitar.origin))
    finally:
        services.close()
        # At the end it may have become more than was told on the way.
        if services.log_problem is not None:
            sys.stderr.write(f"changeover: {services.log_problem}\n")
    return 0


def _mode(key: str | None, options: argparse.Namespace) -> Mode | None:
    """Return the way to practise that is asked for: what can be heard is, to the beat where a tempo is given."""
    if options.mode:
        return Mode(options.mode)
    if key is None:
        return None
    return Mode.HEARD if options.tempo is None else Mode.PACED


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
        _tell_beats(of_changes(drill, found))
    return 0 if any(change.landed for change in found) else _EXIT_NOTHING


def _tell_beats(dues: tuple[Due, ...]) -> None:
    """Print how changes fell on their beats and where they break; nothing where no beat is known."""
    found = breaks((dues,))
    for line_ in (*by_beat(dues).lines, *(() if found is None else (found.words,))):
        sys.stdout.write(f"{line_}\n")


def _told(
    drill: Drill, heard: Iterable[tuple[float, tuple[HeardChange, ...]]], options: argparse.Namespace
) -> Iterator[HeardChange]:
    """Yield every change that is done, once it has been told."""
    try:
        for change in (change for _, changes in heard for change in changes if change.done):
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
