"""`changeover finger` on scores: Carcassi's prelude in A minor (op. 59, public domain) as MusicXML and as a MIDI file.

What the notes are is known from elsewhere: `tests/data/fingerings` holds the facts of the printed edition.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import mido  # type: ignore[import-untyped]  # it ships no types
import pytest

from tests.scores.building import HEAD, document, measure, note
from trainer.cli import main
from trainer.files.drills import load
from trainer.fretboard.pitch import note_name

FACTS = Path(__file__).parents[1] / "data" / "fingerings" / "CarcassiM__O59__TwoMinorPreludes__TwoMinorPreludes.json"
BARS = 4
BAR = Fraction(4)
"""Quarters in a bar."""


def printed() -> list[dict[str, Any]]:
    """Return the notes that are struck in the first bars of the first prelude, once each, in quarters."""
    found = []
    for each in json.loads(FACTS.read_text(encoding="utf-8"))["notes"]:
        if each["sc"] == 1 and each["m"] <= BARS and "u" not in each and not each.get("ti"):
            onset = 4 * Fraction(each["t"])
            end = 4 * Fraction(each["e"]) if "e" in each else onset + 4 * Fraction(each["d"])
            found.append({"bar": each["m"], "at": onset, "end": end, "midi": each["p"], "finger": each.get("f")})
    return found


def _bar(number: int) -> str:
    """Return a bar of MusicXML, each note put at its place by itself; sixteenths are counted."""

    def words() -> Iterator[str]:
        for each in printed():
            if each["bar"] != number:
                continue
            start = int((each["at"] - BAR * (number - 1)) * 4)
            length = int(min(each["end"], BAR * number) * 4) - int(each["at"] * 4)
            if start:
                yield f"<forward><duration>{start}</duration></forward>"
            yield note(note_name(each["midi"]), length, finger=each["finger"])
            yield f"<backup><duration>{start + length}</duration></backup>"
        yield f"<forward><duration>{int(BAR * 4)}</duration></forward>"

    return measure("".join(words()), number, HEAD if number == 1 else "")


@pytest.fixture
def musicxml(tmp_path: Path) -> str:
    path = tmp_path / "prelude.musicxml"
    path.write_text(document(*(_bar(number) for number in range(1, BARS + 1))), encoding="utf-8")
    return str(path)


@pytest.fixture
def midi(tmp_path: Path) -> str:
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    events = sorted(
        (int(when * 480), kind == "note_on", kind, each["midi"])
        for each in printed()
        for kind, when in (("note_on", each["at"]), ("note_off", each["end"]))
    )
    now = 0
    for tick, _, kind, pitch in events:
        track.append(mido.Message(kind, note=pitch, velocity=64, time=tick - now))
        now = tick
    path = tmp_path / "prelude.mid"
    file.save(path)
    return str(path)


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["finger", *words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def _heads(found: dict[str, Any]) -> list[tuple[int, Fraction, int]]:
    return [(each["bar"], Fraction(each["onset"]), each["midi"]) for each in found["notes"]]


def _facts(first: int = 1, last: int = BARS) -> list[tuple[int, Fraction, int]]:
    struck = [(one["bar"], one["at"] - BAR * (first - 1), one["midi"]) for one in printed()]
    return sorted(one for one in struck if first <= one[0] <= last)


def test_every_note_head_of_the_bars_is_there_once(musicxml: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert _heads(_json(capsys, musicxml)) == _facts()
    assert _heads(_json(capsys, musicxml, "--bars", "2-3")) == _facts(2, 3)


def test_printed_fingers_are_kept_unless_they_are_not_asked_for(
    musicxml: str, capsys: pytest.CaptureFixture[str]
) -> None:
    given = {(one["bar"], one["at"], one["midi"]): one["finger"] for one in printed() if one["finger"] is not None}
    kept, free = _json(capsys, musicxml), _json(capsys, musicxml, "--keep", "pitches")
    fingers = {head: each["finger"] for head, each in zip(_heads(kept), kept["notes"], strict=True)}
    assert len(given) > 5
    assert {head: fingers[head] for head in given} == given
    assert _heads(free) == _heads(kept)
    assert [each["finger"] for each in free["notes"]] != [each["finger"] for each in kept["notes"]]


def test_a_midi_file_is_fingered_from_its_pitches(midi: str, musicxml: str, capsys: pytest.CaptureFixture[str]) -> None:
    found = _json(capsys, midi, "--bars", "1-2", "--alternatives", "1")
    assert _heads(found) == _facts(1, 2)
    assert len(found["alternatives"]) <= 1
    for each in found["notes"]:
        assert each["midi"] == (64, 59, 55, 50, 45, 40)[each["string"] - 1] + each["fret"]
        assert (each["finger"] == 0) == (each["fret"] == 0)


def test_a_pin_goes_before_the_print(musicxml: str, capsys: pytest.CaptureFixture[str]) -> None:
    kept = _json(capsys, musicxml, "--bars", "1")
    number = next(at for at, each in enumerate(kept["notes"], start=1) if each["finger"] == 3)
    assert _json(capsys, musicxml, "--bars", "1", "--pin", f"{number}:2")["notes"][number - 1]["finger"] == 2


def test_the_fingering_shown_is_the_one_that_is_written(
    musicxml: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "prelude.toml"
    shown = _json(capsys, musicxml, "--bars", "1-2", "--keep", "pitches", "-o", str(target))
    drill, problems = load(target)
    assert drill is not None
    assert problems == ()
    assert drill.about == "All fingers are the program's."
    held: list[tuple[int, int, int]] = []
    for step in drill.steps:
        for stroke in step.plucked.strokes:
            stops = [(string, step.shape[string]) for string in stroke.strings]
            held += [(string, stop.fret, stop.finger or 0) for string, stop in stops if stop is not None]
    assert sorted(held) == sorted((each["string"], each["fret"], each["finger"]) for each in shown["notes"])
    assert main(["finger", musicxml, "--bars", "1-2", "-o", str(target)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert main(["finger", musicxml, "--bars", "1-2", "-o", str(target), "--force"]) == 0
    assert 'about = "Fingered as printed."' in target.read_text(encoding="utf-8")


BAD = (
    (("--bars", "90"), 2, "90"),
    (("--part", "bagpipe"), 2, "no part is called 'bagpipe'"),
    (("--pin", "999:1"), 2, "no note 999"),
    (("--bars", "1", "--keep", "pitches", "--pin", "2:1", "--pin", "4:9"), 2, "by finger 9"),
    (("--bars", "1", "--pin", "1:s1"), 1, "A2"),
)


@pytest.mark.parametrize(("words", "code", "said"), BAD)
def test_what_cannot_be_done_is_one_line(
    words: tuple[str, ...], code: int, said: str, musicxml: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["finger", musicxml, *words]) == code
    streams = capsys.readouterr()
    assert streams.out == ""
    assert said in streams.err
    assert streams.err.count("\n") == 1


def test_a_file_that_is_no_score_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "noise.mid"
    path.write_bytes(b"\x00\x1b[31mnoise")
    assert main(["finger", str(path)]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "\x1b" not in err
