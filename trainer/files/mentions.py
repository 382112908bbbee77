"""Where among the user's files something is mentioned: a name that is to be forgotten, an id."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path

from trainer.files import paths

Mentions = Callable[[str], bool]
"""Tells whether a text mentions what is looked for."""


def mentions_of(*words: str) -> Mentions:
    """Return what tells whether a text holds one of `words` as a word of its own, however it is spelt in capitals."""
    return _found(rf"(?<!\w)(?:{_any(words)})(?!\w)")


def parts_of(*words: str) -> Mentions:
    """Return what tells whether a text holds one of `words` anywhere: a database sets texts side by side."""
    return _found(_any(words))


def _any(words: tuple[str, ...]) -> str:
    # Nothing to look for is found nowhere: an empty pattern would be found in every text.
    return "|".join(re.escape(word) for word in words) or r"(?!)"


def _found(wanted: str) -> Mentions:
    pattern = re.compile(wanted, re.IGNORECASE)
    return lambda text: pattern.search(text) is not None


def files() -> Iterator[Path]:
    """Yield every regular file of the user's, drafts that a crash has left among them."""
    known: set[Path] = set()
    for top in (paths.config_dir(), paths.data_dir(), paths.takes_dir()):
        for folder, _, names in os.walk(top):
            for name in names:
                path = Path(folder, name)
                if path not in known and path.is_file() and not path.is_symlink():
                    known.add(path)
                    yield path


def in_file(path: Path, mentions: Mentions) -> bool:
    """Tell whether a file mentions it, in its name or anywhere in its bytes; one that cannot be read does not."""
    try:
        return mentions(path.name) or mentions(path.read_bytes().decode("utf-8", "replace"))
    except OSError:
        return False
