"""Themes read and checked, and those that ship: readable, and told apart by every eye."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys
from pathlib import Path

import pytest

from trainer.files import paths
from trainer.files.colour import linear, rgb
from trainer.files.themes import GROUNDS, INKS, ROLES, Theme, load, load_all

SHIPPED = sorted(paths.shipped("themes").glob("*.toml"))
STRONG = ("far-row", "white-wall")
FINGERS = ("kept", "guide", "cross", "place", "lift", "barre")
RESULTS = ("good", "warn", "error")


def shipped(name: str) -> Theme:
    return load_all([paths.shipped("themes")])[0][name]


def source(name: str = "mine", **colours: str) -> str:
    """Return the text of a sound dark theme, with some colours changed or, where empty, left out."""
    own = {role: "#101010" if role in GROUNDS else "#e0e0e0" for role in ROLES} | colours
    lines = [f'{role} = "{colour}"' for role, colour in own.items() if colour]
    return "\n".join(["format = 1", f'name = "{name}"', 'about = "ours"', "dark = true", "", "[colours]", *lines, ""])


def write(folder: Path, text: str, file: str = "a.toml") -> Path:
    folder.mkdir(exist_ok=True)
    (folder / file).write_text(text, encoding="utf-8")
    return folder / file


def told(path: Path) -> list[str]:
    return [str(problem).removeprefix(str(path)) for problem in load(path)[1]]


# What ships.


def test_six_themes_ship_and_the_dark_one_comes_first() -> None:
    themes, problems = load_all([paths.shipped("themes")])
    assert problems == ()
    assert list(themes) == ["back-room", "far-row", "own-terminal", "told-apart", "white-wall", "window-seat"]
    assert [name for name, theme in themes.items() if theme.terminal] == ["own-terminal"]
    assert [name for name, theme in themes.items() if not theme.dark] == ["white-wall", "window-seat"]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_file_bears_its_themes_name_and_gives_no_warning(path: Path) -> None:
    theme, problems = load(path)
    assert problems == ()
    assert theme is not None
    assert theme.name == path.stem
    assert list(theme.colours) == list(ROLES)


@pytest.mark.parametrize(
    ("name", "least"),
    # WCAG 2.2: 1.4.3 asks 4.5:1 of text, 1.4.6 (enhanced) 7:1.
    [(path.stem, 7.0 if path.stem in STRONG else 4.5) for path in SHIPPED if path.stem != "own-terminal"],
)
def test_every_colour_that_may_be_text_can_be_read_on_every_ground(name: str, least: float) -> None:
    theme = shipped(name)
    ratios = {role: theme.contrast(role) or 0 for role in INKS}
    assert {role: ratio for role, ratio in ratios.items() if ratio < least} == {}


# Eyes without one kind of cones. Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of
# color vision deficiency" (2009), severity 1.0, applied to linear RGB; the values read in several public programs.
EYES = {
    "all cones": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
# sRGB to XYZ (IEC 61966-2-1) and its white point D65, both from memory.
XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
WHITE = (0.95047, 1.0, 1.08883)

Triple = tuple[float, float, float]


def times(matrix: tuple[Triple, Triple, Triple], vector: Triple) -> Triple:
    x, y, z = (sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix)
    return x, y, z


def lab(colour: str, eyes: str) -> Triple:
    """Return CIELAB (CIE 15) of `colour` as `eyes` see it."""
    red, green, blue = (linear(part) for part in rgb(colour))
    seen = times(EYES[eyes], (red, green, blue))
    light = times(XYZ, (min(max(seen[0], 0), 1), min(max(seen[1], 0), 1), min(max(seen[2], 0), 1)))
    x, y, z = (
        share ** (1 / 3) if share > 216 / 24389 else (24389 / 27 * share + 16) / 116
        for share in (part / white for part, white in zip(light, WHITE, strict=True))
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def nearest(theme: Theme, roles: tuple[str, ...], eyes: str) -> float:
    """Return the CIE 1976 distance of the two colours that are hardest to tell apart; about 2.3 is just noticed."""
    return min(
        math.dist(lab(theme.colours[one], eyes), lab(theme.colours[other], eyes))
        for one, other in itertools.combinations(roles, 2)
    )


def test_the_simulation_leaves_greys_alone_and_takes_hues_away() -> None:
    for eyes in EYES:
        assert lab("#ffffff", eyes) == pytest.approx((100, 0, 0), abs=0.1)
        assert lab("#777777", eyes) == pytest.approx(lab("#777777", "all cones"), abs=0.1)
    # Red and green of one lightness, the pair the first two cannot tell; the third can.
    red, green = "#c06060", "#708040"
    apart = {eyes: math.dist(lab(red, eyes), lab(green, eyes)) for eyes in EYES}
    assert apart["all cones"] > 40
    assert apart["tritanopia"] > 40
    assert apart["protanopia"] < apart["all cones"] / 2
    assert apart["deuteranopia"] < apart["all cones"] / 2


@pytest.mark.parametrize("eyes", EYES)
def test_colours_of_fingers_and_of_results_are_told_apart_by_every_eye(eyes: str) -> None:
    # Twenty is some nine times what is just noticed; how much more than that is asked is our choice.
    assert nearest(shipped("told-apart"), (*FINGERS, "accent"), eyes) >= 20
    assert nearest(shipped("told-apart"), RESULTS, eyes) >= 20


def test_a_theme_not_chosen_for_it_is_not_told_apart() -> None:
    assert nearest(shipped("back-room"), FINGERS, "all cones") >= 20
    assert nearest(shipped("back-room"), FINGERS, "deuteranopia") < 10


# Files of the player's own.


def test_a_sound_theme_is_read(tmp_path: Path) -> None:
    theme, problems = load(write(tmp_path, source(kept="#0F8")))
    assert problems == ()
    assert theme is not None
    assert (theme.name, theme.about, theme.dark, theme.terminal) == ("mine", "ours", True, False)
    assert theme.colours["kept"] == "#00ff88"


def test_every_wrong_colour_is_told_with_its_line(tmp_path: Path) -> None:
    path = write(tmp_path, source(kept="green", guide="#12345", barre="", swop="#fff"))
    assert load(path)[0] is None
    what = "must be a colour as #rgb or #rrggbb, or one of the terminal's own as ansi_red"
    assert told(path) == [
        ":6: colours.barre: is missing (it is one finger across strings)",
        f":12: colours.kept: {what}, not the text 'green' (did you mean 'ansi_green'?)",
        f":13: colours.guide: {what}, not the text '#12345'",
        ":21: colours.swop: is not a key known here",
    ]


@pytest.mark.parametrize("name", ["", "Mine", "my theme", "-a", "a--b", "é", "x" * 41, "ansi-dark", "textual-light"])
def test_names_that_are_refused(tmp_path: Path, name: str) -> None:
    path = write(tmp_path, source(name))
    assert load(path)[0] is None
    assert [problem.key for problem in load(path)[1]] == ["name"]


def test_the_terminals_colours_and_others_are_not_mixed(tmp_path: Path) -> None:
    path = write(tmp_path, source(kept="ansi_green"))
    assert load(path)[0] is None
    what = "is the terminal's own, and the background is #rrggbb (take all colours of one sort)"
    assert told(path) == [f":12: colours.kept: {what}"]
    path = write(tmp_path, terminal("#fff"))
    what = "is a #rrggbb colour, and the background is the terminal's own (take all colours of one sort)"
    assert told(path) == [f":12: colours.kept: {what}"]


def terminal(kept: str) -> str:
    return source(**(dict.fromkeys(ROLES, "ansi_default") | {"kept": kept}))


def test_nothing_is_computed_of_the_terminals_colours(tmp_path: Path) -> None:
    theme, problems = load(write(tmp_path, terminal("ansi_red")))
    assert problems == ()
    assert theme is not None
    assert theme.terminal
    assert theme.contrast("kept") is None


def test_what_is_hard_to_read_is_a_warning(tmp_path: Path) -> None:
    # #777777 on #ffffff is 4.478: cut to 4.47, for 4.48 is no more enough than it is.
    light = {role: "#ffffff" if role in GROUNDS else "#000000" for role in ROLES}
    path = write(tmp_path, source(**(light | {"kept": "#777777", "panel": "#eeeeee"})).replace("true", "false"))
    theme, _ = load(path)
    assert theme is not None
    assert theme.contrast("kept") == pytest.approx(3.86, abs=0.01)
    assert told(path) == [
        ":12: colours.kept: reads badly on the background: contrast 4.47 (4.5 is enough)",
        ":12: colours.kept: reads badly on the panel: contrast 3.85 (4.5 is enough)",
    ]
    assert all(problem.warning for problem in load(path)[1])


def test_dark_or_light_is_what_the_colours_are(tmp_path: Path) -> None:
    path = write(tmp_path, source().replace("true", "false"))
    assert load(path)[0] is not None
    assert told(path) == [":4: dark: is false, and the text is lighter than its ground"]


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", [": name: is missing", ": about: is missing", ": dark: is missing"]),
        ("colours = 3\n", [": name: is missing", ":1: colours: must be a table, not 3"]),
        ("format = 2\n", [":1: format: is 2, and this version reads up to 1"]),
        ("name = ", [":1: the value is not one TOML knows"]),
    ],
)
def test_a_file_that_is_no_theme_is_told_and_left_out(tmp_path: Path, text: str, lines: list[str]) -> None:
    path = write(tmp_path, text)
    assert load(path)[0] is None
    assert all(any(line.startswith(start) for line in told(path)) for start in lines)


# All of them.


def test_the_players_theme_goes_in_the_place_of_one_of_the_same_name(tmp_path: Path) -> None:
    write(tmp_path / "first", source("a"), "a.toml")
    write(tmp_path / "first", source("b"), "b.toml")
    write(tmp_path / "second", source("a", kept="#ffffff"), "z.toml")
    write(tmp_path / "second", source("c"), "c.toml")
    themes, problems = load_all([tmp_path / "first", tmp_path / "second"])
    assert problems == ()
    assert list(themes) == ["a", "b", "c"]
    assert themes["a"].colours["kept"] == "#ffffff"


def test_of_two_with_one_name_in_one_folder_the_first_counts(tmp_path: Path) -> None:
    write(tmp_path, source("a", kept="#ffffff"), "1.toml")
    second = write(tmp_path, source("a"), "2.toml")
    themes, problems = load_all([tmp_path])
    assert themes["a"].colours["kept"] == "#ffffff"
    assert [str(problem) for problem in problems] == [
        f"{second}: name: 'a' is the name of 1.toml too (choose another name)"
    ]


def test_one_bad_file_keeps_no_other_out(tmp_path: Path) -> None:
    write(tmp_path, source("good", beat="#333333"), "good.toml")
    bad = write(tmp_path, "name = \x00", "bad.toml")
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "lost.toml").symlink_to(tmp_path / "nowhere")
    (tmp_path / "notes.txt").touch()
    themes, problems = load_all([tmp_path])
    assert list(themes) == ["good"], "one that only reads badly is there, and no problem at the start"
    assert [problem.file for problem in problems] == [
        str(bad),
        str(tmp_path / "folder.toml"),
        str(tmp_path / "lost.toml"),
    ]


def test_a_folder_that_is_not_there_is_no_problem_and_one_that_is_a_file_is(tmp_path: Path) -> None:
    assert load_all([tmp_path / "none"]) == ({}, ())
    (tmp_path / "file").touch()
    themes, problems = load_all([tmp_path / "file"])
    assert themes == {}
    assert [problem.what for problem in problems] == ["cannot be read: a part of the path is not a folder"]


def test_without_folders_named_it_is_those_that_ship_and_the_players(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    write(tmp_path / "themes", source())
    themes, problems = load_all()
    assert problems == ()
    assert list(themes) == [*(path.stem for path in SHIPPED), "mine"]


def test_themes_are_read_without_the_toolkit_that_paints_them() -> None:
    script = (
        "import sys\n"
        "from trainer.files.themes import load_all\n"
        "assert load_all()[0]\n"
        "assert not {'textual', 'rich', 'tomlkit', 'numpy'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", script], check=True, cwd=Path(__file__).parents[2])
