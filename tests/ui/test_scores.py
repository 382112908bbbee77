"""The way in for scores: a file is looked for, bars are chosen and seen, and become a drill or a drill file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from threading import Event

import pytest
from textual.events import Paste
from textual.widgets import Input

from tests.scores.building import HEAD, document, measure, note
from tests.ui.app_fakes import app, running_text, services, shows, until
from trainer.files import kept, paths
from trainer.files.drills import load
from trainer.files.library import library
from trainer.log.writer import Log
from trainer.ui.choosing.asked import Choosing
from trainer.ui.choosing.found import Found, worked_out
from trainer.ui.messages import Open


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    bars = [
        measure(note("C3", 16, string=5, fret=3, finger=3) + note("E4", 16, string=1, fret=0, chord=True), 1, HEAD),
        measure(note("D3", 16, string=4, fret=0) + note("F4", 16, string=1, fret=1, chord=True) + "<figured-bass/>", 2),
        measure(note("E3", 16, string=4, fret=2) + note("E4", 16, string=1, fret=0, chord=True), 3),
    ]
    (tmp_path / "piece.musicxml").write_text(document(*bars), encoding="utf-8")
    (tmp_path / "broken.mxl").write_bytes(b"PK\x03\x04 and nothing more")
    (tmp_path / "song.txt").write_text("no score")
    (tmp_path / "etudes").mkdir()
    return tmp_path


async def test_a_score_is_found_by_its_name_from_the_library_and_the_folder_is_known_next_time(
    log: Log, folder: Path
) -> None:
    given = services(log)
    async with app(given, "library").run_test(size=(80, 24)) as pilot:
        await pilot.press("f4")
        await until(pilot, lambda: shows(pilot, "Scores in"))
        pilot.app.screen.query_one(Input).post_message(Paste(str(folder)))
        await until(pilot, lambda: shows(pilot, str(folder)[-20:]))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "etudes/", "broken.mxl", "piece.musicxml", "2 scores"))
        assert not shows(pilot, "song.txt")
        await pilot.press(*"piece")
        await until(pilot, lambda: shows(pilot, "takes bars of piece.musicxml"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "from bar 1", "to bar 3", "3 shapes in bars 1 to 3"))
    assert kept.load(paths.kept_file())[0].scores == str(folder)


async def test_bars_are_chosen_cut_and_kept_as_a_drill_that_the_library_lists(log: Log, folder: Path) -> None:
    async with app(services(log), "library").run_test(size=(100, 30)) as pilot:
        pilot.app.screen.post_message(Open("score", path=folder / "piece.musicxml"))
        await until(pilot, lambda: shows(pilot, "3 shapes in bars 1 to 3", "3 printed"))
        await pilot.press("tab", "2")
        await until(pilot, lambda: shows(pilot, "[to bar 2]", "2 shapes in bars 1 to 2"))
        await pilot.press("i")
        await until(pilot, lambda: shows(pilot, "not understood: figured-bass in bar 2"))
        await pilot.press("i", "n")
        await until(pilot, lambda: shows(pilot, "bar 2  [●1]", "s join"))
        await pilot.press("w")
        await until(pilot, lambda: shows(pilot, "Kept among your drills as a-score-bars-1-to-2.toml"))
        await pilot.press("w")
        await until(pilot, lambda: shows(pilot, "a-score-bars-1-to-2-2.toml"))
        await pilot.press("escape", *"a score")
        await until(pilot, lambda: shows(pilot, "A score, bars 1 to 2"))
    assert [entry.name for entry in library().entries if not entry.ships] == [
        "a-score-bars-1-to-2",
        "a-score-bars-1-to-2-2",
    ]
    drill, problems = load(paths.drills_dir() / "a-score-bars-1-to-2.toml")
    assert drill is not None
    assert (len(drill.steps), problems) == (2, ())


async def test_the_shapes_are_drilled_without_a_file(log: Log, folder: Path) -> None:
    async with app(services(log), "score", path=folder / "piece.musicxml").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "drills these shapes"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "change 1 of"))
    assert not paths.drills_dir().exists()


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_the_whole_of_it_fits(log: Log, folder: Path, size: tuple[int, int]) -> None:
    async with app(services(log), "score", path=folder / "piece.musicxml").run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, "drills these"))
        assert shows(pilot, "[from bar 1]", "[●1]", ">    1  x 3/3 x x x 0", "3 printed", "Bar 1", "3 shapes in bars 1")
        assert not shows(pilot, "too small for the board")


async def test_a_file_that_is_no_score_is_one_line_and_leads_back(log: Log, folder: Path) -> None:
    given = services(log)
    given.kept = replace(given.kept, scores=str(folder))
    async with app(given, "scores").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "broken.mxl"))
        await pilot.press(*"broken", "enter")
        await until(pilot, lambda: "broken.mxl: " in running_text(pilot) and shows(pilot, "goes back to the files"))
        await pilot.press("up", "enter", "w", "s", "space", "5", "i", "i", "escape")
        await until(pilot, lambda: shows(pilot, "takes bars of broken.mxl"))


async def test_the_screen_says_that_it_works_goes_on_and_can_be_left(
    log: Log, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    held, begun = Event(), Event()

    def slow(path: Path, wish: Choosing) -> Found:
        begun.set()
        held.wait(20)
        return worked_out(path, wish)

    monkeypatch.setattr("trainer.ui.screens.score.worked_out", slow)
    given = services(log)
    given.kept = replace(given.kept, scores=str(folder))
    async with app(given, "scores").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "piece.musicxml"))
        await pilot.press(*"piece", "enter")
        await until(pilot, lambda: begun.is_set() and shows(pilot, "Working out bars 1 to 3", "s so far. ESC leaves"))
        await pilot.press("up")
        await until(pilot, lambda: shows(pilot, "Working out bars 2 to 3"))
        await pilot.press("escape")
        await until(pilot, lambda: shows(pilot, "takes bars of piece.musicxml"))
        held.set()
        await pilot.pause()
        assert shows(pilot, "takes bars of piece.musicxml")


async def test_a_pedal_looks_through_a_folder_and_opens_what_it_stands_on(log: Log, folder: Path) -> None:
    given = services(log)
    given.kept = replace(given.kept, scores=str(folder))
    async with app(given, "scores").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "looks into"))
        await pilot.press("pageup", "pageup")
        await until(pilot, lambda: shows(pilot, "takes bars of piece.musicxml"))
        await pilot.press("pagedown")
        await until(pilot, lambda: shows(pilot, "3 shapes in bars 1 to 3"))


async def test_a_made_change_is_kept_as_a_drill_file(log: Log) -> None:
    async with app(services(log), "make").run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "Both shapes are the same"))
        await pilot.press("w")
        assert not paths.drills_dir().exists()
        await pilot.press("down", "down", "1", "tab", "c", "down", "down", "right", "2", "w")
        await until(pilot, lambda: shows(pilot, "Kept among your drills as"))
    (entry,) = (entry for entry in library().entries if not entry.ships)
    drill, problems = entry.load()
    assert drill is not None
    assert (len(drill.steps), problems) == (2, ())
