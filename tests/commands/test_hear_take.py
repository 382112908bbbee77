"""`changeover hear DRILL --take`: real takes through real files and the command, its JSON, its exit codes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from tests.listen.building import BLOCKS
from tests.listen.sending import GUITAR, played
from tests.listen.takes import NEAR_S, TAKES, Heard, as_midi, folded_drill, played_drill, read_take, strums
from trainer.cli import main
from trainer.files.drill_text import save
from trainer.listen.ear import Ear
from trainer.listen.take import TakeWriter
from trainer.practice.drill import Drill

ROOT = Path(__file__).parents[2]
FILES = sorted(TAKES.glob("*.events.json"))
BY_STRING = {string: string for string in range(1, 7)}
FINE = 25_000
"""Ticks to a quarter of half a second: 20 µs."""

KEYS = {
    "index", "from", "to", "struck_s", "landed_s", "change_ms", "strike_ms", "delay_ms", "gap_ms", "spread_ms",
    "direction", "lateness_ms", "kept_down", "guides", "wrong", "missing", "balance", "clean",
}  # fmt: skip
"""What others rely on in each change."""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path / "home"))
    return tmp_path


def graded(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> dict[str, Any]:
    assert main(["hear", *words, "--json"]) == code
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def landings(document: dict[str, Any], steps: list[list[Heard]]) -> list[float]:
    """Return how far each change that was found landed from the last annotated onset, in seconds."""
    found = []
    for step in range(1, len(steps)):
        truth = max(note.on for note in steps[step])
        away = [
            abs(change["landed_s"] - truth)
            for change in document["changes"]
            if change["steps"] == [step - 1, step] and change["landed_s"] is not None
        ]
        found += [min(away)] if away and min(away) <= NEAR_S else []
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("folded", [False, True], ids=["every strum", "every new shape"])
@pytest.mark.parametrize(
    ("how", "share"),
    [({"channels": BY_STRING}, 0.99), ({"tracks": True}, 0.99), ({}, 0.95)],
    ids=["channels", "tracks", "one channel"],
)
def test_every_change_of_a_real_take_is_found(
    home: Path, capsys: pytest.CaptureFixture[str], path: Path, folded: bool, how: dict[str, Any], share: float
) -> None:
    notes = read_take(path)
    steps = strums(notes)
    drill, steps = folded_drill(steps, path.stem) if folded else (played_drill(steps, path.stem), steps)
    save(home / "played.toml", drill)
    take = home / "take.mid"
    take.write_bytes(as_midi(notes, beat=FINE, **how))
    document = graded(capsys, str(home / "played.toml"), "--take", str(take))
    found = landings(document, steps)
    assert len(found) >= share * (len(steps) - 1)
    assert median(found) <= 0.00002
    assert max(found) <= 0.003
    summary = document["summary"]
    assert summary["changes"] == len(document["changes"])
    assert summary["landed"] == sum(change["landed_s"] is not None for change in document["changes"])


def kept(path: Path, drill: Drill = BLOCKS, shapes: int = 12, seed: int = 4) -> list[Any]:
    """Keep a session of a model player at `path`, and return the changes that it gave live."""
    file = BytesIO()
    ear = Ear(drill, GUITAR, origin=500.0, keep=TakeWriter(file, GUITAR, drill.title).keep)
    changes = [change for at, data in played(drill, shapes, seed) for change in ear.hear(500 + at, data).changes]
    changes += ear.finish().changes
    path.write_bytes(file.getvalue())
    return [change for change in changes if change.done]


@pytest.fixture
def take(home: Path) -> tuple[str, str, list[Any]]:
    """A drill file, a take of it, and what it gave live."""
    save(home / "blocks.toml", BLOCKS)
    return str(home / "blocks.toml"), str(home / "take.mid"), kept(home / "take.mid")


class TestJson:
    def test_what_others_rely_on(self, take: tuple[str, str, list[Any]], capsys: pytest.CaptureFixture[str]) -> None:
        drill, path, live = take
        document = graded(capsys, drill, "--take", path)
        assert [change["index"] for change in document["changes"]] == list(range(len(live)))
        for change, heard in zip(document["changes"], live, strict=True):
            assert change.keys() >= KEYS
            assert change["struck_s"] == pytest.approx(heard.struck_s - 500, abs=1e-5)
            assert change["change_ms"] == heard.change_ms
            assert change["gap_ms"] == heard.gap_ms
            assert change["spread_ms"] == heard.spread_ms
            assert change["clean"] == heard.clean
            assert change["kept_down"] == {str(finger): str(answer) for finger, answer in heard.kept_down.items()}
            assert change["missing"] == [list(note) for note in heard.missing]
        assert document["changes"][0]["from"] == "x 0 2/2 2/3 1/1 0"
        assert document["summary"].keys() >= {"changes", "landed", "clean", "median_change_ms", "median_gap_ms"}

    def test_lateness_is_told_in_tempo(
        self, take: tuple[str, str, list[Any]], capsys: pytest.CaptureFixture[str]
    ) -> None:
        drill, path, _ = take
        assert {c["lateness_ms"] for c in graded(capsys, drill, "--take", path)["changes"]} == {None}
        # The model player keeps half a second to a beat and strays by a few hundredths.
        late = [c["lateness_ms"] for c in graded(capsys, drill, "--take", path, "--tempo", "120")["changes"]]
        assert None not in late
        assert all(abs(ms) < 500 for ms in late)

    def test_lateness_beat_by_beat(self, take: tuple[str, str, list[Any]], capsys: pytest.CaptureFixture[str]) -> None:
        drill, path, live = take
        assert graded(capsys, drill, "--take", path)["beats"] is None
        graded_ = graded(capsys, drill, "--take", path, "--tempo", "120")
        beats = graded_["beats"]
        assert sum(beat["changes"] for beat in beats["by_beat"]) == len(live)
        (first, *_) = beats["by_beat"]
        assert first["beat"] == "1"
        late = [change["lateness_ms"] for change in graded_["changes"]]
        differences = sorted(abs(after - before) for before, after in pairwise(late))
        assert beats["uneven_ms"] == pytest.approx(median(differences))
        assert main(["hear", drill, "--take", path, "--tempo", "120"]) == 0
        assert f"\nAll in all even to {beats['uneven_ms']:.0f} ms." in capsys.readouterr().out

    def test_the_lines_of_the_same(self, take: tuple[str, str, list[Any]], capsys: pytest.CaptureFixture[str]) -> None:
        drill, path, live = take
        assert main(["hear", drill, "--take", path]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert len(lines) == len(live) + 1
        assert lines[0].startswith("1. ")
        assert lines[-1].startswith(f"{sum(change.landed for change in live)} of {len(live)} changes landed")

    def test_nothing_of_the_drill_in_it_is_exit_code_1(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        file = home / "other.mid"
        file.write_bytes(as_midi([Heard(0.5 * n, 0.5 * n + 0.4, 6, 41 + n % 3) for n in range(40)]))
        document = graded(capsys, "Am", "C", "--take", str(file), code=1)
        assert document["changes"] == []
        assert document["summary"] == {
            "changes": 0, "landed": 0, "clean": 0, "median_change_ms": None, "median_gap_ms": None,
        }  # fmt: skip
        assert main(["hear", "Am", "C", "--take", str(file)]) == 1
        assert capsys.readouterr().out == "No change was heard.\n"


class TestBadInput:
    @pytest.mark.parametrize(
        ("data", "said"),
        [
            (b"", "no Standard MIDI File"),
            (b"MThd\0\0\0\6\0\2\0\1\0\x60MTrk\0\0\0\0", "a MIDI file of format 2"),
            (b"MThd\0\0\0\6\0\0\0\1\0\0MTrk\0\0\0\0", "its division is 0"),
            (b"MThd\0\0\0\6\0\0\0\1\0\x60MTrk\xff\xff\xff\xff" + b"\xff" * 1_000_000, "a number longer than four"),
        ],
    )
    def test_one_line_and_exit_code_2(
        self, home: Path, capsys: pytest.CaptureFixture[str], data: bytes, said: str
    ) -> None:
        file = home / "bad\x1b[2J.mid"
        file.write_bytes(data)
        assert main(["hear", "Am", "C", "--take", str(file)]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert len(err.splitlines()) == 1
        assert said in err
        assert "\x1b" not in err

    def test_what_is_no_file(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        os.mkfifo(home / "pipe.mid")
        large = home / "large.mid"
        with large.open("wb") as file:
            file.truncate(17 * 2**20)
        for path, said in (
            (home / "none.mid", "cannot be read: there is no such file"),
            (home, "it is a folder"),
            (home / "pipe.mid", "no file"),
            (large, "larger than 16 MB"),
            (Path("/dev/zero"), "no file"),
        ):
            assert main(["hear", "Am", "C", "--take", str(path)]) == 2
            assert f"{path}: {said}" in capsys.readouterr().err

    def test_a_take_of_a_longer_drill(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        file = BytesIO()
        ear = Ear(BLOCKS, GUITAR, keep=TakeWriter(file, GUITAR, BLOCKS.title).keep)
        ear.expect(5, 1.0)
        (home / "take.mid").write_bytes(file.getvalue())
        assert main(["hear", "Am", "C", "--take", str(home / "take.mid")]) == 2
        assert "the take asks for shape 6 and the drill has 2" in capsys.readouterr().err


def test_in_real_time_it_takes_as_long_as_it_took(home: Path) -> None:
    """A take of a second and a half, in a process of its own."""
    notes = [Heard(at, at + 0.4, s, p) for at, shape in ((0.1, AM_NOTES), (1.1, C_NOTES)) for s, p in shape.items()]
    file = home / "take.mid"
    file.write_bytes(as_midi(notes, channels=BY_STRING))
    command = [sys.executable, "-m", "trainer.cli", "hear", "Am", "C", "--take", str(file), "--real-time"]
    code = (
        "import subprocess, sys, time; began = time.monotonic()\n"
        "subprocess.run(sys.argv[1:], check=True); print(time.monotonic() - began)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *command], capture_output=True, text=True, check=True, cwd=ROOT, timeout=60
    )
    *lines, took = done.stdout.splitlines()
    assert lines[0].startswith("1. Am to C: ")
    assert float(took) >= 1.5


AM_NOTES = {5: 45, 4: 52, 3: 57, 2: 60, 1: 64}
C_NOTES = {5: 48, 4: 52, 3: 55, 2: 60, 1: 64}
