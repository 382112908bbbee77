"""`changeover where`: where each of the user's files lives and whether it is there."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from trainer.commands.output import print_json
from trainer.errors import plain
from trainer.files import paths


@dataclass(frozen=True, slots=True)
class Place:
    """A file or folder of the user's, or one that comes with the program."""

    name: str
    """Its key in the JSON."""
    label: str
    """What to call it."""
    find: Callable[[], Path]
    """Returns its path."""


PLACES = (
    Place("settings", "settings", paths.settings_file),
    Place("guitars", "your guitars", paths.guitars_file),
    Place("drills", "your drills", paths.drills_dir),
    Place("themes", "your themes", paths.themes_dir),
    Place("classes", "your classes", paths.classes_dir),
    Place("log", "practice log", paths.log_file),
    Place("kept", "plans under way", paths.kept_file),
    Place("takes", "kept takes", paths.takes_dir),
    Place("shipped_drills", "drills that ship", partial(paths.shipped, "drills")),
    Place("shipped_themes", "themes that ship", partial(paths.shipped, "themes")),
)
"""Every place, in the order they are printed."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Print the places."""
    found = [(place, place.find()) for place in PLACES]
    if options.json:
        print_json({place.name: {"path": _text(path), "exists": os.path.exists(path)} for place, path in found})
        return 0
    width = max(len(place.label) for place in PLACES)
    for place, path in found:
        absent = "" if os.path.exists(path) else "  (not there yet)"
        sys.stdout.write(f"{place.label:<{width}}  {plain(str(path))}{absent}\n")
    return 0


def _text(path: Path) -> str:
    """Return the path as text that can be encoded; bytes of a name that are no UTF-8 become question marks."""
    return os.fsencode(path).decode(errors="replace").replace("\ufffd", "?")
