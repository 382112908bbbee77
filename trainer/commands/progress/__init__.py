"""`changeover progress`: how fast each change has become, drill by drill and week by week; as text, JSON or CSV."""

from __future__ import annotations

import argparse
import sys
from difflib import get_close_matches
from typing import TYPE_CHECKING

from trainer.errors import wrong
from trainer.log.history import reading
from trainer.practice.statistics import WINDOW

if TYPE_CHECKING:
    from trainer.log.history import History

_ROWS = 20
"""Rows of the table unless more are asked for."""
NOTHING_YET = "No change practised yet. Start 'changeover', drill one, and it will stand here.\n"


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "--by", choices=("change", "drill", "week"), default="change", help="what to tell of (%(default)s)"
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="one JSON document, attempts included")
    form.add_argument("--csv", action="store_true", help="one line for each attempt, week, or day of a drill")
    parser.add_argument("--drill", metavar="TITLE", help="only what was practised in the drill of this title")
    parser.add_argument(
        "--slowest", type=_count, metavar="N", help=f"only the N slowest changes (table: {_ROWS}, else all)"
    )
    parser.add_argument(
        "--limit",
        type=_count,
        metavar="N",
        help="the newest N attempts of each change (--json, --csv; 200), runs of each drill (100), or weeks (26)",
    )


def run(options: argparse.Namespace) -> int:
    """Print how practice has gone."""
    from trainer.files.paths import log_file

    with reading(log_file()) as history:
        _FORMS[options.by](history, options)
    return 0


def _by_change(history: History, options: argparse.Namespace) -> None:
    _check_title(history, options.drill)
    limit = options.limit or WINDOW
    if options.json:
        from trainer.commands.hand import hand_document, own_model
        from trainer.commands.output import print_json
        from trainer.commands.progress.document import change_document

        summaries = history.summaries(drill=options.drill, slowest=options.slowest)
        changes = [change_document(history, summary, limit) for summary in summaries]
        print_json({"changes": changes, "hand": hand_document(own_model(history))})
    elif options.csv:
        from trainer.commands.progress.lines import write_attempts

        write_attempts(history, history.summaries(drill=options.drill, slowest=options.slowest), limit)
    elif count := history.count(drill=options.drill):
        from trainer.commands.hand import hand_lines, own_model
        from trainer.commands.progress.table import print_table

        # All is read before anything is printed: a log may turn out to be damaged anywhere.
        hand = hand_lines(own_model(history)) if options.drill is None else []
        print_table(history, history.summaries(drill=options.drill, slowest=options.slowest or _ROWS), count)
        sys.stdout.writelines(f"{line}\n" for line in ["", *hand] if hand)
    else:
        sys.stdout.write(NOTHING_YET)


def _by_drill(history: History, options: argparse.Namespace) -> None:
    from trainer.commands.progress import drills

    _refuse(options, "slowest")
    _check_title(history, options.drill)
    found = [drill for drill in history.drills_played() if options.drill in {None, drill.title}]
    form = drills.print_json if options.json else drills.write_csv if options.csv else drills.print_text
    form(history, found, options.limit)


def _by_week(history: History, options: argparse.Namespace) -> None:
    from trainer.commands.progress import weeks

    _refuse(options, "slowest", "drill")
    form = weeks.print_json if options.json else weeks.write_csv if options.csv else weeks.print_text
    form(history, options.limit)


_FORMS = {"change": _by_change, "drill": _by_drill, "week": _by_week}


def _refuse(options: argparse.Namespace, *names: str) -> None:
    """Raise ChangeoverError where an option was given that says nothing here."""
    for name in names:
        if getattr(options, name) is not None:
            raise wrong(f"does not go with --by {options.by}", key=f"--{name}", hint="leave one of them out")


def _count(text: str) -> int:
    """Return a number from 1 up; argparse words the error."""
    number = int(text) if text.isascii() and text.isdigit() else 0
    if number < 1:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number from 1 up")
    return number


def _check_title(history: History, drill: str | None) -> None:
    """Raise ChangeoverError where no drill of this title is in the log; in an empty one none is looked for."""
    titles = history.drills() if drill is not None else []
    if titles and drill is not None and drill not in titles:
        near = get_close_matches(drill, titles, n=1, cutoff=0.0)
        raise wrong(f"no drill '{drill}' in the log", key="--drill", hint=f"the nearest title is '{near[0]}'")
