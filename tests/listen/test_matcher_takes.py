"""Real playing, annotated by string (GuitarSet, CC BY 4.0; tests/data/takes/README.md): every change is found."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.listen.takes import TAKES, events, folded_drill, played_drill, read_take, report, strums
from trainer.listen.matcher import hear

FILES = sorted(TAKES.glob("*.events.json"))


def test_both_takes_are_here() -> None:
    assert [path.name for path in FILES] == ["comp-129.events.json", "solo-129.events.json"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("folded", [False, True], ids=["every strum", "every new shape"])
@pytest.mark.parametrize("strings", [True, False], ids=["by string", "one channel"])
def test_every_change_is_found_where_it_was_annotated(path: Path, folded: bool, strings: bool) -> None:
    notes = read_take(path)
    played = strums(notes)
    drill, played = folded_drill(played, path.stem) if folded else (played_drill(played, path.stem), played)
    assert len(played) > 50
    found = report(played, hear(drill, events(notes, strings=strings)))
    assert found.changes == len(played) - 1
    assert found.found / found.changes >= (0.99 if strings else 0.95)
    assert found.extra == 0 or not strings
    assert found.median_s == 0
    assert found.worst_s <= 0.003 or not strings


def test_the_first_strum_as_it_was_played() -> None:
    # The first three notes of the comping take: strings 5, 2 and 3 at 48.8, 49.8 and 52.7 ms; Eb3, F4, D4.
    first = strums(read_take(FILES[0]))[0]
    assert [(note.string, note.pitch, note.on) for note in first] == [(5, 51, 0.0488), (2, 65, 0.0498), (3, 62, 0.0527)]


def test_a_string_struck_again_begins_a_new_strum(tmp_path: Path) -> None:
    path = tmp_path / "x.json"
    path.write_text(
        '{"notes": [{"t": 0, "d": 0.1, "string": 1, "midi": 63.6}, {"t": 0.04, "d": 1, "string": 1, "midi": 66.4},'
        ' {"t": 0.05, "d": 1, "string": 2, "midi": 58.2}]}',
        encoding="utf-8",
    )
    played = strums(read_take(path))
    assert [[(note.string, note.pitch) for note in strum] for strum in played] == [[(1, 64)], [(1, 66), (2, 59)]]
