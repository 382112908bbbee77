"""`changeover class results`: what landed, what is slow, what to practise; on the screen, or as pages in a folder."""

from __future__ import annotations

import argparse
import csv
import io
import sys
from collections.abc import Iterator
from dataclasses import asdict
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trainer.commands.class_.told import add_output, may_write
from trainer.errors import plain
from trainer.files import classes
from trainer.files.atomic import write_text
from trainer.files.cells import guarded
from trainer.hand.reach import HANDS
from trainer.sheets import lesson as page

if TYPE_CHECKING:
    from trainer.commands.class_.gathering import Seated
    from trainer.practice.roster import Class
    from trainer.sheets.lesson import Lesson, Part, Timed, Tried

_HEADS = (
    *("number", "name", "rounds", "rounds_had"),
    *("change", "asked", "had", "tempo", "late_ms", "came_up", "stayed"),
    *("usual_s", "best_s", "timed"),
)


def add_results(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `results`."""
    add_output(parser, "FOLDER", "write class.html, class.csv, and a practice sheet for each seat there")
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach the sheets judge by")
    parser.add_argument("--left-handed", action="store_true", help="mirror the diagrams on the sheets")


def do_results(options: argparse.Namespace) -> int:
    """Tell what came of a class's playing."""
    from trainer.commands.class_.gathering import gathered

    _, group = classes.find(options.name)
    found, lesson = gathered(group, date.today())
    files: list[Path] = []
    if options.output is not None:
        pages = dict(_pages(options, group, found, lesson))
        may_write(options, *pages)
        for path, text in pages.items():
            write_text(path, text)
        files = list(pages)
    if options.json:
        from trainer.commands.output import print_json

        print_json(_document(group, lesson, files))
    elif files:
        sheets = "a sheet for each seat" if len(files) > 2 else "no sheets yet: nothing was played"
        sys.stdout.write(f"Written to {plain(str(options.output))}: class.html, class.csv, {sheets}.\n")
    else:
        _print(lesson)
    return 0


def _pages(
    options: argparse.Namespace, group: Class, found: list[Seated], lesson: Lesson
) -> Iterator[tuple[Path, str]]:
    """Yield each file to be written, with its text. Their names are numbers, not people."""
    from trainer.commands.class_.gathering import sheet_of
    from trainer.files.library import titled

    # A class has mostly played the same few drills, and finding one looks through all that there are.
    found_once = cache(titled)
    folder: Path = options.output
    yield folder / "class.html", page.html(lesson)
    yield folder / "class.csv", _csv(group, lesson)
    for seat, part in zip(found, lesson.seats, strict=True):
        sheet = sheet_of(seat, found, part, HANDS[options.hand], found_once, left_handed=options.left_handed)
        if sheet is not None:
            yield folder / f"sheet-{seat.seat.number:02}.html", sheet


def _csv(group: Class, lesson: Lesson) -> str:
    """Return the results as CSV: a row for each change of each seat, one for a seat that has none."""
    made = io.StringIO()
    lines = csv.writer(made, lineterminator="\n")
    lines.writerow(_HEADS)
    for seat, part in zip(group.seats, lesson.seats, strict=True):
        head = (seat.number, plain(guarded(seat.name or "")), part.rounds, part.had)
        rows = [*map(_tried_cells, part.tried), *map(_timed_cells, part.slowest)]
        lines.writerows((*head, plain(guarded(row[0])), *row[1:]) for row in rows or [("",) * 10])
    return made.getvalue()


def _tried_cells(one: Tried) -> tuple[str, ...]:
    late = "" if one.late_ms is None else str(round(one.late_ms))
    came_up, stayed = (str(count) if one.came_up + one.stayed else "" for count in (one.came_up, one.stayed))
    return (one.name, str(one.asked), str(one.had), page.tempo(one.tempo), late, came_up, stayed, "", "", "")


def _timed_cells(one: Timed) -> tuple[str, ...]:
    times = (page.seconds(one.median_ms), page.seconds(one.best_ms))
    return (one.name, *[""] * 6, *times, plain(guarded(one.how)))


def _document(group: Class, lesson: Lesson, files: list[Path]) -> dict[str, Any]:
    seats = [
        {"number": seat.number, "name": None if seat.name is None else plain(seat.name)} | _part(part)
        for seat, part in zip(group.seats, lesson.seats, strict=True)
    ]
    return {
        "name": plain(lesson.name),
        "span": lesson.span,
        "class": _part(lesson.whole),
        "seats": seats,
        "files": [plain(str(path)) for path in files],
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "rounds": part.rounds,
        "had": part.had,
        "tried": [asdict(one) | {"name": plain(one.name)} for one in part.tried],
        "slowest": [asdict(one) | {"name": plain(one.name), "how": plain(one.how)} for one in part.slowest],
        "practise": [{"change": plain(what), "why": plain(why)} for what, why in part.practise],
    }


def _print(lesson: Lesson) -> None:
    from trainer.commands.output import console, table

    screen = console()
    screen.print(plain(f"{lesson.name}: {lesson.span or 'nothing played yet'}"))
    rows = [
        (
            plain(part.title),
            str(part.rounds),
            str(part.had),
            plain(f"{part.practise[0][0]}: {part.practise[0][1]}" if part.practise else ""),
        )
        for part in lesson.seats
    ]
    screen.print(table(("seat", "rounds", "had", "to practise first"), rows, right=("rounds", "had")), soft_wrap=False)
    for one in lesson.whole.tried:
        fastest = "" if one.tempo is None else f", up to {one.tempo:g} beats a minute"
        heard = f", {one.heard}" if one.heard else ""
        screen.print(plain(f"{one.name}: had {one.had} of {one.asked} times{fastest}{heard}"))
    for slow in lesson.whole.slowest:
        many = f", {slow.seats} seats" if slow.seats > 1 else ""
        screen.print(plain(f"{slow.name}: {page.seconds(slow.median_ms)} s, {slow.how}{many}"))
    for what, why in lesson.whole.practise:
        screen.print(plain(f"To practise: {what}: {why}"))
