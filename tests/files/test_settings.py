"""The settings file: each wrong value alone falls back, comments stay, a damaged file is kept."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
