"""Themes: what each colour of the screen stands for, read from files and checked before anything is painted.

A theme is data; nothing here knows how a screen is painted. Its colours are either all of its own (`#rrggbb`) or all
the terminal's (`ansi_red`): how well one reads on another can be computed only where all are known.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from trainer.errors import Problem, grave
from trainer.files import paths
from trainer.files.atomic import refused
from trainer.files.colour import COLOUR, contrast, is_terminal, luminance
from trainer.files.kinds import FLAG, parsed, text
from trainer.files.toml import Document, Table, take_format

FORMAT = 1
"""Number of the theme format this program reads."""

ROLES: Mapping[str, str] = MappingProxyType(
    {
        "text": "what is read",
        "dim": "what is read last: strings, frets, hints",
        "background": "the ground of the screen",
        "panel": "the ground of what stands apart from it: bars and boxes",
        "accent": "what is chosen or to be pressed, and the hand on the neck",
        "kept": "a finger that stays down",
        "guide": "a finger that slides along its string",
        "cross": "a finger that goes to another string",
        "place": "a finger that comes on",
        "lift": "a finger that goes off",
        "barre": "one finger across strings",
        "beat": "the beat now",
        "good": "landed, clean, heard",
        "warn": "mind this: missed, missing, late",
        "error": "wrong",
    }
)
"""Every role a colour has and what it stands for; a theme names a colour for each."""

GROUNDS = ("background", "panel")
"""Roles that others are painted on."""
INKS = tuple(role for role in ROLES if role not in GROUNDS)
"""Roles that are painted on the grounds; text is among what each of them paints."""
LEAST_CONTRAST = 4.5
"""The least contrast of text on its ground (WCAG 2.2, 1.4.3, level AA)."""

_ITS_OWN = ("ansi-", "textual-")
"""Names that begin so are those of the toolkit's own themes, which stand in where there is no colour."""


@dataclass(frozen=True, slots=True)
class Theme:
    """A colour for each role."""

    name: str
    """What settings call it."""
    about: str
    """One line for the person who chooses."""
    dark: bool
    """True: light text on a dark ground."""
    colours: Mapping[str, str]
    """For each of `ROLES` its colour: `#rrggbb`, or the name of one of the terminal's own."""

    @property
    def terminal(self) -> bool:
        """True where the colours are the terminal's own."""
        return is_terminal(self.colours["background"])

    def contrast(self, role: str) -> float | None:
        """Return the contrast of `role` on the ground it reads worse on; None where the colours are the terminal's."""
        if self.terminal:
            return None
        return min(contrast(self.colours[role], self.colours[ground]) for ground in GROUNDS)

    @property
    def worst(self) -> tuple[str, str, float] | None:
        """The role that reads worst of all, the ground it does so on, and their contrast; None as for `contrast`."""
        if self.terminal:
            return None
        pairs = ((role, ground) for role in INKS for ground in GROUNDS)
        told = ((*pair, contrast(*(self.colours[role] for role in pair))) for pair in pairs)
        return min(told, key=lambda one: one[2])


def _name(written: str) -> str:
    if not re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", written):
        raise ValueError("small letters and digits, with '-' between words")
    if written.startswith(_ITS_OWN):
        raise ValueError(f"names that begin with {' or '.join(_ITS_OWN)} are taken")
    return written


_NAME = parsed("a theme's name", _name, 40)
_ABOUT = text(100)


def load_all(folders: Sequence[Path] | None = None) -> tuple[dict[str, Theme], tuple[Problem, ...]]:
    """Return the themes in `folders` by name and what kept others out; None: those that ship, then the user's own.

    The first theme is the one to begin with. A later folder's theme goes in the place of an earlier one's of the same
    name, so that a theme that ships can be changed; of two in one folder the first file counts. Warnings about themes
    that can be used are left to `load`.
    """
    found: dict[str, Theme] = {}
    problems: list[Problem] = []
    for folder in (paths.shipped("themes"), paths.themes_dir()) if folders is None else folders:
        here: dict[str, Path] = {}
        for file in _files(folder, problems):
            theme, told = load(file)
            problems += grave(told)
            if theme is not None and theme.name in here:
                what = f"'{theme.name}' is the name of {here[theme.name].name} too"
                problems.append(Problem(what, str(file), key="name", hint="choose another name"))
            elif theme is not None:
                here[theme.name] = file
                found[theme.name] = theme
    return found, tuple(problems)


def load(path: Path) -> tuple[Theme | None, tuple[Problem, ...]]:
    """Return the theme in the file at `path` and every problem of the file; None where one is more than a warning.

    Warnings say what is hard to read, and which keys mean nothing.
    """
    document, unread = Document.load(path)
    if document is None:
        return None, tuple(unread)
    if not take_format(document.top, FORMAT):
        return None, grave(document.finish())
    theme = _theme(document.top)
    problems = tuple(document.finish())
    return (None if grave(problems) else theme), problems


def _theme(top: Table) -> Theme:
    """Return the theme, which is whole only where nothing of it was wrong."""
    name = top.need("name", _NAME)
    about = top.need("about", _ABOUT)
    dark = top.need("dark", FLAG)
    table = top.table("colours")
    colours = {role: table.need(role, COLOUR, f"it is {meaning}") or "" for role, meaning in ROLES.items()}
    theme = Theme(name or "", about or "", bool(dark), MappingProxyType(colours))
    if all(colours.values()) and _of_one_sort(theme, table) and not theme.terminal:
        _warn_of_contrast(theme, table)
        if dark is not None and dark != (luminance(colours["background"]) < luminance(colours["text"])):
            top.warn(
                "dark", f"is {str(dark).lower()}, and the text is {'darker' if dark else 'lighter'} than its ground"
            )
    return theme


def _of_one_sort(theme: Theme, table: Table) -> bool:
    """Tell whether the colours are all the terminal's or all of the theme's own; note each that is not."""
    odd = [role for role, colour in theme.colours.items() if is_terminal(colour) is not theme.terminal]
    ground, other = ("the terminal's own", "a #rrggbb colour") if theme.terminal else ("#rrggbb", "the terminal's own")
    for role in odd:
        table.wrong(role, f"is {other}, and the background is {ground}", "take all colours of one sort")
    return not odd


def _warn_of_contrast(theme: Theme, table: Table) -> None:
    for role in INKS:
        for ground in GROUNDS:
            ratio = contrast(theme.colours[role], theme.colours[ground])
            if ratio < LEAST_CONTRAST:
                told = f"reads badly on the {ground}: contrast {cut(ratio):g}"
                table.warn(role, told, f"{LEAST_CONTRAST} is enough")


def cut(ratio: float) -> float:
    """Return a contrast as it is told: cut to hundredths, for 4.496 rounded would read as enough."""
    return int(ratio * 100) / 100


def _files(folder: Path, problems: list[Problem]) -> list[Path]:
    """Return the TOML files of `folder` by name; none where it is not there."""
    try:
        with os.scandir(folder) as entries:
            return sorted(Path(entry) for entry in entries if entry.name.endswith(".toml"))
    except FileNotFoundError:
        return []
    except (OSError, ValueError) as error:
        problems += refused("read", folder, error).problems
        return []
