"""Line mode with a guitar, without a port: what is reported goes in by hand, what is said and logged is looked at."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest

from tests.listen.building import AM, D7, C, Playing, drill, step
from tests.listen.sending import sent
from trainer.errors import ChangeoverError
from trainer.files.settings import Settings
from trainer.listen.arrival import Arrival, Found, Lost, Trouble
from trainer.listen.entries import Expected, Message
from trainer.listen.take import parse_take
from trainer.log.history import reading
from trainer.practice.wiring import Wiring, in_order
from trainer.ui.drilling.keeping import Keeping
from trainer.ui.lines.console import Console
from trainer.ui.lines.hearing import HearingPractice
from trainer.ui.services import Services

DRILL = drill(step(AM, label="Am"), step(C, label="C"), step(D7, label="D7"))
WIRING = Wiring(strings=in_order(1))
PORT = "Some guitar:strings"


class Bench:
    """A practice whose clock stands still, and what it says."""

    def __init__(self, home: Path, tempo: float | None = None) -> None:
        self.home, self._out = home, StringIO()
        self.services = Services(Settings(), home / "settings.toml", home / "practice.sqlite3", clock=lambda: 100.0)
        self.practice = HearingPractice(self.services, DRILL, (PORT, WIRING, "none"), tempo, Console(self._out))

    @property
    def lines(self) -> list[str]:
        return self._out.getvalue().splitlines()

    def play(self, at: float, shape: str, off: float | None = None, **how: object) -> None:
        events = Playing().shape(at, shape, off, **how).events  # type: ignore[arg-type]  # as shape takes it
        self.practice.take_in(tuple(Arrival(PORT, moment, data) for moment, data in sent(events)))


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path)
    bench.practice.take_in((Found(PORT, 100.0, "Some guitar"),))
    yield bench
    bench.services.close()


def test_each_change_is_one_line_and_what_its_end_brings_to_light_one_more(bench: Bench) -> None:
    assert bench.lines == [f"The port is open: {PORT}. Strike Am."]
    bench.play(101, AM, 101.98)
    bench.play(102, C, 102.3)
    bench.play(103, D7)
    bench.practice.close()
    assert bench.lines[1:] == [
        "1. Am to C: 40 ms, gap 20 ms. Next D7.",
        "1. string 5 let go too early.",
        "2. C to D7: 715 ms, gap 700 ms; cut off before the change. Next Am.",
        "2 of 2 changes landed, 0 clean, median change 378 ms, median gap 360 ms.",
    ]


def test_what_landed_is_logged_with_its_verdict(bench: Bench) -> None:
    bench.play(101, AM, 101.98)
    bench.play(102, C, 102.98)
    bench.play(103, D7, without=[1])
    bench.practice.take("w a remark", 103.5)
    bench.practice.close()
    bench.services.close()
    with reading(bench.home / "practice.sqlite3") as history:
        (series,) = history.summaries()
        (attempt,) = history.attempts(series.series)
        (run,) = history.runs(newest=3)
    assert (attempt.timing, attempt.source, attempt.clean) == ("heard", PORT, True)
    assert attempt.measures is not None
    assert (attempt.measures.device, attempt.measures.calibration) == (PORT, "none")
    assert (run.timing, run.asked, run.landed, run.remark) == ("heard", 2, 1, "a remark")


def test_keys_beside_the_guitar(bench: Bench) -> None:
    for typed in ("n", "n", "n", "b", "r", "again", "s", "t", "", "zz", "m", "w", "?"):
        bench.practice.take(typed, 100.0)
    said = bench.lines[1:]
    assert said[:6] == ["Strike C.", "Strike D7.", "Strike Am.", "Strike D7.", "Strike Am.", "Strike D7."]
    assert any(line.startswith("Am: string 6 not played, string 5 open") for line in said)
    assert "Nothing to press: the guitar is heard. Now D7." in said
    assert said.count("No such key here. Type ? and enter for every key.") == 2
    assert said[-1] == "Each followed by enter."


def test_a_pedal_means_what_the_key_means(bench: Bench) -> None:
    bench.practice.take_in((Arrival(PORT, 101.0, b"\xb0\x40\x7f"),))
    assert bench.lines[1:] == []  # the usual pedal presses, and there is nothing to press here


def test_lost_found_and_trouble(bench: Bench) -> None:
    bench.play(101, AM)
    bench.play(102, C)
    bench.practice.take_in((Trouble(PORT, 102.5, "a \x1b[2J gap"), Lost(PORT, 103.0)))
    bench.practice.take_in((Found(PORT, 110.0, "Some guitar"),))
    assert bench.lines[-3:] == [
        f"{PORT}: a ·[2J gap.",
        f"The port is gone: {PORT}. It is heard again as soon as it is back.",
        f"The port is back: {PORT}. Strike C.",
    ]


def test_in_tempo_lateness_is_measured_from_the_count_in_on(tmp_path: Path) -> None:
    bench = Bench(tmp_path, 120)
    bench.practice.take_in((Found(PORT, 100.0, "Some guitar"),))
    assert bench.lines[-1] == "In tempo, 120 to the minute: 4 beats are counted, then play."
    # Four beats after one to get ready: Am on 102.5, C on 104.5.
    bench.play(102.5, AM, 104.4)
    bench.play(104.55, C)
    bench.practice.close()
    bench.services.close()
    (change,) = bench.practice.changes
    assert change.lateness_ms == pytest.approx(50, abs=0.1)
    with reading(tmp_path / "practice.sqlite3") as history:
        (series,) = history.summaries()
    assert series.series.tempo == 120


class TestKeeping:
    def test_a_disk_that_is_full_ends_the_keeping_alone(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        keeping = Keeping(tmp_path / "take.mid", WIRING, "a drill", 0)
        keeping.keep(Message(1.0, b"\x90\x40\x40"))

        def full(_: object) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(keeping._writer, "keep", full)
        keeping.keep(Message(2.0, b"\x80\x40\x40"))
        assert keeping.problem is not None
        keeping.keep(Message(3.0, b"\x90\x40\x40"))
        assert keeping.end().startswith("The take is kept up to where the file could not be written: ")
        take = parse_take((tmp_path / "take.mid").read_bytes(), "take.mid")
        assert take.entries == (Message(1.0, b"\x90\x40\x40"),)

    def test_it_is_named_by_drill_and_date_and_never_written_over(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path))
        first, second = (Keeping(None, WIRING, "Été / ../x\x1b", 1_700_000_000) for _ in range(2))
        assert first.path.parent == tmp_path / "takes"
        assert first.path.name.endswith("-ete-x.mid")
        assert second.path.stem == f"{first.path.stem}-2"
        for keeping in (first, second):
            keeping.keep(Expected(0, 1))
            assert keeping.end() == "Nothing was played: no take is kept."
            assert not keeping.path.exists()

    def test_where_no_file_can_be(self, tmp_path: Path) -> None:
        (tmp_path / "file").write_text("x")
        for path in (tmp_path / "file", tmp_path, tmp_path / "file" / "take.mid", tmp_path / "a\0b"):
            with pytest.raises(ChangeoverError):
                Keeping(path, WIRING, "a drill", 0)
