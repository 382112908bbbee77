"""The settings file: each wrong value alone falls back, comments stay, a damaged file is kept."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.files.settings import SETTINGS, Settings, load, save
from trainer.hand.reach import HANDS
from trainer.practice.phases import Mode

COMMANDS = ("press", "unclean", "quit")


def write(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "settings.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_field_is_in_the_table_once() -> None:
    assert [setting.key for setting in SETTINGS] == list(Settings.__dataclass_fields__)


def test_no_file_is_no_problem(tmp_path: Path) -> None:
    assert load(tmp_path / "none.toml") == (Settings(), ())


def test_what_is_written_is_read(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        'format = 1\nglyphs = "ascii"\nleft_handed = true\nhand = "child"\nmode = "cued"\nrepeat_ms = 80\n'
        '[keys]\npress = "space, f5"\n',
    )
    settings, problems = load(path, COMMANDS)
    assert problems == ()
    assert (settings.glyphs, settings.left_handed, settings.mode, settings.repeat_ms) == ("ascii", True, Mode.CUED, 80)
    assert settings.reach == HANDS["child"]
    assert dict(settings.keys) == {"press": ("space", "f5")}


def test_each_wrong_value_falls_back_by_itself_and_says_where(tmp_path: Path) -> None:
    path = write(tmp_path, 'hand = "small"\nbell = 1\nrepeat_ms = -5\nglyfs = "ascii"\n[keys]\npres = "space"\n')
    settings, problems = load(path, COMMANDS)
    assert settings == Settings(hand="small")
    assert [(problem.line, problem.key) for problem in problems] == [
        (2, "bell"),
        (3, "repeat_ms"),
        (4, "glyfs"),
        (6, "keys.pres"),
    ]
    assert problems[2].hint == "did you mean 'glyphs'?"
    assert problems[3].hint == "did you mean 'press'?"


@pytest.mark.parametrize("text", ["hand = ", "\x00", 'format = 2\nhand = "child"\n', "[hand]\n"])
def test_a_file_that_cannot_be_read_gives_the_defaults_and_a_reason(tmp_path: Path, text: str) -> None:
    settings, problems = load(write(tmp_path, text))
    assert settings == Settings()
    assert len(problems) == 1


def test_own_reach_that_contradicts_itself_is_told_and_left_out(tmp_path: Path) -> None:
    path = write(tmp_path, "comfortable_mm = [90, 90, 90, 90, 90, 90]\n")
    settings, problems = load(path)
    assert settings.reach == HANDS["adult"]
    assert "largest" in problems[0].what


def test_own_reach_replaces_the_starting_values(tmp_path: Path) -> None:
    path = write(tmp_path, "comfortable_mm = [30, 60, 90, 30, 60, 30]\n")
    assert load(path)[0].reach.comfortable == (30, 60, 90, 30, 60, 30)


def test_saving_keeps_comments_and_other_keys(tmp_path: Path) -> None:
    path = write(tmp_path, '# mine\nhand = "small"  # so far\n')
    save(path, {"bell": False, "mode": Mode.WALK, "keys": {"press": ("space", "f5")}})
    written = path.read_text(encoding="utf-8")
    assert "# mine" in written
    assert "# so far" in written
    assert load(path, COMMANDS) == (
        Settings(hand="small", bell=False, mode=Mode.WALK, keys={"press": ("space", "f5")}),
        (),
    )


def test_a_damaged_file_is_kept_when_settings_are_saved(tmp_path: Path) -> None:
    path = write(tmp_path, 'hand = "sm')
    save(path, {"hand": "child"})
    assert load(path) == (Settings(hand="child"), ())
    assert path.with_name("settings.toml.bad").read_text(encoding="utf-8") == 'hand = "sm'


def test_one_wrong_key_leaves_the_others(tmp_path: Path) -> None:
    path = write(tmp_path, '[keys]\npress = "space"\nunclean = "no such key"\nquit = ["q"]\n')
    settings, problems = load(path, COMMANDS)
    assert dict(settings.keys) == {"press": ("space",)}
    assert [(problem.line, problem.key) for problem in problems] == [(3, "keys.unclean"), (4, "keys.quit")]


def test_a_theme_that_is_not_there_is_told_and_kept(tmp_path: Path) -> None:
    path = write(tmp_path, 'theme = "back-rom"\n')
    settings, problems = load(path, themes=("back-room", "far-row"))
    assert settings.theme == "back-rom"
    assert [str(problem).removeprefix(str(path)) for problem in problems] == [
        ":1: theme: there is no theme 'back-rom' (did you mean 'back-room'?)"
    ]
    assert load(path)[1] == ()


@pytest.mark.parametrize("damage", ["folder", "pipe", "lost link", "latin"])
def test_what_is_no_file_of_settings_is_told_too(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "settings.toml"
    match damage:
        case "folder":
            path.mkdir()
        case "pipe":
            os.mkfifo(path)
        case "lost link":
            path.symlink_to(tmp_path / "nowhere")
        case _:
            path.write_bytes(b'theme = "\xe9"')
    settings, problems = load(path)
    assert settings == Settings()
    assert len(problems) == 1


def test_settings_with_a_reach_that_contradicts_itself_cannot_be_made() -> None:
    with pytest.raises(ChangeoverError, match="comfortable 90"):
        Settings(comfortable_mm=(90.0,) * 6)


def test_a_value_that_says_nothing_is_taken_out(tmp_path: Path) -> None:
    path = write(tmp_path, 'theme = "far-row"\nbell = false\nlargest_mm = [90, 130, 160, 70, 115, 70]\n')
    save(path, {"theme": "", "largest_mm": ()})
    assert load(path) == (Settings(bell=False), ())


def test_keys_that_are_given_replace_those_that_were(tmp_path: Path) -> None:
    path = write(tmp_path, '[keys] # mine\npress = "space"\nquit = "q" # never\n')
    save(path, {"keys": {"quit": ("x", "f9")}})
    assert path.read_text(encoding="utf-8") == '[keys] # mine\nquit = "x, f9" # never\n'
    path.write_text("keys = 3\nbell = false\n", encoding="utf-8")
    save(path, {"keys": {"quit": ("x",)}})
    assert load(path, COMMANDS) == (Settings(bell=False, keys={"quit": ("x",)}), ())
    save(path, {"keys": {}})
    assert load(path, COMMANDS) == (Settings(bell=False), ())


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"bel": True}, "bel: is no setting (did you mean 'bell'?)"),
        ({"bell": 1}, "bell: must be true or false, not 1"),
        ({"mode": "fast"}, "mode: must be 'walk', 'paced', 'presses', 'cued' or 'heard', not the text 'fast'"),
        ({"largest_mm": (1.0, 2.0)}, "largest_mm: must be a list of 6 entries, not of 2"),
        ({"keys": {"quit": ("no key",)}}, "keys.quit: must be keys with commas between, not the text 'no key'"),
    ],
)
def test_what_no_setting_can_be_is_not_written(tmp_path: Path, changes: dict[str, Any], told: str) -> None:
    path = write(tmp_path, "bell = false\n")
    with pytest.raises(ChangeoverError) as caught:
        save(path, {"hand": "child"} | changes)
    assert str(caught.value).startswith(told)
    assert path.read_text(encoding="utf-8") == "bell = false\n"


def test_no_damaged_file_is_ever_lost(tmp_path: Path) -> None:
    path = write(tmp_path, 'hand = "on')
    save(path, {"bell": True})
    path.write_bytes(b"hand = \xff")
    save(path, {"bell": False})
    assert (tmp_path / "settings.toml.bad").read_bytes() == b'hand = "on'
    assert (tmp_path / "settings.toml.bad2").read_bytes() == b"hand = \xff"
    assert load(path) == (Settings(bell=False), ())


def test_where_settings_cannot_be_written_nothing_is_touched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write(tmp_path, 'hand = "on')

    def refuse(_: int) -> None:
        raise OSError(errno.ENOSPC, "full")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(ChangeoverError, match="the disk is full"):
        save(path, {"bell": True})
    assert [file.name for file in tmp_path.iterdir()] == ["settings.toml"]
    assert path.read_text(encoding="utf-8") == 'hand = "on'
    path.unlink()
    path.mkdir()
    with pytest.raises(ChangeoverError, match="is not a file"):
        save(path, {"bell": True})


def test_a_newer_file_is_not_begun_anew(tmp_path: Path) -> None:
    path = write(tmp_path, 'format = 2\nnew = "kept"\n')
    save(path, {"bell": False})
    assert path.read_text(encoding="utf-8") == 'format = 2\nnew = "kept"\nbell = false\n'


@given(
    changes=st.fixed_dictionaries(
        {},
        optional={
            "theme": st.text("abc xyz", min_size=1, max_size=9).filter(str.strip),
            "glyphs": st.sampled_from(["unicode", "ascii"]),
            "left_handed": st.booleans(),
            "hand": st.sampled_from(sorted(HANDS)),
            "mode": st.sampled_from(list(Mode)),
            "repeat_ms": st.integers(0, 500),
        },
    )
)
def test_saved_settings_are_the_ones_loaded(changes: dict[str, Any], tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("home") / "settings.toml"
    save(path, changes)
    assert load(path) == (Settings(**changes), ())
