"""`changeover export`: by the ending of the file, at any tempo, never over a file that is there."""

from __future__ import annotations

from pathlib import Path

import mido  # type: ignore[import-untyped]  # it ships no types
import pytest

from trainer.cli import main
from trainer.scores.source import load


def test_a_score_and_a_midi_file_at_the_tempo_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for ending in (".musicxml", ".mid"):
        path = tmp_path / f"out{ending}"
        assert main(["export", "six-eight", "-o", str(path), "--tempo", "66"]) == 0
        assert load(path).tempos[0].quarters == pytest.approx(33, rel=1e-4)
        assert capsys.readouterr().out == f"Three voices in six-eight: written to {path}\n"


def test_the_midi_file_lasts_as_long_as_count_in_and_drill(tmp_path: Path) -> None:
    """mido's own clock: a bar of count-in and eight bars of six eighths at 120 eighths a minute."""
    path = tmp_path / "out.mid"
    assert main(["export", "six-eight", "-o", str(path), "--tempo", "120"]) == 0
    assert mido.MidiFile(path).length == pytest.approx(9 * 6 / 120 * 60, abs=0.01)


def test_never_over_a_file_unless_told_to(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "out.musicxml"
    path.write_text("mine")
    assert main(["export", "C", "F", "-o", str(path)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert path.read_text() == "mine"
    assert main(["export", "C", "F", "-o", str(path), "--force"]) == 0
    assert path.read_text().startswith("<?xml")


@pytest.mark.parametrize("name", ["out", "out.pdf", "out.mxl", ""])
def test_another_ending_is_told(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["export", "C", "F", "-o", str(tmp_path / name)]) == 2
    assert "neither .musicxml nor .mid" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_stroke_too_short_for_a_note_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drill = tmp_path / "fast.toml"
    shape = '[[shapes]]\nshape = "C"\nbeats = "1/5"\npluck = "1: 5, 65/64: 4"\n'
    drill.write_text(f'format = 1\ntitle = "Fast"\nmeter = "4/32"\n{shape}\n{shape}')
    assert main(["export", str(drill), "-o", str(tmp_path / "out.musicxml")]) == 2
    assert "shorter than any note value" in capsys.readouterr().err
