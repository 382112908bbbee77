"""Keeping what was made on a screen as a drill of the player's own, and the sentence on it."""

from __future__ import annotations

from trainer.errors import ChangeoverError
from trainer.files.own import keep
from trainer.practice.drill import Drill


def keep_and_tell(drill: Drill) -> str:
    """Keep `drill` among the player's own drills, and say where it lies or why it could not be kept."""
    try:
        return f"Kept among your drills as {keep(drill).name}."
    except ChangeoverError as error:
        return str(error.problems[0])
