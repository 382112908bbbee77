"""From our themes to Textual's: every colour of the app is one of a theme's roles."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from textual.theme import Theme as TextualTheme

if TYPE_CHECKING:
    from textual.app import App

    from trainer.files.themes import Theme

PLAIN = "ansi-dark"
"""Textual's own theme of the terminal's colours: with it, and with it alone, NO_COLOR sends no colour at all."""

_FALLBACKS = MappingProxyType(
    {
        "kept": "success",
        "guide": "accent",
        "cross": "secondary",
        "place": "primary",
        "lift": "foreground",
        "barre": "warning",
        "beat": "accent",
        "dim": "foreground",
        "good": "success",
        "warn": "warning",
    }
)
"""For each of our roles the one of Textual's that stands in where a theme does not say."""

_TAKEN = MappingProxyType(
    {
        "ansi-background": "background",
        "ansi-foreground": "text",
        "text-muted": "dim",
        "text-disabled": "dim",
        "border": "accent",
        "border-blurred": "dim",
        "block-cursor-foreground": "background",
        "block-cursor-background": "accent",
        "block-cursor-blurred-foreground": "background",
        "block-cursor-blurred-background": "accent",
        "block-hover-background": "panel",
        "input-cursor-foreground": "background",
        "input-cursor-background": "text",
        "input-selection-foreground": "background",
        "input-selection-background": "accent",
        "scrollbar": "dim",
        "scrollbar-hover": "accent",
        "scrollbar-active": "accent",
        "scrollbar-background": "panel",
        "scrollbar-background-hover": "panel",
        "scrollbar-background-active": "panel",
        "scrollbar-corner-color": "panel",
    }
)
"""Variables of Textual's own widgets, and the role each takes."""


def register(app: App[None], themes: Mapping[str, Theme]) -> None:
    """Make every theme known to the app."""
    for theme in themes.values():
        app.register_theme(to_textual(theme))


def known(name: str, themes: Mapping[str, Theme]) -> str:
    """Return `name` where there is such a theme, else the first one there is."""
    return name if name in themes else next(iter(themes), PLAIN)


def to_textual(theme: Theme) -> TextualTheme:
    """Return `theme` as Textual takes it: what our styles and its own widgets use is all of our roles."""
    role = theme.colours
    taken = {variable: role[name] for variable, name in _TAKEN.items()}
    return TextualTheme(
        name=theme.name,
        primary=role["accent"],
        secondary=role["cross"],
        warning=role["warn"],
        error=role["error"],
        success=role["good"],
        accent=role["accent"],
        foreground=role["text"],
        background=role["background"],
        surface=role["background"],
        panel=role["panel"],
        boost=role["panel"],
        dark=theme.dark,
        ansi=theme.terminal,
        variables={**role, **taken, "block-cursor-text-style": "bold"},
    )


def fallbacks(theme: TextualTheme) -> dict[str, str]:
    """Return a colour for each of our roles, taken from `theme`'s own colours."""
    colours = theme.to_color_system().generate()
    return {role: colours[own] for role, own in _FALLBACKS.items()}
