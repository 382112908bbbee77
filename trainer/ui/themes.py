"""From our themes to Textual's: every colour of the app is one of a theme's roles."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from textual.theme import Theme as TextualTheme

from trainer.files.themes import LEAST_CONTRAST, ROLES, Theme, cut

if TYPE_CHECKING:
    from textual.app import App

PLAIN = "ansi-plain"
"""Name of the theme without any colour; no theme in a file can have a name that begins so."""

_COLOURLESS = Theme(
    PLAIN, "no colour at all", dark=True, colours=MappingProxyType(dict.fromkeys(ROLES, "ansi_default"))
)

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
        "block-cursor-text-style": "bold",
        "block-cursor-blurred-foreground": "text",
        "block-cursor-blurred-background": "panel",
        "block-cursor-blurred-text-style": "underline",
        "block-hover-background": "panel",
        "input-cursor-foreground": "background",
        "input-cursor-background": "text",
        "input-cursor-text-style": "none",
        "input-selection-foreground": "background",
        "input-selection-background": "accent",
        "input-selection-text-style": "none",
        "scrollbar": "dim",
        "scrollbar-hover": "accent",
        "scrollbar-active": "accent",
        "scrollbar-background": "panel",
        "scrollbar-background-hover": "panel",
        "scrollbar-background-active": "panel",
        "scrollbar-corner-color": "panel",
    }
)
"""Variables of Textual's own widgets, and the role each takes or the style."""


_TAKEN_ON_A_TERMINAL = MappingProxyType(
    {
        # The terminal's ink on one of its colours may not be readable; a colour and the ground exchanged are as they
        # were. An option list leaves the exchange out, so what is chosen is underlined too.
        "block-cursor-foreground": "accent",
        "block-cursor-background": "background",
        "block-cursor-text-style": "bold reverse underline",
        # A selection takes the colours as they are.
        "input-selection-foreground": "ansi_black",
    }
)
"""What is otherwise where the colours are the terminal's own."""

_TAKEN_WITHOUT_COLOUR = MappingProxyType(
    {
        # With a terminal's colours Textual paints this cursor black on white, which exchanged is hidden on black.
        "input-cursor-text-style": "reverse",
        # Not exchanged too, else nobody could tell where the cursor is.
        "input-selection-text-style": "underline",
    }
)
"""What is otherwise where there is no colour at all."""


def register(app: App[None], themes: Mapping[str, Theme]) -> None:
    """Make every theme known to the app, and the one without colour."""
    for theme in (_COLOURLESS, *themes.values()):
        app.register_theme(to_textual(theme))


def known(name: str, themes: Mapping[str, Theme]) -> str:
    """Return `name` where there is such a theme, else the first one there is."""
    return name if name in themes else next(iter(themes), PLAIN)


def reads(theme: Theme) -> tuple[str, bool]:
    """Return how well `theme` reads, in words for the player who chooses it, and whether that is badly."""
    worst = theme.worst
    if worst is None:
        return f"{theme.about}; how well they read is your terminal's doing.", False
    role, ground, ratio = worst
    told = f"{role} on {ground} has contrast {cut(ratio):g}, {LEAST_CONTRAST:g} is enough (WCAG 2.2, AA)."
    if ratio < LEAST_CONTRAST:
        return f"It reads badly: {told}", True
    return f"{theme.about}. Worst to read: {told}", False


def to_textual(theme: Theme) -> TextualTheme:
    """Return `theme` as Textual takes it: what our styles and its own widgets use is all of our roles."""
    role = theme.colours
    taken = dict(_TAKEN)
    if theme.terminal:
        taken |= _TAKEN_ON_A_TERMINAL
    if theme is _COLOURLESS:
        taken |= _TAKEN_WITHOUT_COLOUR
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
        variables={**role, **{variable: role.get(value, value) for variable, value in taken.items()}},
    )
