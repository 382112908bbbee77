"""`changeover sheet`: a page for the stand."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from trainer.commands.drills import add_drill, chosen
from trainer.commands.output import FORCE_HINT, add_force
from trainer.commands.usual import usual_times
from trainer.errors import ChangeoverError, plain, wrong
from trainer.files.atomic import check_free, write_text
from trainer.hand.reach import HANDS
from trainer.practice.drill import Drill
from trainer.sheets.content import content
from trainer.sheets.page import html
from trainer.sheets.plaintext import txt
from trainer.sheets.poster import svg

WRITERS: Mapping[str, Callable[..., str]] = MappingProxyType({".html": html, ".svg": svg, ".txt": txt})
"""What writes a file with each ending."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="FILE", help="FILE.html, .svg or .txt")
    parser.add_argument("--left-handed", action="store_true", help="mirror the diagrams")
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach to judge by")
    add_force(parser)


def run(options: argparse.Namespace) -> int:
    """Write the page."""
    path: Path = options.output
    write = WRITERS.get(path.suffix.lower())
    if write is None:
        raise wrong(f"cannot write '{path.name}'", key="-o", hint=f"the name ends in {', '.join(WRITERS)}")
    if not options.force:
        check_free(path, key="-o", hint=FORCE_HINT)
    drill = chosen(options.drill)
    page = content(drill, HANDS[options.hand], _times(drill))
    write_text(path, write(page, left_handed=options.left_handed))
    sys.stdout.write(f"{plain(str(path))} written.\n")
    return 0


def _times(drill: Drill) -> Mapping[str, tuple[float, float]]:
    """Return the player's usual and best times by change, see `usual_times`.

    A page is wanted even where the log cannot be read, so that is told and no more.
    """
    from trainer.files.paths import log_file
    from trainer.log.history import reading

    try:
        with reading(log_file()) as history:
            return usual_times(history.summaries(drill=drill.title))
    except ChangeoverError as error:
        sys.stderr.write(f"changeover: {error.problems[0]}; the page comes without your times\n")
        return {}
