"""`changeover finger` on a score of chord diagrams without notes, and whose fingers a written drill says it has."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.scores.building import HEAD, document, measure, note
from trainer.cli import main
from trainer.files.drills import load
from trainer.fretboard.text import print_shape
from trainer.practice.drill import Drill
from trainer.scores.importing import drill_from

C = ((5, 3, 3), (4, 2, 2), (3, 0, None), (2, 1, 1), (1, 0, None))
G = ((6, 3, None), (5, 2, None), (4, 0, None), (3, 0, None), (2, 0, None), (1, 3, None))
"""String, fret and printed finger of each note; those of G are for the program to find."""
CLASH = ((5, 3, 3), (4, 2, 3), (3, 0, None), (2, 1, 1), (1, 0, None))
"""One finger at two frets: a slip of the print."""
REST = "<note><rest/><duration>16</duration><voice>1</voice></note>"


def diagram(root: str, marks: tuple[tuple[int, int, int | None], ...]) -> str:
    notes = "".join(
        f"<frame-note><string>{string}</string><fret>{fret}</fret>"
        f"{'' if finger is None else f'<fingering>{finger}</fingering>'}</frame-note>"
        for string, fret, finger in marks
    )
    frame = f"<frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets>{notes}</frame>"
    return f"<harmony><root><root-step>{root}</root-step></root><kind>major</kind>{frame}</harmony>"


def score(tmp_path: Path, *bars: str) -> str:
    path = tmp_path / "chords.musicxml"
    head = (HEAD, *("" for _ in bars[1:]))
    measures = (
        measure(f"{bar}{REST}", number, more) for number, (bar, more) in enumerate(zip(bars, head, strict=True), 5)
    )
    path.write_text(document(*measures), encoding="utf-8")
    return str(path)


@pytest.fixture
def chords(tmp_path: Path) -> str:
    return score(tmp_path, diagram("C", C), diagram("G", G), diagram("C", C))


def found(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["finger", *words, "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def written(tmp_path: Path, *words: str) -> Drill:
    target = tmp_path / "written.toml"
    assert main(["finger", *words, "-o", str(target), "--force"]) == 0
    drill, problems = load(target)
    assert drill is not None, problems
    assert problems == ()
    return drill


def shapes(drill: Drill) -> list[str]:
    return [print_shape(step.shape) for step in drill.steps]


def notes(drill: Drill) -> list[str]:
    return [step.note for step in drill.steps]


def test_diagrams_are_the_passage_where_there_are_no_notes(chords: str, capsys: pytest.CaptureFixture[str]) -> None:
    passage = found(capsys, chords)["notes"]
    heads = [(one["bar"], one["onset"], one["string"], one["fret"]) for one in passage]
    drawn = ((5, "0", C), (6, "4", G), (7, "8", C))
    assert heads == [(bar, at, string, fret) for bar, at, marks in drawn for string, fret, _ in marks]
    assert [one["finger"] for one in passage if one["bar"] == 5] == [finger or 0 for *_, finger in C]
    assert all((one["finger"] > 0) == (one["fret"] > 0) for one in passage)
    bars = found(capsys, chords, "--bars", "6-7")["notes"]
    assert [(one["bar"], one["onset"]) for one in bars[:7:6]] == [(6, "0"), (7, "4")]


def test_the_frets_are_those_that_an_import_reads(chords: str, tmp_path: Path) -> None:
    frets = [[stop and stop.fret for stop in step.shape.stops] for step in written(tmp_path, chords).steps]
    assert frets == [[stop and stop.fret for stop in step.shape.stops] for step in drill_from(Path(chords)).drill.steps]


def test_a_written_drill_says_whose_fingers_it_has(chords: str, tmp_path: Path) -> None:
    drill = written(tmp_path, chords)
    assert shapes(drill)[0] == "x 3/3 2/2 0 1/1 0"
    assert drill.about == "6 of 9 fingers as printed, the others are the program's."
    assert notes(drill) == ["Bar 5.", "Bar 6; fingers 2 3 4 by the program.", "Bar 7."]
    drill = written(tmp_path, chords, "--pin", "6:4")
    assert drill.about == "6 of 9 fingers as printed, 1 set by the player, the others are the program's."
    assert shapes(drill)[1].startswith("3/4 ")
    assert notes(drill)[1] == "Bar 6; fingers 2 3 by the program, finger 4 set by the player."
    drill = written(tmp_path, chords, "--keep", "frets")
    assert drill.about == "All fingers are the program's."
    assert notes(drill)[0] == "Bar 5; fingers 1 2 3 by the program."


def test_a_pin_goes_before_the_diagram(chords: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drill = written(tmp_path, chords, "--pin", "2:3")
    assert "bar 5: the diagram's fingers are let go" in capsys.readouterr().out
    assert shapes(drill)[0] == "x 3/4 2/3 0 1/1 0"
    assert notes(drill)[0] == "Bar 5; fingers 1 4 by the program, finger 3 set by the player."
    assert drill.about == "3 of 9 fingers as printed, 1 set by the player, the others are the program's."


def test_a_bar_is_told_as_it_is_printed(chords: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = Path(chords).read_text(encoding="utf-8")
    Path(chords).write_text(text.replace('number="5"', 'number="X5"'), encoding="utf-8")
    assert main(["finger", chords, "--pin", "2:3"]) == 0
    assert "bar X5: the diagram's fingers are let go" in capsys.readouterr().out


def test_a_diagram_that_no_finger_fits_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wide = ((6, 1, 1), (1, 9, 4))
    assert main(["finger", score(tmp_path, diagram("C", C), diagram("F", wide))]) == 1
    err = capsys.readouterr().err
    assert "bar 6, quarter 5, F2 C#5: the fingers would be further apart than this hand reaches" in err
    assert err.count("\n") == 1


@pytest.mark.parametrize(("bars", "said"), [((diagram("C", C),), "only one shape"), (("",), "no notes")])
def test_what_is_no_passage_is_one_line(
    bars: tuple[str, ...], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["finger", score(tmp_path, *bars)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_where_there_are_notes_they_are_the_passage(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "tune.musicxml"
    bars = (measure(diagram("C", C) + note("C4", 16), 1, HEAD), measure(diagram("G", G) + note("D4", 16), 2))
    path.write_text(document(*bars), encoding="utf-8")
    assert [one["midi"] for one in found(capsys, str(path))["notes"]] in ([60, 62], [48, 50])


def test_notes_that_the_player_sets_are_not_the_programs(tmp_path: Path) -> None:
    path = tmp_path / "tune.musicxml"
    bars = (measure(note("C4", 8) + note("A3", 8, finger=2), 1, HEAD), measure(note("D4", 16), 2))
    path.write_text(document(*bars, name="Guitar"), encoding="utf-8")
    usual = written(tmp_path, str(path), "--octave", "0")
    assert "by the program" in " ".join(notes(usual))
    own = written(tmp_path, str(path), "--octave", "0", "--pin", "1:4")
    assert "finger 4 set by the player" in " ".join(notes(own))
    assert "4 by the program" not in " ".join(notes(own))
    assert "1 set by the player" in own.about


def test_a_drill_fingered_otherwise_says_so_and_one_that_is_not_stays(tmp_path: Path) -> None:
    same = written(tmp_path, "C", "F")
    assert "program" not in f"{same.about} {notes(same)}"
    other = written(tmp_path, "Am", "C", "D7", "G", "--pin", "1:0", "--pin", "2:3")
    assert "fingers set by the player, the others are the program's." in other.about
    assert "finger 3 set by the player" in notes(other)[0]
    kept = written(tmp_path, "two-ways", "--keep", "fingers")
    assert kept.about.startswith("The same three chords with two fingerings")
    assert kept.trains == ("fingering", "kept fingers", "cross")
    free = written(tmp_path, "two-ways")
    assert free.about == "All fingers are the program's."
    assert free.trains == ("fingering",)
    assert not any("stays on string 2" in one for one in notes(free))
