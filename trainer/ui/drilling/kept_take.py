"""Keeps a session as a take while it is played; a disk that fails ends the keeping, not the playing."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from trainer.errors import Problem
from trainer.files import takes
from trainer.files.atomic import refused
from trainer.listen.entries import Entry, Message
from trainer.listen.take import TakeWriter
from trainer.practice.wiring import Wiring

NOTHING = "Nothing was played: no take is kept."
"""What is said of a take that nothing was played in."""


class KeptTake:
    """A take that grows."""

    def __init__(self, path: Path | None, wiring: Wiring, drill: str, began: float) -> None:
        """Begin a new file at `path`, or in the folder of takes, named by the drill and when it `began` (UTC seconds).

        Raises ChangeoverError where something lies there already, or it cannot be written.
        """
        self.path = takes.fresh(drill, began) if path is None else path
        """Where it lies."""
        self.problem: Problem | None = None
        """Why it is kept no further; None as long as it is."""
        self.played = False
        """True once anything was played in it."""
        self._file = takes.create(self.path)
        try:
            self._writer = TakeWriter(self._file, wiring, drill)
        except OSError as error:
            self._file.close()
            raise refused("written", self.path, error) from error

    def keep(self, entry: Entry) -> None:
        """Write down what an ear took in."""
        if self.problem is None:
            try:
                self._writer.keep(entry)
            except OSError as error:
                (self.problem,) = refused("written", self.path, error).problems
            self.played = self.played or isinstance(entry, Message)

    def end(self) -> str:
        """Let go of the file, and return in one line what became of it; one in which nothing was played is removed."""
        with contextlib.suppress(OSError):
            os.fsync(self._file.fileno())
        self._file.close()
        if not self.played:
            with contextlib.suppress(OSError):
                self.path.unlink()
            return NOTHING
        if self.problem is not None:
            return f"The take is kept up to where the file could not be written: {self.problem}"
        return f"Take kept: {self.path}"
