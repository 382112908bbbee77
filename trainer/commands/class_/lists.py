"""A class's seats in from a CSV file, and out as one."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from trainer.commands.class_.roster import new_id
from trainer.commands.class_.told import add_output, class_document, done, may_write, seats_of
from trainer.files import class_lists, classes
from trainer.files.atomic import write_text
from trainer.practice.roster import Class


def add_import(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `import`."""
    columns = ", ".join(class_lists.COLUMNS)
    parser.add_argument("file", type=Path, metavar="FILE", help=f"its first line names the columns, of {columns}")


def do_import(options: argparse.Namespace) -> int:
    """Take what a list says; seats that it does not mention stay. A class that is not there yet is begun."""
    rows = class_lists.load(options.file)
    found = classes.seek(options.name)
    before = Class(options.name) if found is None else found[1]
    group = class_lists.joined(before, rows, new_id, str(options.file))
    if found is None:
        path = classes.create(group)
        said = f"'{group.name}' begun with {seats_of(len(group.seats))}: {path}"
    else:
        path = found[0]
        classes.save(path, group)
        new = len(group.seats) - len(before.seats)
        said = f"'{group.name}' has {seats_of(len(group.seats))} now, {new} of them new."
    return done(options, path, group, said)


def add_export(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `export`."""
    add_output(parser, "FILE", "where to write it (else to standard output)")


def do_export(options: argparse.Namespace) -> int:
    """Write a class's seats as CSV."""
    path, group = classes.find(options.name)
    output: Path | None = options.output
    if output is not None:
        may_write(options, output)
        write_text(output, class_lists.written(group))
        return done(options, path, group, f"{output} written.")
    if options.json:
        from trainer.commands.output import print_json

        print_json(class_document(path, group))
    else:
        sys.stdout.write(class_lists.written(group))
    return 0
