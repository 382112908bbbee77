"""No word is cut on the drill screen, in any phase of any way to practise, in a small window and in large ones."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import astuple, replace
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from tests.ui.app_fakes import app, rows, services
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice import events
from trainer.practice.drill import Drill
from trainer.practice.effects import StartBeat
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode, Phase
from trainer.practice.quick import from_shapes
from trainer.practice.record import Texture
from trainer.ui.command import key_text
from trainer.ui.commands import COMMANDS
from trainer.ui.drilling.explaining import fingers, tuning
from trainer.ui.screens.drill import DrillScreen
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words

_WORD = re.compile(r"[A-Za-z]{2,}(?:\.\.\.)?")
"""A word, with the dots where it was cut."""
_KEYS = {word for one in COMMANDS for text in (one.label, *map(key_text, one.keys)) for word in _WORD.findall(text)}
_OTHERS = {"mind", "then", "the", "run", "is", "over", "last", "times"}
"""Words of widgets themselves."""


def named(*names: str) -> Drill:
    drill = from_shapes(["C", "F"])
    steps = (replace(step, label=name) for step, name in zip(drill.steps, names, strict=True))
    return replace(drill, title="Two", steps=tuple(steps), caution="Stop at the first pain; rest before it aches.")


def texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple | list):
        for part in value:
            yield from texts(part)


def vocabulary(screen: DrillScreen) -> set[str]:
    """Return every word that the screen may show now, as it stands in whole texts."""
    now = screen._now
    passing = screen._passings[now.pair]
    given = (
        astuple(now),
        [line.parts for line in fingers(passing, screen.services.look.glyphs)],
        tuning(screen._drill.instrument),
    )
    words = {word for text in texts(given) for word in _WORD.findall(text)}
    return words | _KEYS | _OTHERS | {word.upper() for word in _KEYS}


def look(pilot: Pilot[None]) -> Phase:
    """Hold what is on the screen against what it has to say; return the phase."""
    screen = pilot.app.screen
    assert isinstance(screen, DrillScreen)
    known, board = vocabulary(screen), screen.query_one("#board").region
    for number, row in enumerate(rows(pilot)):
        beside = row[board.right :] if board.y <= number < board.bottom else row
        cut = [word for word in _WORD.findall(beside) if word not in known]
        assert not cut, (cut, "\n".join(rows(pilot)))
    prompt = rows(pilot)[screen.query_one(Prompt).region.y]
    assert any(text and prompt.endswith(text) for text in (screen._now.prompt, screen._now.brief)), prompt
    region = screen.query_one(Words).region
    told = " ".join(" ".join(rows(pilot)[region.y : region.bottom]).split())
    assert told.startswith(screen._now.words) or "; ..." in told or told == screen._now.message, told
    return screen.conductor.shown.phase


def at(screen: DrillScreen) -> float:
    return screen.services.clock()


def beats(screen: DrillScreen) -> Iterator[events.Event]:
    """Yield ticks until the run is over."""
    while isinstance(clock := screen.conductor.session.clock, StartBeat):
        yield events.Beat(at(screen), clock.clock)


def heard(screen: DrillScreen, index: int) -> events.Event:
    before, after = screen.conductor.session.pair
    change = HeardChange(
        *(index, before, after, True, Texture.BLOCK, 100.0 + index),
        landed_s=101.0 + index,
        change_ms=1234.0,
        gap_ms=-1234.0,
        spread_ms=1234.0,
        clean=True,
        done=True,
    )
    return events.Heard(at(screen), change)


def told(screen: DrillScreen, mode: Mode) -> Iterator[events.Event]:
    """Yield what leads through every phase of `mode`."""
    match mode:
        case Mode.WALK:
            yield events.Press(at(screen))
        case Mode.PACED:
            yield events.Press(at(screen))
            yield from beats(screen)
            yield events.Said(at(screen), 3)
        case Mode.PRESSES:
            while screen.conductor.session.phase is not Phase.ENDED:
                yield events.Leave(at(screen))
                yield events.Landed(at(screen) + 12.345)
                yield events.MarkUnclean(at(screen))
        case Mode.CUED:
            yield events.Press(at(screen))
            while screen.conductor.session.phase is not Phase.ENDED:
                assert screen.conductor.session.clock is not None
                yield events.Go(at(screen), screen.conductor.session.clock.clock)
                yield events.Landed(at(screen) + 12.345)
        case Mode.HEARD:
            index = 0
            while screen.conductor.session.phase is not Phase.ENDED:
                yield heard(screen, index)
                index += 1
    yield events.Restart(at(screen))
    yield events.Pause(at(screen))


PHASES = {
    Mode.WALK: {Phase.WALK},
    Mode.PACED: {Phase.READY, Phase.COUNT_IN, Phase.PLAYING, Phase.ASK, Phase.ENDED, Phase.PAUSED},
    Mode.PRESSES: {Phase.HOLD, Phase.CHANGING, Phase.ENDED, Phase.PAUSED},
    Mode.CUED: {Phase.READY, Phase.WAIT, Phase.CHANGING, Phase.ENDED, Phase.PAUSED},
    Mode.HEARD: {Phase.LISTENING, Phase.ENDED, Phase.PAUSED},
}


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)], ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize(("glyphs", "names"), [("unicode", ("C", "F")), ("ascii", ("Cmaj7 second", "Fmaj7 barred"))])
@pytest.mark.parametrize("mode", Mode)
async def test_no_word_is_cut(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    mode: Mode,
    names: tuple[str, ...],
    glyphs: str,
    size: tuple[int, int],
) -> None:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        given = app(services(log, glyphs=glyphs), "drill", drill=named(*names), mode=mode, tempo=30)
        async with given.run_test(size=size) as pilot:
            screen = pilot.app.screen
            assert isinstance(screen, DrillScreen)
            await pilot.pause()
            seen = {look(pilot)}
            for event in told(screen, mode):
                before = screen.conductor.session
                screen.conductor.send(event)
                if not isinstance(event, events.Beat) or screen.conductor.session.beat != before.beat:
                    await pilot.pause()
                    seen.add(look(pilot))
            assert seen == PHASES[mode]
