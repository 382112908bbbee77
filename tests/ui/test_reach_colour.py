"""Nothing is told by colour alone (WCAG 2.2, 1.4.1): what differs in meaning differs in the characters, too."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.ui.app_fakes import rows, shows, until
from tests.ui.reach_scenes import SCENES, SIZES, Scene, seed, seen
from tests.ui.test_reach_contrast import painted
from trainer.files import paths
from trainer.log.writer import Log
from trainer.ui import themes
from trainer.ui.board.marks import MARKS
from trainer.ui.setting_up.view import Row
from trainer.ui.widgets.lastten import LastTen
from trainer.ui.widgets.strings import Strings

BY_NAME = {scene.name: scene for scene in SCENES}
RUNNING = {"drill, in flight", "drill, counted in"}
"""Scenes that change by themselves."""


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.setenv("HOME", str(tmp_path / "scores"))
    (tmp_path / "scores").mkdir()
    for name in ("one.mid", "two.mid"):
        (tmp_path / "scores" / name).touch()
    monkeypatch.delenv("NO_COLOR", raising=False)
    with Log.open(paths.log_file()) as opened:
        seed(opened)
        yield opened


@pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)
async def test_without_colour_every_screen_says_the_same_and_sends_none(
    scene: Scene, log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with seen(scene, log) as pilot:
        coloured = rows(pilot)
        has_colour = any(style.color is not None and not style.color.is_default for _, style in painted(pilot))
    monkeypatch.setenv("NO_COLOR", "1")
    async with seen(scene, log) as pilot:
        assert pilot.app.theme == themes.PLAIN
        for text, style in painted(pilot):
            assert all(one is None or one.is_default for one in (style.color, style.bgcolor)), text
        plain = rows(pilot)
    assert has_colour
    if scene.name not in RUNNING:
        assert plain == coloured


# What a player has to tell apart: a scene, the keys that lead to the one state, those that lead to the other.
PAIRS = {
    "home: which line is chosen": ("home", (), ("down",)),
    "library: which line is chosen": ("library", (), ("down",)),
    "settings: which line is chosen": ("settings", (), ("down",)),
    "progress: which view": ("progress", (), ("d",)),
    "scores: which line is chosen": ("scores", (), ("down",)),
    "plan: which step is chosen": ("join plan", ("space",), ("space", "down")),
    "plan: where the cursor is": ("join plan", (), ("right",)),
    "plan: cut and not cut": ("join plan", (), ("space",)),
    "bench: which way is looked at": ("bench", (), ("down",)),
    "bench: which shape is looked at": ("bench", (), ("right",)),
    "bench: set and not set": ("bench", (), ("p",)),
    "make: which shape is made": ("make", (), ("tab",)),
    "make: where the cursor is": ("make", (), ("right",)),
    "make: open and not played": ("make", ("down", "0"), ("down", "x")),
    "drill: held and in flight": ("drill, two presses", (), ("space",)),
    "drill: landed and missed": ("drill, in flight", ("space",), ("x",)),
    "drill: landed clean and unclean": ("drill, in flight", ("space",), ("space", "u")),
    "drill: paused and not": ("drill, two presses", (), ("p",)),
    "drill: from memory and not": ("drill, to the beat", (), ("h",)),
    "drill: target and not": ("drill, to the beat", (), ("l",)),
    "room: hidden and shown": ("room", (), ("h",)),
    "room: shape only and movement only": ("room", ("m",), ("m", "m")),
    "marks: had it and missed": ("marks", ("3",), ("3", "3")),
    "marks: had it and away": ("marks", (), ("f2", "3")),
    "marks: missed and away": ("marks", ("3",), ("f2", "3")),
    "warm-up: sore day and not": ("warm-up", (), ("e",)),
}


def untimed(row: str) -> str:
    """Return `row` without numbers: one that runs or was timed differs by itself, and says nothing of the state."""
    return "".join(sign for sign in row if not sign.isdigit() and sign not in "▀▄█ ")


@pytest.mark.parametrize("pair", PAIRS)
async def test_two_states_differ_in_the_characters(pair: str, log: Log, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    name, *ways = PAIRS[pair]
    found = []
    for keys in ways:
        async with seen(BY_NAME[name], log) as pilot:
            for key in keys:
                await pilot.press(key)
                await pilot.pause()
            found.append([untimed(row) if name.startswith("drill") else row for row in rows(pilot)])
    assert found[0] != found[1]


async def test_the_line_that_is_chosen_has_a_mark_and_no_other(log: Log) -> None:
    for name, glyphs, mark in (("library", "unicode", "►"), ("settings", "ascii", ">"), ("home", "ascii", ">")):
        async with seen(BY_NAME[name], log, settings={"glyphs": glyphs}) as pilot:
            marked = [index for index, row in enumerate(rows(pilot)) if row.startswith(mark)]
            assert len(marked) == 1
            await pilot.press("down")
            await until(pilot, lambda marked=marked, mark=mark: rows(pilot)[marked[0] + 1].startswith(mark))  # type: ignore[misc]  # bound for each name
            assert [row.startswith(mark) for row in rows(pilot)].count(True) == 1


async def test_a_drill_that_cannot_be_used_says_so(log: Log) -> None:
    paths.drills_dir().mkdir()
    (paths.drills_dir() / "broken.toml").write_text('format = 1\ntitle = "Broken"\n', encoding="utf-8")
    async with seen(BY_NAME["library"], log) as pilot:
        await until(pilot, lambda: shows(pilot, "! cannot be used"))


@pytest.mark.parametrize("fine", [True, False])
def test_no_two_marks_of_the_board_look_alike(fine: bool) -> None:
    looks = [mark.fine if fine else mark.plain for mark in MARKS.values()]
    assert len(set(looks)) == len(looks)


@pytest.mark.parametrize("fine", [True, False])
async def test_the_best_time_and_the_string_just_struck_have_a_mark(fine: bool, log: Log) -> None:
    async with seen(BY_NAME["home"], log) as pilot:
        times, strings = LastTen(fine=fine), Strings(fine=fine)
        await pilot.app.screen.mount(times, strings)
        times.show((900.0, 600.0, 700.0), 600.0)
        strings.show(tuple(Row(string, False, "E2", 80, string == 5, ()) for string in (6, 5)))
        await pilot.pause()
        best = [row for row in times.render().plain.splitlines() if "*" in row]
        assert [row.split()[0] for row in best[1:]] == ["0.60*"]
        sixth, fifth = strings.render().plain.splitlines()
        assert sixth.replace("6", "5") != fifth


@pytest.mark.parametrize("neck", ["horizontal", "upright"])
@pytest.mark.parametrize("scene", SCENES, ids=lambda scene: scene.name)
async def test_the_smallest_window_there_is_has_room_for_every_screen(scene: Scene, neck: str, log: Log) -> None:
    async with seen(scene, log, SIZES[0], {"neck": neck}) as pilot:
        shown = rows(pilot)
        assert not shows(pilot, "Too small")
        assert not shows(pilot, "too small for the board")
        assert max(map(len, shown)) <= SIZES[0][0]
        assert shown[-1].strip(), "the keys are in sight"
