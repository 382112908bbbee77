"""The way in for scores: a file is looked for, bars are chosen and seen, and become a drill or a drill file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.scores.building import DATA, HEAD, document, measure, note
from tests.ui.app_fakes import app, services, shows, until
from trainer.files import kept, paths
from trainer.log.writer import Log

TABS = DATA / "lilypond-suite" / "71e-TabStaves.xml"


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
        await pilot.press(*str(folder), "enter")
        await until(pilot, lambda: shows(pilot, "etudes/", "broken.mxl", "piece.musicxml", "2 scores"))
        assert not shows(pilot, "song.txt")
        await pilot.press(*"piece")
        await until(pilot, lambda: shows(pilot, "takes bars of piece.musicxml"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "from bar 1", "to bar 3", "3 shapes in bars 1 to 3"))
    assert kept.load(paths.kept_file())[0].scores == str(folder)
