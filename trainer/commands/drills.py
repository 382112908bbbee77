"""From the words of a command line to a drill."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.commands.numbers import within
from trainer.practice.drill import Drill
from trainer.practice.tempo import FASTEST, SLOWEST
from trainer.scores.names import is_score

as_tempo = within(SLOWEST, FASTEST, "a tempo")
"""The type of an argument that is a tempo."""


def add_drill(parser: argparse.ArgumentParser, *, required: bool = True) -> None:
    """Add the argument DRILL: one drill, or two and more shapes; none where it is not required."""
    parser.add_argument(
        "drill",
        nargs="+" if required else "*",
        metavar="DRILL",
        help="a shipped drill's name, or the path of a drill, a MusicXML or a MIDI file; or two and more shapes by "
        "name (C F) or in text form",
    )


def chosen(words: list[str]) -> Drill:
    """Return the drill that `words` name. Raises ChangeoverError where there is none."""
    if len(words) == 1 and is_score(words[0]):
        from trainer.scores.importing import drill_from

        return drill_from(Path(words[0])).drill
    if len(words) == 1:
        from trainer.files.library import find

        return find(words[0])
    from trainer.practice.quick import from_shapes

    return from_shapes(words)
