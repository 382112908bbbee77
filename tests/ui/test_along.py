"""Playing along with the click: what strokes tell, and the screen that keeps the delay it finds."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from textual.pilot import Pilot

from tests.ui.app_fakes import app, running_text, services, until
from trainer.errors import wrong
from trainer.files import paths
from trainer.files.settings import load
from trainer.log.writer import Log
from trainer.sound.beat import Moments, Pattern
from trainer.sound.clicks import Samples
from trainer.sound.metronome import Metronome
from trainer.sound.ways import Choice, Way
from trainer.ui.along import BEATS, HABIT, KEYS, OWN, TEMPO, Along, Outcome, outcome
from trainer.ui.command import Call, Place
from trainer.ui.commands import commands_of

BEAT_S = 60 / TEMPO
CLICKS = [1000 + number * BEAT_S for number in range(BEATS)]


def along(*strokes: float, source: str = KEYS) -> Along:
    found = Along()
    for at in strokes:
        found = found.struck(at, source)
    return found


def played(late_ms: float, spread_ms: float = 8.0, *, source: str = KEYS, seed: int = 1) -> Outcome:
    chance = random.Random(seed)
    strokes = [click + (late_ms + chance.gauss(0, spread_ms)) / 1000 for click in CLICKS]
    return outcome(CLICKS, along(*strokes, source=source), 20)


def test_a_steady_player_gives_a_delay_to_keep() -> None:
    found = played(62)
    assert found.ms == pytest.approx(62, abs=6)
    assert found.words.startswith(f"Taps on the key come {found.ms} ms after a click is sent: median of 12, spread ")
    assert found.words.endswith("Set is 20 ms.")


def test_a_tapper_is_told_what_nobody_can_tell_and_a_guitar_that_it_is_graded_from_there() -> None:
    assert (played(62).meaning, played(62, source="Six:1").meaning) == (HABIT, OWN)


@pytest.mark.parametrize(
    ("late_ms", "spread_ms", "said"),
    [
        (60, 150, "Too uneven to tell: spread "),
        (-40, 5, "ms before a click is sent"),
        (520, 5, "ms after a click is sent"),
    ],
)
def test_what_cannot_be_a_delay_is_not_kept(late_ms: float, spread_ms: float, said: str) -> None:
    found = played(late_ms, spread_ms)
    assert found.ms is None
    assert said in found.words
    assert found.meaning


def test_too_few_strokes_tell_nothing() -> None:
    assert outcome(CLICKS, Along(), 20).ms is None
    few = outcome(CLICKS, along(*CLICKS[:11]), 20)
    assert (few.ms, few.words) == (None, "11 strokes for 16 clicks are too few: 12 at the least.")


def test_strings_of_one_chord_and_repeats_of_a_key_are_one_stroke_and_two_sources_are_not_mixed() -> None:
    found = along(1.0, 1.004, 1.03, 1.75)
    assert found.strokes == (1.0, 1.75)
    assert found.struck(2.5, "Six:1") == found


# The screen


class Card:
    """A sound card that began to click twenty seconds ago, so that a go is over as soon as it has been played."""

    def __init__(self, now: Callable[[], float]) -> None:
        self._now, self.begins, self.stopped = now, 0.0, 0

    def play(self, tempo: float, _: Pattern, start: float | None = None) -> Moments:
        self.begins = self._now() - 20
        return lambda beats: self.begins + float(beats) * 60 / tempo

    def stop(self) -> None:
        self.stopped += 1

    def sound(self, _: Samples) -> bool:
        return True


def play(pilot: Pilot[None], card: Card, late_s: float, taps: int = BEATS) -> None:
    """Begin, and tap so late with each click; the loop does not run meanwhile."""
    commands = {command.id: command for command in commands_of(Place.LATENCY)}
    screen = pilot.app.screen
    screen.run_command(Call(commands["along_go"], 0.0))  # type: ignore[attr-defined]  # a screen of ours
    for number in range(taps):
        at = card.begins + number * BEAT_S + late_s
        screen.run_command(Call(commands["along_tap"], at))  # type: ignore[attr-defined]  # as above


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_a_delay_that_was_found_is_kept_with_enter(log: Log, size: tuple[int, int]) -> None:
    given = services(log)
    card = Card(given.clock)
    asked: list[tuple[Way, float, bool]] = []

    @contextmanager
    def opening(way: Way, _: object, late_s: float, *, only: bool) -> Iterator[tuple[Metronome, Choice]]:
        asked.append((way, late_s, only))
        yield card, Choice(way, "")

    given.opening = opening
    async with app(given, "settings").run_test(size=size) as pilot:
        await pilot.press("c")
        await until(pilot, lambda: "play along" in running_text(pilot) and "ENTER begins." in running_text(pilot))
        # Whatever is set must not be in what is found.
        assert asked == [(Way.SOUND, 0.0, True)]
        play(pilot, card, 0.05, taps=5)
        await until(pilot, lambda: "5 strokes for 16 clicks are too few" in running_text(pilot))
        await pilot.press("r")
        await until(pilot, lambda: "0 strokes for 16 clicks" in running_text(pilot))
        play(pilot, card, 0.05)
        await until(pilot, lambda: "ENTER keeps 50 ms." in running_text(pilot))
        assert HABIT in running_text(pilot)
        assert card.stopped
        await pilot.press("enter")
        await until(pilot, lambda: "Settings" in running_text(pilot))
    assert given.settings.click_late_ms == 50
    assert load(paths.settings_file())[0].click_late_ms == 50


async def test_without_a_sound_device_nothing_is_to_be_found(log: Log) -> None:
    given = services(log)

    def opening(*_: object, **__: object) -> None:
        raise wrong("there is no sound device")

    given.opening = opening  # type: ignore[assignment]  # it never gives anything
    async with app(given, "latency").run_test(size=(60, 20)) as pilot:
        await until(pilot, lambda: "No click can sound: there is no sound device." in running_text(pilot))
        assert "what is seen comes when it should" in running_text(pilot)
        await pilot.press("r", "space")
        assert "strokes" not in running_text(pilot)
