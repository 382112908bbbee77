"""The app on files of its own, for tests that press keys and look at the screen."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from textual.pilot import Pilot

from trainer.files import paths, settings
from trainer.files.themes import load_all
from trainer.log.history import History, reading
from trainer.log.writer import Log
from trainer.sound.beat import Moments, Pattern
from trainer.sound.clicks import Samples
from trainer.sound.metronome import Metronome
from trainer.sound.ways import Choice, Way
from trainer.ui.app import ChangeoverApp
from trainer.ui.drilling.ticker import evenly
from trainer.ui.messages import Open
from trainer.ui.services import Services

_PATIENCE_S = 30.0
"""Longer than anything takes on a machine that is busy with other things."""


def services(log: Log, **changes: Any) -> Services:
    """Return services that write to `log` and begin from the default settings with these changes.

    The click is played to nobody: no test is to sound on the machine it runs on. Keys may follow each other however
    soon: none is taken for one that is held.
    """
    themes, _ = load_all()
    given = Services(settings.Settings(**{"repeat_ms": 0, **changes}), paths.settings_file(), log.path, themes)
    given.log = log
    given.opening = no_sound
    return given


class Silent:
    """A metronome that nobody hears; its beats fall by the program's own clock."""

    def play(self, tempo: float, _: Pattern, start: float | None = None) -> Moments:
        return evenly(time.monotonic() if start is None else start, 60 / tempo)

    def stop(self) -> None:
        pass

    def sound(self, _: Samples) -> bool:
        return True


@contextmanager
def no_sound(wanted: Way, *_: object, **__: object) -> Iterator[tuple[Metronome, Choice]]:
    yield Silent(), Choice(wanted, "nobody hears it")


def app(given: Services, screen: str = "home", **arguments: Any) -> ChangeoverApp:
    return ChangeoverApp(given, Open(screen, **arguments))


@contextmanager
def written(log: Log) -> Iterator[History]:
    """Read the log once all that was handed over to it has been written."""
    log.finish("the last in the row").result(_PATIENCE_S)
    with reading(log.path) as history:
        yield history


def rows(pilot: Pilot[None]) -> list[str]:
    """Return the screen's rows as the terminal would show them."""
    return [strip.text.rstrip() for strip in pilot.app.screen._compositor.render_strips()]


def shows(pilot: Pilot[None], *texts: str) -> bool:
    """Tell whether every one of `texts` stands in some row of the screen."""
    seen = rows(pilot)
    return all(any(text in row for row in seen) for text in texts)


def running_text(pilot: Pilot[None]) -> str:
    """Return what the screen says with no line broken."""
    return " ".join(" ".join(rows(pilot)).split())


async def until(pilot: Pilot[None], holds: Callable[[], bool]) -> None:
    """Wait, a frame at a time, until `holds` is true, and all has been drawn that changes with it."""
    give_up = time.monotonic() + _PATIENCE_S
    while not holds():
        if time.monotonic() > give_up:
            raise AssertionError("it never came true; the screen shows:\n" + "\n".join(rows(pilot)))
        await pilot.pause(0.01)
    await pilot.pause(0)
