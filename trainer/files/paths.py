"""Where files live. Functions only: nothing is looked up or made when this module is imported.

One environment variable, CHANGEOVER_HOME, moves all of a user's files into one folder (for tests, and for a shared
machine where each player has a folder); without it they lie where the system keeps such files.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Literal

HOME = "CHANGEOVER_HOME"
"""The environment variable that moves all user files."""


def config_dir() -> Path:
    """Return the folder of settings, themes and drills that a user writes."""
    return _user_dir("config")


def data_dir() -> Path:
    """Return the folder of what the program writes."""
    home = _home()
    return _user_dir("data") if home is None else home / "data"


def settings_file() -> Path:
    """Return the settings file."""
    return config_dir() / "settings.toml"


def guitars_file() -> Path:
    """Return the file of what the setup screen learned of each guitar."""
    return config_dir() / "guitars.toml"


def drills_dir() -> Path:
    """Return the folder of the user's own drills."""
    return config_dir() / "drills"


def themes_dir() -> Path:
    """Return the folder of the user's own themes."""
    return config_dir() / "themes"


def classes_dir() -> Path:
    """Return the folder of class files."""
    return config_dir() / "classes"


def log_file() -> Path:
    """Return the practice log."""
    return data_dir() / "practice.sqlite3"


def kept_file() -> Path:
    """Return the file of what is kept from sitting to sitting."""
    return data_dir() / "kept.toml"


def seat_dir(seat: int | str) -> Path:
    """Return the folder of all files of a seat, which is its player's home: by its number, or by its id in a class."""
    return data_dir() / "seats" / str(seat)


def seat_log(seat: str) -> Path:
    """Return the practice log of a class's seat, by its id: where `log_file` is with the seat's folder as home."""
    return seat_dir(seat) / "data" / "practice.sqlite3"


def takes_dir() -> Path:
    """Return the folder of kept takes."""
    return (_home() or data_dir()) / "takes"


def shipped(kind: Literal["drills", "themes"]) -> Path:
    """Return the folder of the drills or themes that ship: inside the installed package, or in the checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "shipped" / kind
    return installed if installed.is_dir() else package.parent / kind


def _home() -> Path | None:
    # Not Path.expanduser, which raises where there is no such user; made absolute, for folders may change while we run.
    given = os.environ.get(HOME)
    return Path(os.path.expanduser(given)).absolute() if given else None


def _user_dir(kind: Literal["config", "data"]) -> Path:
    home = _home()
    if home is not None:
        return home
    # Imported here: with CHANGEOVER_HOME set nobody pays for it.
    from platformdirs import user_config_path, user_data_path

    find = user_config_path if kind == "config" else user_data_path
    return find("changeover", appauthor=False)
