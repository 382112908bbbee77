"""What every screen works with: settings, drills, the log and the clocks. Handed to each screen by the app."""

from __future__ import annotations

import random
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from trainer.errors import Problem
from trainer.files import settings as settings_file
from trainer.files.settings import Settings
from trainer.log.writer import Log

if TYPE_CHECKING:
    from pathlib import Path


@dataclass
class Services:
    """Shared by all screens of one running app."""

    settings: Settings
    """As they stand; change them through `change`."""
    settings_path: Path
    """The file they are kept in."""
    log: Log
    """The practice log; keeps nothing where it cannot, and says why."""
    problems: list[Problem] = field(default_factory=list)
    """What was found wrong at the start, for the home screen to show."""
    clock: Callable[[], float] = time.monotonic
    """Monotonic seconds."""
    wall: Callable[[], float] = time.time
    """Seconds since 1970-01-01 UTC."""
    new_id: Callable[[], str] = field(default=lambda: str(uuid.uuid4()))
    """A new unique id."""
    wait: Callable[[float, float], float] = random.uniform
    """An unpredictable wait between two bounds, in seconds."""

    def change(self, **changes: object) -> None:
        """Change settings at once and in the file. Raises ChangeoverError where the file cannot be written."""
        self.settings = replace(self.settings, **changes)  # type: ignore[arg-type]  # the settings table checks them
        settings_file.save(self.settings_path, changes)
