"""`changeover ports`: what is there, what comes in, what is missing."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.listen.jack import ROOT, ScriptedGuitar
from trainer.cli import main
from trainer.commands.ports import lines
from trainer.files.guitars import Guitar, save
from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.practice.wiring import Wiring, in_order


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
    return tmp_path


def test_ports_are_listed_with_what_is_known_of_them(jack: str, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wiring = Wiring(strings=in_order(11, 6, descending=True), levels={1: 3.0})
    save(home / "guitars.toml", "Scripted:strings #2", Guitar(wiring, player="window seat", seat=3))
    with ScriptedGuitar("Scripted", ports=2):
        assert main(["ports"]) == 0
        assert capsys.readouterr().out.splitlines() == [
            "Scripted:strings: not set up yet",
            "Scripted:strings #2: 6 strings, each on its channel; latency none; levelled; "
            "played by window seat; seat 3",
        ]
        assert main(["ports", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {
        "ports": [
            {"name": "Scripted:strings", "key": "Scripted:strings", "guitar": None},
            {
                "name": "Scripted-01:strings",
                "key": "Scripted:strings #2",
                "guitar": {
                    "channels": {"6": 11, "5": 12, "4": 13, "3": 14, "2": 15, "1": 16},
                    "calibration": "none",
                    "levelled": True,
                    "player": "window seat",
                    "seat": 3,
                },
            },
        ],
        "missing": None,
    }


def test_what_is_wrong_in_the_file_of_guitars_is_told_beside_the_ports(
    jack: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "guitars.toml").write_text("guitars = 1\n", encoding="utf-8")
    with ScriptedGuitar("Scripted"):
        assert main(["ports"]) == 0
    captured = capsys.readouterr()
    assert captured.out == "Scripted:strings: not set up yet\n"
    assert "guitars.toml:1: guitars: " in captured.err


def test_no_ports_is_an_answer_too(jack: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ports"]) == 0
    assert capsys.readouterr().out.startswith("No MIDI ports.")


@pytest.mark.parametrize("how", [[], ["--watch"]])
def test_what_is_missing_is_said(
    how: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    assert main(["ports", *how]) == 1
    out = capsys.readouterr().out
    assert out.startswith("MIDI ports need python-rtmidi, which is not installed (")
    assert out.count("\n") == 1
    assert main(["ports", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["ports"] == []


def test_what_comes_in_is_printed_a_line_each_until_interrupted(jack: str) -> None:
    command = [sys.executable, "-m", "trainer.cli", "ports", "--watch"]
    with (
        ScriptedGuitar("Scripted") as guitar,
        subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT, env=dict(os.environ)
        ) as watching,
    ):
        assert watching.stdout is not None
        assert watching.stderr is not None
        try:
            assert watching.stdout.readline().startswith("Play")
            assert watching.stdout.readline().endswith("  Scripted:strings  is heard\n")
            guitar.send(b"\x95\x28\x5a")
            assert watching.stdout.readline().endswith("  Scripted:strings  channel  6  E2 velocity 90\n")
            guitar.close()
            assert "Scripted:strings  is gone" in watching.stdout.readline()
            watching.send_signal(signal.SIGINT)
            assert watching.wait(20) == 0
            assert watching.stdout.read() == "\n"
            assert watching.stderr.read() == ""
        finally:
            watching.kill()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\x80\x40\x00", "channel  1  E4 ends"),
        (b"\x91\x40\x00", "channel  2  E4 ends"),
        (b"\xb0\x40\x7f", "channel  1  controller 64 value 127"),
        (b"\xe0\x00\x60", "channel  1  bend +4096"),
        (b"\xcf\x05", "channel 16  program 5"),
        (b"\xff", "reset"),
    ],
)
def test_messages_in_words(data: bytes, words: str) -> None:
    assert list(lines(Arrival("port", 1.0, data))) == [f"port  {words}"]


def test_news_of_ports_in_words() -> None:
    news: list[Report] = [
        Found("port", 1.0),
        Lost("port", 2.0),
        Trouble("port", 3.0, "too much"),
        Trouble("", 4.0, "no MIDI"),
    ]
    assert [line for report in news for line in lines(report)] == [
        "port  is heard",
        "port  is gone; it is heard again as soon as it is back",
        "port  too much",
        "no MIDI",
    ]
