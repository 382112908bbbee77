"""The app itself, by pressing its keys: from the first minute to the last line of a run."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from textual.css.query import NoMatches

from tests.ui.app_fakes import app, rows, running_text, services, shows, until, written
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.practice.record import Attempt, Run
from trainer.ui.screens.drill import DrillScreen
from trainer.ui.screens.home import HomeScreen
from trainer.ui.widgets.keybar import KeyBar

DRILL = from_shapes(["C", "F", "G7"])


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    monkeypatch.delenv("NO_COLOR", raising=False)
    with Log.open(paths.log_file()) as log:
        yield log


def attempts(log: Log) -> list[Attempt]:
    with written(log) as history:
        return [attempt for run in history.runs() for attempt in history.of_run(run.id)]


def runs(log: Log) -> list[Run]:
    with written(log) as history:
        return history.runs()


async def test_the_first_start_leads_to_a_timed_change_in_three_presses_each_named(log: Log) -> None:
    async with app(services(log)).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "First change", "ENTER", "starts"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "SPACE", "when your fingers leave Em"))
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "SPACE", "when Am is down"))
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "change 2 of", "seconds"))
    assert len(attempts(log)) == 1


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
@pytest.mark.parametrize("look", [{}, {"glyphs": "ascii", "left_handed": True}, {"neck": "upright"}])
async def test_every_way_to_practise_is_drawn_at_every_size(
    log: Log, size: tuple[int, int], look: dict[str, object]
) -> None:
    given = services(log, **look)
    async with app(given, "drill", drill=DRILL, mode=Mode.WALK).run_test(size=size) as pilot:
        for way in ("walk through", "by ear", "to the beat", "two presses", "on cue"):
            await until(pilot, lambda way=way: shows(pilot, way, "? help"))  # type: ignore[misc]  # bound at once
            assert shows(pilot, "SPACE", "C", "F", "G7")
            assert len(rows(pilot)) == size[1]
            await pilot.press("m")
        if look.get("glyphs") == "ascii":
            assert all(row.isascii() for row in rows(pilot))


async def test_a_window_that_is_too_small_says_so_and_what_it_needs_until_it_is_not(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("space")
        await pilot.resize_terminal(40, 10)
        await until(pilot, lambda: shows(pilot, "40 x 10", "60 x 20"))
        assert not shows(pilot, "SPACE")
        await pilot.press("space")
        await pilot.resize_terminal(120, 40)
        await until(pilot, lambda: shows(pilot, "change 2 of", "then"))
    assert len(attempts(log)) == 1  # a change in flight does not mind


async def test_a_paced_run_needs_no_press_but_the_first_and_the_answer(log: Log) -> None:
    drill = from_shapes(["C", "F"])
    drill = replace(drill, steps=tuple(replace(step, beats=Fraction(1)) for step in drill.steps))
    given = services(log, mode=Mode.PACED)
    async with app(given, "drill", drill=drill, tempo=240.0).run_test(size=(80, 24)) as pilot:
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "count-in"))
        await until(pilot, lambda: shows(pilot, "Nothing to press"))
        await until(pilot, lambda: shows(pilot, "how many of 4 landed?"))
        await pilot.press("3")
        await until(pilot, lambda: shows(pilot, "3 of 4 landed", "landed last run"))
    (run,) = runs(log)
    assert (run.tempo, run.asked, run.landed) == (240.0, 4, 3)


async def test_the_cue_is_shown_before_a_press_counts(log: Log) -> None:
    given = services(log)
    given.wait = lambda low, high: 0.05
    async with app(given, "drill", drill=DRILL, mode=Mode.CUED).run_test(size=(80, 24)) as pilot:
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "when F is down"))
        await pilot.pause(0.15)  # sooner than 100 ms after the cue would be void
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "C → F, seconds"))
    (attempt,) = attempts(log)
    assert attempt.change_ms is not None
    assert attempt.change_ms >= 100


async def test_a_click_on_the_key_bar_does_what_its_key_does(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.click(KeyBar, offset=(2, 0))
        await until(pilot, lambda: shows(pilot, "when F is down"))


async def test_keys_can_be_other_ones_and_the_screen_names_them(log: Log) -> None:
    given = services(log, keys={"press": ("f5",)})
    async with app(given, "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "F5", "when your fingers leave C"))
        await pilot.press("space")
        assert shows(pilot, "when your fingers leave C")
        await pilot.press("f5")
        await until(pilot, lambda: shows(pilot, "when F is down"))


async def test_the_prompt_names_the_key_that_was_pressed_last(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("pagedown")
        await until(pilot, lambda: shows(pilot, "PAGE DOWN", "when F is down"))


async def test_what_is_practised_can_be_narrowed_to_the_change_at_hand(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("n")
        await pilot.press("c")
        await until(pilot, lambda: shows(pilot, "F and G7, there and back", "F  →  G7"))
        await pilot.press("c")
        await until(pilot, lambda: shows(pilot, "F to G7 only"))
        await pilot.press("c")
        await until(pilot, lambda: shows(pilot, "all of it"))


async def test_the_tuning_stands_in_the_place_of_the_figures_until_it_is_asked_away(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("t")
        await until(pilot, lambda: shows(pilot, "6 E2   82.41 Hz", "3 G3  196.00 Hz"))
        await pilot.press("t")
        await until(pilot, lambda: not shows(pilot, "Hz"))


async def test_the_figures_come_back_by_themselves_as_soon_as_anything_is_timed_or_beating(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("t")
        await until(pilot, lambda: shows(pilot, "82.41 Hz"))
        await pilot.press("j")
        await until(pilot, lambda: shows(pilot, "changing") and not shows(pilot, "Hz"))
        await pilot.press("t")
        await until(pilot, lambda: shows(pilot, "changing") and not shows(pilot, "Hz"))
        await pilot.press("k")
        await until(pilot, lambda: shows(pilot, "change 2 of"))
        await pilot.press("t")
        await until(pilot, lambda: shows(pilot, "82.41 Hz"))
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PACED, tempo=240).run_test(size=(80, 24)) as pilot:
        await pilot.press("t", "space")
        await until(pilot, lambda: shows(pilot, "count-in") and not shows(pilot, "Hz"))


async def test_the_key_bar_names_the_key_that_the_prompt_names(log: Log) -> None:
    drill = from_shapes(["C", "F"])
    drill = replace(drill, steps=tuple(replace(step, beats=Fraction(2)) for step in drill.steps))
    async with app(services(log), "drill", drill=drill, mode=Mode.PACED, tempo=240).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "SPACE  starts", "space start"))
        await pilot.press("pagedown")
        await until(pilot, lambda: shows(pilot, "change 3 of 4"))
        await until(pilot, lambda: shows(pilot, "PAGE DOWN  takes the number", "page down take it"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "ENTER  plays on", "enter play on"))


async def test_a_remark_is_kept_with_its_run_and_its_letters_are_no_commands(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("j")
        await pilot.press("k")
        await until(pilot, lambda: shows(pilot, "change 2 of"))
        await pilot.press("w", "q", "u", "i", "y", "backspace", "t", "enter")
        await until(pilot, lambda: shows(pilot, "Remark kept."))
        await pilot.press("w", "n", "o", "escape")
        await until(pilot, lambda: shows(pilot, "SPACE") and not shows(pilot, "esc drops it"))
    assert [run.remark for run in runs(log)] == ["quit"]
    assert attempts(log)[0].clean is None


async def test_home_tells_of_a_broken_drill_and_an_unknown_theme_and_goes_on(log: Log) -> None:
    paths.drills_dir().mkdir(parents=True)
    (paths.drills_dir() / "broken.toml").write_text('title = "x"\n')
    async with app(services(log, theme="no-such-theme")).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "broken.toml"))
        assert pilot.app.theme == next(iter(services(log).themes))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(pilot.app.screen, DrillScreen))


async def test_home_tells_of_a_damaged_log_and_practice_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    paths.log_file().parent.mkdir(parents=True)
    paths.log_file().write_bytes(b"this was a log once " * 200)
    with Log.open(paths.log_file()) as log:
        async with app(services(log)).run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: "not a practice log" in running_text(pilot))  # where it breaks, the path decides
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(pilot.app.screen, DrillScreen))
            await pilot.press("j", "k")
            await until(pilot, lambda: shows(pilot, "change 2 of") and "not a practice log" in running_text(pilot))
    assert paths.log_file().read_bytes() == b"this was a log once " * 200


async def test_what_a_thread_finds_too_late_is_let_go_while_a_screen_is_taken_down(log: Log) -> None:
    async with app(services(log), "make").run_test(size=(80, 24)) as pilot:
        home = HomeScreen(services(log))
        await pilot.app.push_screen(home)
        await until(pilot, lambda: shows(pilot, "starts"))
        taken: list[int] = []
        await asyncio.to_thread(home.from_thread, taken.append, 1)
        await pilot.app.pop_screen()
        with pytest.raises(NoMatches):
            home._tell(())
        await asyncio.to_thread(home.from_thread, home._tell, ())
        await asyncio.to_thread(home.from_thread, taken.append, 2)
        assert taken == [1]


async def test_home_offers_what_was_left_off_and_goes_there_in_the_same_way(log: Log) -> None:
    async with app(services(log), "drill", drill=DRILL, mode=Mode.CUED).run_test(size=(80, 24)) as pilot:
        given = services(log)
        given.wait = lambda low, high: 0.05
        await pilot.press("m", "m", "m", "m")  # round to two presses
        await until(pilot, lambda: shows(pilot, "two presses"))
        await pilot.press("j", "k")
        await until(pilot, lambda: shows(pilot, "change 2 of"))
    assert len(attempts(log)) == 1
    async with app(services(log)).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "C - F - G7", "where you left off"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "C  →  F", "two presses"))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, HomeScreen))


@pytest.mark.parametrize(
    ("key", "title"),
    [("d", "Drills"), ("m", "Make a change"), ("p", "Progress"), ("s", "Settings"), ("question_mark", "Help")],
)
async def test_every_screen_opens_from_home_and_closes_again(log: Log, key: str, title: str) -> None:
    async with app(services(log)).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "starts"))
        await pilot.press(key)
        await until(pilot, lambda: not isinstance(pilot.app.screen, HomeScreen) and title in rows(pilot)[0])
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(pilot.app.screen, HomeScreen))


@pytest.mark.parametrize("theme", ["back-room", "white-wall", "own-terminal"])
async def test_a_theme_colours_the_screen(log: Log, theme: str) -> None:
    given = services(log, theme=theme)
    async with app(given, "drill", drill=DRILL).run_test(size=(80, 24)) as pilot:
        assert pilot.app.theme == theme
        assert pilot.app.theme_variables["kept"] == given.themes[theme].colours["kept"]
