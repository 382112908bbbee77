"""The file of guitars: what is written is read, each wrong value is told with its line and left out, the rest kept."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.listen.zones import mpe
from trainer.commands.check import checked
from trainer.errors import ChangeoverError
from trainer.files.guitars import Guitar, load, save
from trainer.fretboard.instrument import Instrument
from trainer.hand.reach import Hand
from trainer.practice.wiring import Trigger, Wiring, in_order

COMMANDS = ("press", "next", "pause")
GUITAR = Guitar(
    Wiring(
        strings=in_order(11, descending=True),
        latency_ms={6: 24.3, 1: 6.1},
        levels={6: 3.0, 1: -2.5},
        calls={Trigger("control", 64): "press", Trigger("note", 36, 10): "next"},
    ),
    spread_ms={6: 1.2, 1: 0.9},
    measured=date(2026, 3, 14),
    player="window seat",
    seat=3,
)


def write(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "guitars.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_no_file_is_no_problem(tmp_path: Path) -> None:
    assert load(tmp_path / "none.toml") == ({}, ())


def test_a_guitar_written_by_hand_is_read(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        """
[guitars."A: strings"]
player = "window seat"
seat = 3
latency_measured = 2026-03-14
channels = {6 = 11, 5 = 12, 4 = 13, 3 = 14, 2 = 15, 1 = 16}
latency_ms = {6 = 24.3, 1 = 6.1}
latency_spread_ms = {6 = 1.2, 1 = 0.9}
levels = {6 = 3, 1 = -2.5}
pedals = {"control 64" = "press", "note 36 channel 10" = "next"}
""",
    )
    assert load(path, COMMANDS) == ({"A: strings": GUITAR}, ())


_CHANNELS = st.permutations(range(1, 17))
_MS = st.integers(0, 500).map(lambda tenths: tenths / 10)
_LEVEL = st.integers(-400, 400).map(lambda tenths: tenths / 10)
_TRIGGERS = st.builds(
    Trigger, st.sampled_from(["control", "note"]), st.integers(0, 127), st.none() | st.integers(1, 16)
)


@st.composite
def guitars(draw: st.DrawFn) -> Guitar:
    count = draw(st.integers(0, 8))
    strings = dict(zip(draw(_CHANNELS)[:count], range(1, count + 1), strict=True))
    latency = {string: draw(_MS) for string in strings.values()}
    wiring = Wiring(
        strings=strings,
        latency_ms=latency,
        latency_all_ms=0.0 if strings else draw(_MS),
        levels={string: draw(_LEVEL) for string in strings.values()},
        bend_semitones=draw(st.sampled_from([2.0, 12.0, 48.0])),
        calls=draw(st.dictionaries(_TRIGGERS, st.sampled_from(COMMANDS), max_size=4)),
    )
    return Guitar(
        wiring,
        {string: draw(_MS) for string in latency},
        draw(st.none() | st.dates()),
        draw(st.sampled_from(["", "Öl", 'a "quoted" one'])),
        draw(st.none() | st.integers(1, 40)),
    )


@given(first=guitars(), second=guitars(), other=guitars(), key=st.sampled_from(["A", "a.b", 'say "x"', "ü: 1", "[x]"]))
@settings(max_examples=60)
def test_what_is_saved_is_read_and_the_other_guitar_stays(
    tmp_path_factory: pytest.TempPathFactory, first: Guitar, second: Guitar, other: Guitar, key: str
) -> None:
    path = tmp_path_factory.mktemp("home") / "guitars.toml"
    save(path, "other", other)
    save(path, key, first)
    save(path, key, second)
    assert load(path, COMMANDS) == ({"other": other, key: second}, ())


def test_comments_and_keys_of_others_stay(tmp_path: Path) -> None:
    path = write(tmp_path, '# mine\n[guitars.a] # the old one\nseat = 1\nnot_known = 1\n[guitars.b]\nplayer = "Öl"\n')
    save(path, "a", Guitar(seat=2))
    text = path.read_text(encoding="utf-8")
    assert "# mine\n[guitars.a] # the old one\nseat = 2\nnot_known = 1\n" in text
    assert 'player = "Öl"' in text


def test_each_wrong_value_is_left_out_alone_and_told_with_its_line(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        """[guitars.a]
seat = "first"
plyer = "x"
latency_measured = "yesterday"
[guitars.a.channels]
6 = 17
5 = 12
treble = 1
[guitars.a.latency_ms]
5 = -3
[guitars.a.pedals]
"control 640" = "press"
"pedal" = "press"
"control 64" = "prss"
"note 36" = "next"
""",
    )
    found, problems = load(path, COMMANDS)
    assert found["a"] == Guitar(Wiring(strings={12: 5}, calls={Trigger("note", 36): "next"}))
    assert [(problem.line, problem.key) for problem in problems] == [
        (2, "guitars.a.seat"),
        (3, "guitars.a.plyer"),
        (4, "guitars.a.latency_measured"),
        (6, "guitars.a.channels.6"),
        (8, "guitars.a.channels.treble"),
        (10, "guitars.a.latency_ms.5"),
        (12, 'guitars.a.pedals."control 640"'),
        (13, "guitars.a.pedals.pedal"),
        (14, 'guitars.a.pedals."control 64"'),
    ]
    assert problems[-1].hint == "did you mean 'press'?"
    assert checked(path, Hand()) == ("guitars", load(path, _ids())[1])


def _ids() -> frozenset[str]:
    from trainer.ui.commands import IDS

    return IDS


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("[guitars.a]\nchannels = {6 = 1, 5 = 1}\n", "two strings"),
        ("[guitars.a]\nmaster = 1\nchannels = {6 = 1}\n", "one string and all"),
    ],
)
def test_strings_that_contradict_each_other_are_told_and_left_out(tmp_path: Path, text: str, what: str) -> None:
    found, (problem,) = load(write(tmp_path, text))
    assert what in problem.what
    assert found["a"] == Guitar()


@pytest.mark.parametrize("text", ["guitars = 1\n", "[guitars]\na = 1\n", "format = 2\n", "[guitars", "\x00"])
def test_a_file_that_holds_no_guitars_gives_none_and_a_reason(tmp_path: Path, text: str) -> None:
    found, problems = load(write(tmp_path, text))
    assert all(guitar == Guitar() for guitar in found.values())
    assert len(problems) == 1


def test_a_file_that_cannot_be_read_is_put_aside_and_named(tmp_path: Path) -> None:
    path = write(tmp_path, "[guitars")
    assert save(path, "a", GUITAR) == tmp_path / "guitars.toml.bad"
    assert (tmp_path / "guitars.toml.bad").read_text(encoding="utf-8") == "[guitars"
    assert load(path)[0] == {"a": GUITAR}
    assert save(path, "a", GUITAR) is None


def test_what_cannot_be_written_is_one_error(tmp_path: Path) -> None:
    (tmp_path / "folder").touch()
    with pytest.raises(ChangeoverError, match=r"not a folder|lies where"):
        save(tmp_path / "folder" / "guitars.toml", "a", GUITAR)


@pytest.mark.parametrize(
    ("guitar", "words"),
    [
        (Guitar(), "none"),
        (Guitar(Wiring(latency_all_ms=15.0)), "15 ms"),
        (Guitar(Wiring(latency_ms={1: 6.07, 6: 24.27})), "two periods (6:24.3 1:6.1 ms)"),
        (GUITAR, "measured 2026-03-14 (6:24.3 1:6.1 ms)"),
        (Guitar(mpe()), "none"),
    ],
)
def test_the_calibration_is_told_in_words(guitar: Guitar, words: str) -> None:
    assert guitar.calibration == words


class TestHowLateStringsAreUntilItIsMeasured:
    def test_strings_told_apart_are_two_periods_late(self) -> None:
        # E2 is 82.407 Hz and E4 329.628 Hz (equal temperament, ISO 16): 24.27 and 6.07 ms for two periods.
        found = Guitar(Wiring(strings=in_order(1))).on(Instrument())
        assert found.wiring.latency_ms[6] == pytest.approx(24.27, abs=0.005)
        assert found.wiring.latency_ms[1] == pytest.approx(6.07, abs=0.005)
        assert found.calibration.startswith("two periods (6:24.3 ")

    @pytest.mark.parametrize("guitar", [Guitar(), GUITAR, Guitar(Wiring(strings=in_order(1), latency_all_ms=12.0))])
    def test_a_guitar_of_one_voice_or_with_a_latency_of_its_own_is_heard_as_it_is(self, guitar: Guitar) -> None:
        assert guitar.on(Instrument()) is guitar
