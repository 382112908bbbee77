"""The screens beside the drill: settings take effect at once, a change is made by keys, progress and help tell."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.ui.app_fakes import app, rows, services, shows, until
from trainer.files import paths, settings
from trainer.files.library import find
from trainer.log.writer import Log
from trainer.practice.phases import Mode
from trainer.practice.record import Attempt, Run, Timing


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


async def test_a_setting_changes_at_once_and_in_the_file(log: Log) -> None:
    given = services(log, repeat_ms=60)  # as where nothing is said
    async with app(given, "settings").run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "enter")
        assert given.settings.glyphs == "ascii"
        await until(pilot, lambda: shows(pilot, "ascii"))
        await pilot.press("backspace")
        assert given.settings.glyphs == "unicode"
        await pilot.press("down", "down", "left")
        assert given.settings.left_handed
    assert settings.load(paths.settings_file())[0] == given.settings


async def test_a_key_is_bound_and_one_in_use_is_refused(log: Log) -> None:
    given = services(log)
    async with app(given, "settings").run_test(size=(80, 24)) as pilot:
        await pilot.press(*["down"] * (len(settings.SETTINGS) - 1), "enter")
        await until(pilot, lambda: shows(pilot, "Press the new key"))
        await pilot.press("p")
        await until(pilot, lambda: shows(pilot, "is already 'progress' there"))
        await pilot.press("enter", "f6")
        assert given.settings.keys["start"][0] == "f6"


async def test_a_change_is_made_by_keys_and_drilled(log: Log) -> None:
    async with app(services(log), "make").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "Both shapes are the same"))
        await pilot.press("down", "down", "1", "tab", "c", "down", "down", "right", "2")
        await until(pilot, lambda: shows(pilot, "from: 0 0 0 1/1 0 0", "to: 0 0 0 2/2 0 0"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "change 1 of"))


async def test_in_a_narrow_window_one_shape_at_a_time_is_made(log: Log) -> None:
    async with app(services(log), "make").run_test(size=(60, 20)) as pilot:
        await until(pilot, lambda: shows(pilot, "> from:", "a finger at the cursor; TAB: the other shape."))
        assert not shows(pilot, "to: 0 0 0")
        await pilot.press("tab")
        await until(pilot, lambda: shows(pilot, "> to:") and not shows(pilot, "from:"))
        await pilot.press("down", "1")
        await until(pilot, lambda: shows(pilot, "ENTER  drills this change; W keeps it."))
        await pilot.resize_terminal(80, 24)
        await until(pilot, lambda: shows(pilot, "  from: 0 0 0", "> to:"))


async def test_progress_shows_the_times_of_a_change_and_drills_it(log: Log) -> None:
    key = "E2 A2 D3 G3 B3 E4 | 0 | 0 2/1 2/2 0 0 0 | x 0 2/2 2/3 1/1 0"
    log.begin(Run("run", "Two chords", 1000.0, Timing.LEAVE))
    for number, ms in enumerate((900.0, 700.0, 800.0)):
        log.add(Attempt(f"a{number}", "run", key, 1000.0 + number, Timing.LEAVE, "keys", ms)).result(5)
    log.finish("run", remark="thumb too high").result(5)
    async with app(services(log), "progress").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "Em → Am", "best 0.70 s, median 0.80 s", "0.90 s"))
        await pilot.press("r")
        await until(pilot, lambda: shows(pilot, "Two chords", "thumb too high"))
        await pilot.press("r", "enter")
        await until(pilot, lambda: shows(pilot, "change 1 of"))


@pytest.mark.parametrize(
    ("size", "heads"),
    [((60, 20), "drill when timed landed"), ((80, 24), "drill when timed tempo landed"), ((120, 40), "landed remark")],
)
async def test_a_run_is_told_with_its_whole_remark_and_no_column_cut(
    log: Log, size: tuple[int, int], heads: str
) -> None:
    remark = "the thumb creeps up as soon as the barre comes on; leave it behind the second finger"
    log.begin(Run("run", "A drill whose title is as long as titles are", 1000.0, Timing.CUE))
    key = "E2 A2 D3 G3 B3 E4 | 0 | 0 2/1 2/2 0 0 0 | x 0 2/2 2/3 1/1 0"
    log.add(Attempt("a", "run", key, 1001.0, Timing.CUE, "keys", 800.0)).result(5)
    log.finish("run", remark=remark).result(5)
    async with app(services(log), "progress").run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, "Em → Am"))
        await pilot.press("r")
        await until(pilot, lambda: shows(pilot, "the thumb creeps", "behind the second", "1970-01-01 00:16  on cue"))
        assert any(" ".join(line.split()).endswith(heads) for line in rows(pilot))


async def test_the_library_lists_by_title_and_keeps_each_drill_to_a_line(log: Log) -> None:
    paths.drills_dir().mkdir(parents=True)
    shapes = '\n[[shapes]]\nshape = "Am"\n[[shapes]]\nshape = "C"\n'
    (paths.drills_dir() / "a.toml").write_text(
        'title = "Zither of many more words than the column holds"\n'
        'trains = ["extension", "contraction", "kept fingers", "guide"]' + shapes
    )
    (paths.drills_dir() / "b.toml").write_text('title = "Alone"' + shapes)
    async with app(services(log), "library").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "29 of 29"))
        lines = rows(pilot)
        first = next(index for index, line in enumerate(lines) if "Alone" in line)
        assert lines[first + 1].startswith(" Zither of many more words than ...")
        assert "extension, contraction" in lines[first + 1]
        groups = [line.split(":")[0].strip() for line in lines if line.startswith(" Group")]
        assert groups == sorted(groups) != []
        assert lines[first + 2].strip()
        assert not lines[first + 2].strip().startswith("guide")


async def test_help_begins_with_the_keys_of_where_the_player_was(log: Log) -> None:
    async with app(services(log), "settings").run_test(size=(80, 24)) as pilot:
        await pilot.press("question_mark")
        await until(pilot, lambda: shows(pilot, "Keys: settings", "Keys: everywhere"))


async def test_the_library_searches_and_narrows_by_skill(log: Log) -> None:
    async with app(services(log), "library").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "27 of 27"))
        await pilot.press(*"hinge")
        await until(pilot, lambda: shows(pilot, "Hinge barre"))
        await pilot.press("tab")
        await until(pilot, lambda: shows(pilot, "trains: kept fingers"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "change 1 of"))


async def test_the_key_bar_says_what_keys_do_now_after_help_and_while_a_remark_is_written(log: Log) -> None:
    drill = find("first-change")
    async with app(services(log), "drill", drill=drill, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "space leave"))
        await pilot.press("question_mark", "escape")
        await until(pilot, lambda: shows(pilot, "SPACE  when your fingers leave"))
        assert shows(pilot, "space leave")
        assert not shows(pilot, "go / leave / land")
        await pilot.press("w")
        await until(pilot, lambda: shows(pilot, "esc drops it"))
        assert not shows(pilot, "u unclean")
        assert not shows(pilot, "q quit")
        await pilot.press("escape")
        await until(pilot, lambda: shows(pilot, "space leave"))


async def test_a_way_to_practise_is_called_in_the_settings_what_the_drill_screen_calls_it(log: Log) -> None:
    given = services(log, mode=Mode.PACED)
    async with app(given, "settings").run_test(size=(100, 40)) as pilot:
        await until(pilot, lambda: any("way to practise" in row and "to the beat" in row for row in rows(pilot)))
