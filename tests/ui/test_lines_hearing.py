"""Line mode with a guitar, without a port: what is reported goes in by hand, what is said and logged is looked at."""

from __future__ import annotations

import errno
import time
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest

from tests.listen.building import AM, D7, C, Playing, drill, step
from tests.listen.sending import sent
from trainer.commands.grades import document
from trainer.errors import ChangeoverError
from trainer.files.guitars import Guitar
from trainer.files.settings import Settings
from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.listen.entries import Expected, Message
from trainer.listen.take import parse_take, replay
from trainer.log.history import reading
from trainer.practice.phases import Mode
from trainer.practice.record import Attempt, Run
from trainer.practice.wiring import Wiring, in_order
from trainer.ui.drilling.ears import Wish
from trainer.ui.drilling.kept_take import KeptTake
from trainer.ui.lines.console import Console
from trainer.ui.lines.practice import LinePractice
from trainer.ui.services import Deliver, Services

WAIT_S = 60
AFTER_ONE = ("Am to C: 0.50 seconds.", "Enter when your fingers leave C: the clock starts.")
DRILL = drill(step(AM, label="Am"), step(C, label="C"), step(D7, label="D7"))
# The playing here is stamped without delays, so none is to be taken off.
WIRING = Wiring(strings=in_order(1), latency_ms={1: 0.0})
PORT = "Some guitar:strings"


class NoPort:
    """A listener that hears nothing; what it would report is given by hand."""

    def __init__(self, _: object, deliver: Deliver, __: object) -> None:
        self.deliver = deliver

    def start(self) -> None:
        pass

    def close(self) -> None:
        pass


class Bench:
    """A practice whose clock is turned by hand, and what it says."""

    def __init__(
        self, home: Path, mode: Mode = Mode.HEARD, tempo: float | None = None, wish: Wish | None = None
    ) -> None:
        self.home, self._out, self.now = home, StringIO(), 100.0
        self.services = Services(Settings(repeat_ms=0, click="none"), home / "settings.toml", home / "practice.sqlite3")
        self.services.clock, self.services.listen = lambda: self.now, self._listen
        self.services.guitars[PORT] = Guitar(WIRING)
        self.practice = LinePractice(
            self.services, DRILL, mode, tempo, Console(self._out), Wish(PORT) if wish is None else wish
        )
        self.practice.begin()

    def _listen(self, wanted: object, deliver: Deliver, clock: object) -> NoPort:
        self.listener = NoPort(wanted, deliver, clock)
        return self.listener

    @property
    def lines(self) -> list[str]:
        """What was said since this was asked for last."""
        said = self._out.getvalue().splitlines()
        self._out.seek(0)
        self._out.truncate()
        return said

    def turn(self, seconds: float = 0.0) -> None:
        """Let time pass."""
        until = self.now + seconds
        while self.now < until:
            self.now = min(self.now + 0.01, until)
            self.practice.loop.turn()
        self.practice.loop.turn()
        deadline = time.monotonic() + WAIT_S
        # The log has a thread of its own, and what it has not answered for is not told.
        while self.practice.conductor.shown is not self.practice.conductor.session:
            assert time.monotonic() < deadline, "the log never answered"
            self.practice.loop.turn()

    def report(self, *reports: Report) -> None:
        self.listener.deliver(reports)
        self.turn()

    def play(self, at: float, shape: str, off: float | None = None, **how: object) -> None:
        """Play a shape, `at` seconds from the start."""
        events = Playing().shape(100 + at, shape, None if off is None else 100 + off, **how).events  # type: ignore[arg-type]  # as shape takes it
        for moment, data in sent(events):
            self.turn(max(0.0, moment - self.now))
            self.report(Arrival(PORT, moment, data))

    def type(self, *typed: str) -> None:
        for text in typed:
            self.practice.take(text, self.now)
            self.turn()

    def close(self) -> list[str]:
        """End it and return what is said then."""
        self.turn(1)
        said = self.lines
        self.practice.close()
        self.services.close()
        return [*said, *self.lines]


@pytest.fixture(autouse=True)
def no_driver_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.listen.ports.missing", lambda: None)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path)
    bench.report(Found(PORT, 100.0, "Some guitar"))
    yield bench
    bench.services.close()


def logged(bench: Bench) -> list[tuple[Run, list[Attempt]]]:
    """Return the runs in the log, the oldest first, each with its changes."""
    with reading(bench.home / "practice.sqlite3") as history:
        return [(run, list(history.of_run(run.id))) for run in reversed(history.runs())]


def test_each_change_is_one_line_and_what_its_end_brings_to_light_one_more(bench: Bench) -> None:
    assert bench.lines == [
        "test. By ear: a MIDI guitar is listened to; just play, every change is timed.",
        "Type ? and enter for every key, s and enter for the next shape, q and enter to end.",
        "Am: string 6 not played, string 5 open, string 4 fret 2 finger 2, string 3 fret 2 finger 3, "
        "string 2 fret 1 finger 1, string 1 open.",
        "Enter begins Am again. Play Am, then C.",
        f"The port is open: {PORT}. Strike Am.",
    ]
    bench.play(1, AM, 1.98)
    bench.play(2, C, 2.3)
    bench.play(3, D7)
    assert bench.close() == [
        "1. Am to C: 40 ms, gap 20 ms. Next D7.",
        "1. string 5 let go too early.",
        "2. C to D7: 715 ms, gap 700 ms; cut off before the change. Next Am.",
        "2 of 2 changes landed, 0 clean, median change 378 ms, median gap 360 ms.",
    ]


def test_what_landed_is_logged_with_its_verdict(bench: Bench) -> None:
    bench.play(1, AM, 1.98)
    bench.play(2, C, 2.98)
    bench.play(3, D7, without=[1])
    bench.type("w a remark")
    bench.close()
    ((run, (attempt,)),) = logged(bench)
    assert (attempt.timing, attempt.source, attempt.clean) == ("heard", PORT, True)
    assert attempt.measures is not None
    assert attempt.measures.device == PORT
    assert attempt.measures.calibration == "two periods (1:0.0 ms)"
    assert (run.timing, run.asked, run.landed, run.remark) == ("heard", 2, 1, "a remark")


def test_the_next_run_begins_with_what_is_played(bench: Bench) -> None:
    assert bench.lines
    for number in range(8):
        bench.play(1 + number, (AM, C, D7)[number % 3], 1.98 + number)
    said = bench.close()
    changes = ("Am to C", "C to D7", "D7 to Am")
    assert [line.split(":")[0] for line in said if "Next" in line] == [f"{n + 1}. {changes[n % 3]}" for n in range(7)]
    assert sum("Run over: 6 of 6 landed" in line for line in said) == 1
    assert "Enter plays on. Hold Am first." in said
    (first, six), (second, one) = logged(bench)
    assert (first.asked, first.landed, len(six)) == (6, 6, 6)
    assert (second.asked, second.landed, len(one)) == (1, 1, 1)


def test_keys_beside_the_guitar(bench: Bench) -> None:
    assert bench.lines
    bench.type("n", "n", "b", "", "r", "s", "zz")
    said = bench.lines
    assert said[:5] == [
        "Enter begins C again. Play C, then D7.",
        "Enter begins D7 again. Play D7, then Am.",
        "Enter begins C again. Play C, then D7.",
        "Enter begins C again. Play C, then D7.",
        "Enter begins Am again. Play Am, then C.",
    ]
    assert any(line.startswith("C: string 6 not played, string 5 fret 3") for line in said)
    assert said[-1] == "No such key. Type ? and enter for every key."
    bench.type("?")
    assert "v: Pluck the shape slowly, string by string, or go on." in bench.lines


def test_a_shape_skipped_is_told_and_gone_on_from_and_is_no_change_of_the_drill(bench: Bench) -> None:
    assert bench.lines
    bench.play(1, AM, 1.98)
    bench.play(2, D7, 2.98)
    bench.play(3, AM, 3.98)
    said = bench.close()
    assert said[0].startswith("1. Am to D7: ")
    assert said[0].endswith("not the next one. Next Am.")
    assert said[1].startswith("2. D7 to Am: ")
    ((_, attempts),) = logged(bench)
    assert len(attempts) == 1
    assert [(one.before, one.after) for one in bench.practice.guitar.changes] == [(0, 2), (2, 0)]


def test_the_last_one_is_taken_back_and_marked(bench: Bench) -> None:
    assert bench.lines
    bench.play(1, AM, 1.98)
    bench.play(2, C, 2.98)
    bench.type("u")
    assert bench.lines[-1] == "Marked: not clean."
    bench.type("undo")
    assert bench.lines[-2:] == [
        "Taken back. Take the shape the change starts from.",
        "Enter begins Am again. Play Am, then C.",
    ]
    bench.close()
    assert [attempts for _, attempts in logged(bench)] in ([], [[]])


def test_a_pedal_means_what_the_key_means(bench: Bench) -> None:
    bench.type("n")
    assert bench.lines
    bench.report(Arrival(PORT, 101.0, b"\xb0\x40\x7f"))
    assert bench.lines == ["Enter begins C again. Play C, then D7."]
    assert bench.practice.conductor.logbook.source == "pedal"


def test_while_it_is_paused_what_is_played_does_not_count(bench: Bench) -> None:
    assert bench.lines
    bench.type("p")
    bench.play(1, AM, 1.98)
    bench.play(2, C, 2.98)
    assert bench.lines == ["Paused. Enter goes on. Hold Am first."]
    bench.type("p")
    assert bench.lines == ["Enter begins Am again. Play Am, then C."]
    bench.close()
    assert logged(bench) == []


def test_lost_found_and_trouble(bench: Bench) -> None:
    bench.play(1, AM)
    bench.play(2, C)
    assert bench.lines
    bench.report(Trouble(PORT, 102.5, "a \x1b[2J gap"), Lost(PORT, 103.0))
    bench.type("n")  # keys go on
    bench.report(Found(PORT, 110.0, "Some guitar"))
    assert [line for line in bench.lines if not line.startswith("1. ")] == [
        f"{PORT}: a ·[2J gap.",
        f"The port is gone: {PORT}. Keys go on; it is heard again as soon as it is back.",
        "Enter begins D7 again. Play D7, then Am.",
        f"The port is back: {PORT}. Strike D7.",
    ]


def test_a_port_that_is_not_there_is_waited_for(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.turn(1.1)
    assert bench.lines[-1] == f"Waiting for the port {PORT}."
    assert bench.close()[-1] == "No change was heard."


def test_a_guitar_that_merely_may_be_there_is_not_waited_for_and_its_pedal_presses(tmp_path: Path) -> None:
    bench = Bench(tmp_path, Mode.PRESSES, wish=Wish())
    bench.turn(1.1)
    assert bench.lines[-1] == "Enter when your fingers leave Am: the clock starts."
    bench.report(Found(PORT, bench.now, "Some guitar"))
    for _ in range(2):
        bench.turn(0.5)
        bench.report(*(Arrival(PORT, bench.now, bytes((0xB0, 64, value))) for value in (127, 0)))
    assert bench.lines == [f"The port is open: {PORT}.", "Enter when C is down: the clock stops.", *AFTER_ONE]
    assert bench.close() == ["Ended: 1 of 1 changes landed."]
    ((_, (attempt,)),) = logged(bench)
    assert (attempt.timing, attempt.source) == ("leave", "pedal")
    assert attempt.change_ms == pytest.approx(500, abs=1)


def test_a_shape_is_checked_string_by_string_and_nothing_of_it_counts(bench: Bench) -> None:
    assert bench.lines
    bench.type("v")
    assert bench.lines == ["Paused. Enter goes on. Hold Am first.", "Check: Pluck string by string, from string 5."]
    bench.report(Arrival(PORT, 101.0, bytes((0x94, 45, 80))), Arrival(PORT, 102.0, bytes((0x93, 52, 80))))
    bench.report(Arrival(PORT, 103.0, bytes((0x92, 56, 80))))
    assert bench.lines == ["Check: String 3 next.", "Check: String 3 sounds G#3, not A3: look at its finger."]
    bench.type("v")
    assert bench.lines == ["Enter begins Am again. Play Am, then C."]
    bench.close()
    assert logged(bench) == []


class TestToTheBeat:
    def play(self, bench: Bench, late_s: float, lost_at: int | None = None) -> list[str]:
        """Play a run of six changes at 240 beats to the minute, a bar each, so late."""
        bench.report(Found(PORT, 100.0, "Some guitar"))
        bench.type("")
        assert bench.lines[-1] == "Hold Am. 4 beats are counted, then play."
        for number in range(7):
            if number == lost_at:
                bench.report(Lost(PORT, bench.now))
            bench.play(1 + number + late_s, (AM, C, D7)[number % 3], 1.97 + number)
        bench.turn(1.2)
        return bench.lines

    def test_the_guitar_answers_how_many_landed(self, tmp_path: Path) -> None:
        bench = Bench(tmp_path, Mode.PACED, 240)
        said = self.play(bench, 0.05)
        assert "6 of 6 landed. Next at 240 beats per minute." in said
        assert [line for line in said if line in {"Am.", "C.", "D7."}] == [
            "Am.",
            "C.",
            "D7.",
            "Am.",
            "C.",
            "D7.",
            "Am.",
        ]
        assert any(line.startswith("1. Am to C: ") and "Next" not in line for line in said)
        assert any(line.startswith("Beat 1: 6 changes, 50 ms late (spread 0), gap ") for line in said)
        assert "All in all even to 0 ms." in said
        assert bench.close()[0] == "Ended: 6 of 6 changes landed."
        ((run, attempts),) = logged(bench)
        assert (run.timing, run.asked, run.landed, run.tempo) == ("beat", 6, 6, 240)
        assert {attempt.tempo for attempt in attempts} == {240}
        late = [attempt.measures.lateness_ms for attempt in attempts if attempt.measures is not None]
        assert late == [pytest.approx(50, abs=0.1)] * 6

    def test_where_the_guitar_was_lost_on_the_way_the_player_is_asked(self, tmp_path: Path) -> None:
        bench = Bench(tmp_path, Mode.PACED, 240)
        assert "How many of 6 landed? Type the number, then enter." in self.play(bench, 0.05, lost_at=3)
        bench.type("4")
        assert any(line.startswith("4 of 6 landed.") for line in bench.lines)
        assert bench.close()[0] == "Ended: 4 of 6 changes landed."


def test_the_take_that_was_named_is_the_one_that_was_played(tmp_path: Path) -> None:
    """Another course is chosen before anything is played, and one more after: neither is a take."""
    path = tmp_path / "take.mid"
    bench = Bench(tmp_path, wish=Wish(PORT, keep=True, take=path))
    bench.turn(0.5)
    bench.report(Found(PORT, bench.now, "Some guitar"))
    bench.type("c")
    bench.play(1, AM, 1.98)
    bench.play(2, C, 2.98)
    bench.type("c")
    closed = bench.close()
    assert closed[-1] == f"Take kept: {path}"
    assert not any("no take" in line for line in closed)
    assert path.exists()


def test_what_is_heard_is_what_the_take_gives(tmp_path: Path) -> None:
    """Runs, a shape skipped, a shape asked for by key, a pause and a lost port, kept and graded again."""
    path = tmp_path / "take.mid"
    bench = Bench(tmp_path, wish=Wish(PORT, keep=True, take=path))
    bench.turn(0.5)
    bench.report(Found(PORT, bench.now, "Some guitar"))
    for number, shape in enumerate((AM, C, D7, AM, D7, AM, C, D7, AM)):
        bench.play(1 + number, shape, 1.98 + number)
    bench.type("n", "p")
    bench.play(12, C, 12.98)
    bench.play(13, D7, 13.98)
    bench.type("p")
    bench.report(Lost(PORT, bench.now), Found(PORT, bench.now, "Some guitar"))
    bench.play(15, C, 15.98)
    bench.play(16, D7, 16.98)
    assert bench.close()[-1] == f"Take kept: {path}"
    take = parse_take(path.read_bytes(), str(path), DRILL)
    again = [change for _, changes in replay(take, DRILL) for change in changes if change.done]
    assert len(again) >= 9
    assert document(DRILL, bench.practice.guitar.changes, bench.practice.guitar.origin) == document(DRILL, again)


def test_each_course_is_heard_with_its_own_shapes(bench: Bench) -> None:
    assert bench.lines
    bench.type("c")
    assert bench.lines[0] == "Now: Am and C, there and back."
    for number in range(3):
        bench.play(1 + number, (AM, C)[number % 2], 1.98 + number)
    said = bench.close()
    assert [line.split(":")[0] for line in said if "Next" in line] == ["1. Am to C", "2. C to Am"]


class TestKeeping:
    def test_a_disk_that_is_full_ends_the_keeping_alone(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        keeping = KeptTake(tmp_path / "take.mid", WIRING, "a drill", 0)
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
        first, second = (KeptTake(None, WIRING, "Été / ../x\x1b", 1_700_000_000) for _ in range(2))
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
                KeptTake(path, WIRING, "a drill", 0)
