"""Our themes as Textual takes them: every variable its styles ask for is there, and is one of our colours."""

from __future__ import annotations

import pytest
from textual.color import Color
from textual.theme import BUILTIN_THEMES

from trainer.files.themes import ROLES, load_all
from trainer.ui import themes

SHIPPED, _ = load_all()


@pytest.mark.parametrize("name", SHIPPED)
def test_every_role_is_a_variable(name: str) -> None:
    variables = themes.to_textual(SHIPPED[name]).variables
    assert {role: variables[role] for role in ROLES} == dict(SHIPPED[name].colours)


@pytest.mark.parametrize("name", SHIPPED)
def test_nothing_is_missing_that_a_theme_of_textual_has(name: str) -> None:
    own = themes.to_textual(SHIPPED[name])
    like = BUILTIN_THEMES["ansi-dark" if own.ansi else "textual-dark"]
    variables = own.to_color_system().generate() | own.variables
    assert set(like.to_color_system().generate() | like.variables) <= set(variables)


@pytest.mark.parametrize("name", SHIPPED)
def test_every_variable_that_is_a_colour_can_be_read(name: str) -> None:
    for value in themes.to_textual(SHIPPED[name]).variables.values():
        if value != "bold":
            Color.parse(value)


def test_a_theme_that_is_not_there_gives_way_to_the_first() -> None:
    first = next(iter(SHIPPED))
    assert themes.known("no-such-theme", SHIPPED) == first
    assert themes.known("white-wall", SHIPPED) == "white-wall"
    assert themes.known("anything", {}) == themes.PLAIN


def test_without_colours_textuals_own_plain_theme_has_a_colour_for_every_role() -> None:
    plain = BUILTIN_THEMES[themes.PLAIN]
    given = plain.to_color_system().generate() | themes.fallbacks(plain)
    assert set(ROLES) <= set(given)
