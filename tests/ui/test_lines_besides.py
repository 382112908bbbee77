"""Line mode: what sounds and what is said besides are those of the drill screen, each told once."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from io import StringIO
from pathlib import Path

import pytest

from tests.ui.drilling_fakes import DRIFT, LATE_S, Card
from trainer.files import kept, paths
from trainer.files.library import find
from trainer.files.settings import Settings
from trainer.practice.drill import Drill
from trainer.practice.phases import Mode
from trainer.practice.playing import Playing
from trainer.practice.quick import from_shapes
from trainer.practice.warmup import CAUTION
from trainer.sound.metronome import Metronome
from trainer.sound.ways import Choice, Way
from trainer.ui.drilling.quiet import BREAK_S, LOOK_AFTER_S
from trainer.ui.lines.console import Console
from trainer.ui.lines.practice import LinePractice
from trainer.ui.services import Services

PATIENCE_S = 20
STEP_S = 0.01
TWO = from_shapes(["C", "F"])
BREAK = "25 minutes of playing: put the guitar down for five."


class Paper(StringIO):
    """What is printed, on a terminal or not; a bell in it is a sign like any other."""

    def __init__(self, *, terminal: bool) -> None:
        super().__init__()
        self._terminal = terminal

    def isatty(self) -> bool:
        return self._terminal


class Sitting:
    """A practice in lines on a clock turned by hand, with a card that plays to nobody."""

    def __init__(self, given: Services, drill: Drill, mode: Mode, *, terminal: bool = False) -> None:
        self.now, self.paper = 100.0, Paper(terminal=terminal)
        self.services = given
        given.clock = lambda: self.now
        given.wait = lambda low, _: low
        self.practice = LinePractice(given, drill, mode, 120, Console(self.paper))
        self.practice.begin()

    @property
    def lines(self) -> list[str]:
        return self.paper.getvalue().splitlines()

    def until(self, holds: Callable[[], bool]) -> None:
        """Let other threads do their part, in no time of the hand-turned clock."""
        deadline = time.monotonic() + PATIENCE_S
        while not holds():
            assert time.monotonic() < deadline, f"it never came true: {self.lines}"
            self.practice.loop.turn()

    def turn(self, seconds: float) -> list[tuple[float, str]]:
        """Let time pass; return what is said in it and when, in seconds from its beginning."""
        began, said = self.now, []
        for number in range(1, round(seconds / STEP_S) + 1):
            before = len(self.lines)
            self.now = began + number * STEP_S
            self.practice.loop.turn()
            said += [(self.now - began, line) for line in self.lines[before:]]
        return said

    def type(self, typed: str) -> None:
        self.practice.take(typed, self.now)
        self.until(lambda: self.practice.conductor.shown is self.practice.conductor.session)


@pytest.fixture
def given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Services]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    settings = Settings(click="none", easier=False, repeat_ms=0)
    services = Services(settings, tmp_path / "settings.toml", tmp_path / "practice.sqlite3")
    yield services
    services.close()


@pytest.fixture
def through(given: Services) -> Callable[[Way, str], Card]:
    """Have the click come in the way that is there, with why not in a better one."""

    def through(way: Way, why: str) -> Card:
        given.settings = replace(given.settings, click="sound")
        card = Card(lambda: given.clock())

        @contextmanager
        def opening(_: Way, ring: object, __: float, *, only: bool) -> Iterator[tuple[Metronome, Choice]]:
            assert not only
            yield card, Choice(Way.NONE if way is Way.BELL and ring is None else way, "", why)

        given.opening = opening
        return card

    return through


class TestClick:
    def test_a_shape_is_named_on_the_beat_that_the_card_lets_be_heard(
        self, given: Services, through: Callable[[Way, str], Card]
    ) -> None:
        card = through(Way.SOUND, "")
        sitting = Sitting(given, TWO, Mode.PACED)
        sitting.until(lambda: sitting.practice._rig.sounding._click.choice is not None)
        sitting.type("")
        said = [(at, line) for at, line in sitting.turn(7) if line in {"C.", "F."}]
        # Two beats a second, four to each shape, after a bar that is counted in.
        due = [LATE_S + 2.0 * DRIFT * bar for bar in (1, 2, 3)]
        assert [line for _, line in said] == ["C.", "F.", "C."]
        assert [at for at, _ in said] == pytest.approx(due, abs=2 * STEP_S)
        assert ([tempo for tempo, _ in card.played], card.stopped) == ([120], 0)
        sitting.practice.close()
        assert card.stopped == 1
        assert not any("click" in line for line in sitting.lines)

    def test_without_a_device_a_terminals_bell_rings_each_beat_and_that_is_said(
        self, given: Services, through: Callable[[Way, str], Card]
    ) -> None:
        through(Way.BELL, "there is no sound device")
        sitting = Sitting(given, TWO, Mode.PACED, terminal=True)
        sitting.until(lambda: "The terminal's bell rings the beat." in sitting.paper.getvalue())
        sitting.type("")
        sitting.turn(LATE_S + 2 * DRIFT + STEP_S)
        assert sitting.paper.getvalue().count("\a") == 5

    def test_where_there_is_no_bell_either_nothing_is_rung_nor_promised(
        self, given: Services, through: Callable[[Way, str], Card]
    ) -> None:
        through(Way.BELL, "there is no sound device")
        sitting = Sitting(given, TWO, Mode.PACED)
        sitting.until(lambda: "No click by sound: there is no sound device." in sitting.paper.getvalue())
        sitting.type("")
        sitting.turn(2.1)
        assert "bell" not in sitting.paper.getvalue()
        assert "\a" not in sitting.paper.getvalue()

    def test_go_is_said_once_and_rung(self, given: Services) -> None:
        sitting = Sitting(given, TWO, Mode.CUED, terminal=True)
        sitting.type("")
        sitting.turn(2)
        assert [line.strip("\a") for line in sitting.lines].count("GO") == 1
        assert sitting.paper.getvalue().count("\a") == 1
        assert "Enter when F is down." in sitting.paper.getvalue().partition("GO")[2]


class TestBesides:
    def test_a_break_is_said_once_between_changes(self, given: Services) -> None:
        given.playing = Playing(seconds=25 * 60 - 1.0)
        sitting = Sitting(given, TWO, Mode.PRESSES)
        for _ in range(4):
            sitting.type("")
            sitting.turn(1)
        first = sitting.lines.index(BREAK)
        assert sitting.lines[first - 2 : first] == [
            "C to F: 1.00 seconds.",
            "Enter when your fingers leave F: the clock starts.",
        ]
        for _ in range(4):
            sitting.type("")
            sitting.turn(BREAK_S)
        assert sitting.lines.count(BREAK) == 1
        assert not given.playing.due

    def test_the_caution_is_said_before_the_first_stretch_of_a_day(self, given: Services) -> None:
        sitting = Sitting(given, find("stretch"), Mode.PRESSES)
        assert sitting.lines.index(" ".join(CAUTION)) < len(sitting.lines) - 1
        sitting.type("")
        sitting.turn(0.1)
        found, _ = kept.load(paths.kept_file())
        assert found.caution_shown == date.today()
        again = Sitting(given, find("stretch"), Mode.PRESSES)
        assert not any(CAUTION[0] in line for line in again.lines)

    def test_no_caution_where_nothing_is_stretched(self, given: Services) -> None:
        assert not any(CAUTION[0] in line for line in Sitting(given, TWO, Mode.PRESSES).lines)

    def test_an_easier_fingering_is_told_once_and_names_no_key_that_line_mode_has_not(self, given: Services) -> None:
        given.settings = replace(given.settings, easier=True)
        sitting = Sitting(given, from_shapes(["A", "Am"]), Mode.PRESSES)
        told = "Easier from A to Am: A as x 0 2/2 2/3 2/4 0."
        sitting.turn(LOOK_AFTER_S)
        sitting.until(lambda: told in sitting.lines)
        for _ in range(4):
            sitting.type("")
            sitting.turn(1)
        assert sitting.lines.count(told) == 1
