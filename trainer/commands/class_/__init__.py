"""`changeover class`: who sits where, lists in and out, what came of the rounds, and forgetting for good."""

from __future__ import annotations

import argparse
import importlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do with a class: its module here has `add_NAME(parser)` and `do_NAME(options) -> int`."""

    name: str
    """The word typed after `changeover class`."""
    module: str
    """Where it lies."""
    does: str
    """One line for the help."""


ACTIONS = (
    Action("new", "roster", "begin a class"),
    Action("show", "roster", "the seats of a class"),
    Action("add", "roster", "one more seat"),
    Action("rename", "roster", "who sits on a seat; without a name: nobody's"),
    Action("remove", "roster", "take a seat out of the class; its log stays until it is forgotten"),
    Action("import", "lists", "seats and names from a CSV file"),
    Action("export", "lists", "seats and names as CSV"),
    Action("results", "results", "what landed, what is slow, what to practise; with -o as pages, with a sheet a seat"),
    Action("take", "taking", "the whole log of a seat as one file, to take home"),
    Action("forget", "forgetting", "delete a seat, or a class, with all that it played"),
)
"""Every action, in the order the help shows them."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("--json", action="store_true", help="one JSON document")
    actions = parser.add_subparsers(dest="action", metavar="WHAT", title="what to do (without: the classes there are)")
    for action in ACTIONS:
        said = f"{action.does[0].upper()}{action.does[1:]}."
        sub = actions.add_parser(action.name, help=action.does, description=said)
        sub.add_argument("name", metavar="NAME", help="the class")
        getattr(_module(action), f"add_{action.name}")(sub)
        # Without a default, for one there would undo a --json that stood before the action.
        sub.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Do what was asked."""
    found = next((action for action in ACTIONS if action.name == options.action), None)
    if found is None:
        from trainer.commands.class_.roster import list_all

        return list_all(options)
    return int(getattr(_module(found), f"do_{found.name}")(options))


def _module(action: Action) -> object:
    return importlib.import_module(f"trainer.commands.class_.{action.module}")
