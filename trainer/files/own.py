"""Drills that the program makes and the player keeps, each in a new file of the player's own."""

from __future__ import annotations

import os
from pathlib import Path

from trainer.errors import wrong
from trainer.files import paths
from trainer.files.drill_text import save
from trainer.files.library import SUFFIX
from trainer.files.names import file_name
from trainer.practice.drill import Drill

_MOST = 999
"""Drills of one name."""


def keep(drill: Drill) -> Path:
    """Write `drill` to a new file among the player's drills and return its path.

    It is named after the drill's title; no file that is there is written over, and no shipped drill hidden.
    Raises ChangeoverError where it cannot be written.
    """
    name = file_name(drill.title)
    for number in range(1, _MOST + 1):
        word = (name if number == 1 else f"{name}-{number}") + SUFFIX
        path = paths.drills_dir() / word
        if not os.path.lexists(path) and not os.path.lexists(paths.shipped("drills") / word):
            save(path, drill)
            return path
    raise wrong(f"{_MOST} drills have this name", file=str(paths.drills_dir() / name), hint="remove some of them")
