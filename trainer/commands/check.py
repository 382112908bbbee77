"""`changeover check`: every problem of drill, theme and settings files, with line and key.

What a file is shows from its own keys: `shapes` makes it a drill, `colours` a theme; else it is a drill where it has
a title, and otherwise settings.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType

from trainer.commands.output import print_json
from trainer.errors import ChangeoverError, Problem, plain
from trainer.files import drills, settings, themes
from trainer.files.toml import Document
from trainer.hand.reach import HANDS, Hand
from trainer.ui.commands import IDS

_KINDS = MappingProxyType({"shapes": "drill", "colours": "theme", "title": "drill"})
"""The key that shows what a file is, in the order in which they are looked for."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("files", nargs="+", metavar="FILE", type=Path, help="drill, theme and settings files")
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach to judge stretches by")
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Print what is wrong; 1 where anything is. Raises ChangeoverError where a file is not there."""
    missing = [path for path in options.files if not path.is_file()]
    if missing:
        hint = "give the paths of TOML files"
        raise ChangeoverError(*(Problem("there is no such file", file=str(path), hint=hint) for path in missing))
    found = [(path, *_checked(path, HANDS[options.hand])) for path in options.files]
    if options.json:
        print_json({"files": [_file(path, kind, problems) for path, kind, problems in found]})
    else:
        for path, kind, problems in found:
            for problem in problems:
                sys.stdout.write(f"{'warning: ' if problem.warning else ''}{problem}\n")
            if not problems:
                sys.stdout.write(f"{plain(str(path))}: a sound {kind} file\n")
    return 1 if any(problems for *_, problems in found) else 0


def _checked(path: Path, hand: Hand) -> tuple[str, tuple[Problem, ...]]:
    """Return what kind of file it is and its problems."""
    readers: dict[str, Callable[[], tuple[object, tuple[Problem, ...]]]] = {
        "drill": lambda: drills.load(path, hand),
        "theme": lambda: themes.load(path),
        "settings": lambda: settings.load(path, IDS),
    }
    document, problems = Document.load(path)
    if document is None:
        return "TOML", tuple(problems)
    kind = next((kind for key, kind in _KINDS.items() if key in document.values), "settings")
    return kind, readers[kind]()[1]


def _file(path: Path, kind: str, problems: tuple[Problem, ...]) -> dict[str, object]:
    return {
        "file": str(path),
        "kind": kind,
        "problems": [
            {
                "line": problem.line,
                "key": problem.key,
                "what": problem.what,
                "hint": problem.hint,
                "warning": problem.warning,
            }
            for problem in problems
        ],
    }
