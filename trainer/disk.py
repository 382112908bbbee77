"""What is asked of the disk beyond what Python's files do."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path


def settle(folder: Path) -> None:
    """Ask the disk to keep the folder's entries, where the system knows how; the files themselves are safe without."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
