"""`changeover check`: every problem of drill, theme, settings and guitars files, with line and key.

What a file is shows from where it lies, in a folder or under a name of the program's; elsewhere from its keys:
`shapes` makes it a drill, `colours` a theme, `guitars` one of guitars, else it is what most of its keys belong to, and
a drill where none says.

`--themes` tells how well each theme there is reads, those that ship too.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from types import MappingProxyType

from trainer.commands.output import console, print_json, table
from trainer.errors import ChangeoverError, Problem, plain, wrong
from trainer.files import paths
from trainer.files.library import library
from trainer.files.toml import Document
from trainer.hand.reach import HANDS, Hand

_TELLING = MappingProxyType({"shapes": "drill", "colours": "theme", "guitars": "guitars"})
"""Keys that show by themselves what a file is."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "files",
        nargs="*",
        metavar="FILE",
        help="drill, theme, settings and guitars files; without one, all of your own",
    )
    parser.add_argument("--themes", action="store_true", help="how well each theme reads, those that ship too")
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach to judge stretches by")
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Print what is wrong; 1 where anything is. Raises ChangeoverError where a file is not there."""
    if options.themes:
        return _contrasts(options)
    files = [Path(file) for file in options.files] or list(_own())
    if not (files or options.json):
        sys.stdout.write("You have no files of your own yet; 'changeover where' says where they go.\n")
    missing = [problem for file in files if (problem := _missing(file)) is not None]
    if missing:
        raise ChangeoverError(*missing)
    found = [(file, *checked(file, HANDS[options.hand])) for file in files]
    if options.json:
        print_json({"files": [_document(*result) for result in found]})
    else:
        sys.stdout.writelines(line + "\n" for result in found for line in _lines(*result))
    return 1 if any(problems for _, _, problems in found) else 0


def checked(file: Path, hand: Hand) -> tuple[str | None, tuple[Problem, ...]]:
    """Return what kind of file it is, None where that cannot be known, and its problems."""
    document, problems = Document.load(file)
    kind = _by_place(file)
    if document is None:
        return kind, tuple(problems)
    kind = kind or _by_keys(document.values)
    return kind, _READERS[kind](file, hand)


def _own() -> Iterator[Path]:
    """Yield the user's settings, guitars, drills and themes, as far as there are any."""
    yield from (file for file in (paths.settings_file(), paths.guitars_file()) if file.exists())
    yield from (entry.path for entry in library().entries if not entry.ships)
    yield from sorted(paths.themes_dir().glob("*.toml"))


def _drill(file: Path, hand: Hand) -> tuple[Problem, ...]:
    from trainer.files.drills import load

    return load(file, hand)[1]


def _theme(file: Path, _: Hand) -> tuple[Problem, ...]:
    from trainer.files.themes import load

    return load(file)[1]


def _settings(file: Path, _: Hand) -> tuple[Problem, ...]:
    from trainer.files.settings import load
    from trainer.ui.commands import IDS

    return load(file, IDS)[1]


def _guitars(file: Path, _: Hand) -> tuple[Problem, ...]:
    from trainer.files.guitars import load
    from trainer.ui.commands import IDS

    return load(file, IDS)[1]


_READERS = MappingProxyType({"drill": _drill, "theme": _theme, "settings": _settings, "guitars": _guitars})
"""What finds the problems of each kind of file."""


def _by_place(file: Path) -> str | None:
    places = (
        ("drill", paths.drills_dir()),
        ("drill", paths.shipped("drills")),
        ("theme", paths.themes_dir()),
        ("theme", paths.shipped("themes")),
        ("settings", paths.settings_file()),
        ("guitars", paths.guitars_file()),
    )
    real = Path(os.path.realpath(file))
    return next((kind for kind, place in places if real.is_relative_to(os.path.realpath(place))), None)


def _by_keys(values: dict[str, object]) -> str:
    from trainer.files.drills import KEYS
    from trainer.files.settings import SETTINGS

    told = next((kind for key, kind in _TELLING.items() if key in values), None)
    of_settings = values.keys() & {setting.key for setting in SETTINGS}
    of_drills = values.keys() & (KEYS - {"format"})
    return told or ("settings" if len(of_settings) > len(of_drills) else "drill")


def _missing(file: Path) -> Problem | None:
    """Return why there is no file to check, None where there is one."""
    try:
        if file.is_file():
            return None
        what = "is not a file" if file.exists() else "there is no such file"
    except (OSError, ValueError):
        what = "there is no such file"
    return Problem(what, file=str(file), hint="give the paths of TOML files")


def _contrasts(options: argparse.Namespace) -> int:
    """Print what reads worst in every theme; 1 where that is too little. Raises ChangeoverError with files."""
    from trainer.files.themes import LEAST_CONTRAST, cut, load_all

    if options.files:
        raise wrong("not together with files", key="--themes", hint="give one of them")
    worst = {name: theme.worst for name, theme in load_all()[0].items()}
    if options.json:
        keys = ("role", "ground", "contrast")
        rows = [{"theme": name, **dict(zip(keys, found or (None,) * 3, strict=True))} for name, found in worst.items()]
        print_json({"enough": LEAST_CONTRAST, "themes": rows})
    else:
        told = (
            (name, "-", "the terminal's own colours")
            if found is None
            else (name, f"{cut(found[2]):.2f}", f"{found[0]} on {found[1]}")
            for name, found in worst.items()
        )
        console().print(table(("theme", "contrast", "worst to read"), told, {"contrast"}))
        sys.stdout.write(f"{LEAST_CONTRAST:g} is enough for text (WCAG 2.2, 1.4.3, level AA).\n")
    return 1 if any(found is not None and found[2] < LEAST_CONTRAST for found in worst.values()) else 0


def _lines(file: Path, kind: str | None, problems: tuple[Problem, ...]) -> list[str]:
    found = [f"{'warning: ' if problem.warning else ''}{problem}" for problem in problems]
    return found or [f"{plain(str(file))}: a sound {kind} file"]


def _document(file: Path, kind: str | None, problems: tuple[Problem, ...]) -> dict[str, object]:
    return {
        "file": plain(str(file)),
        "kind": kind,
        "problems": [
            {
                "line": problem.line,
                "key": problem.key and plain(problem.key),
                "what": plain(problem.what),
                "hint": problem.hint and plain(problem.hint),
                "warning": problem.warning,
            }
            for problem in problems
        ],
    }
