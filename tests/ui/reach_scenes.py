"""Every screen in a state that shows what it has, for tests of how well it is read and reached."""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from textual.pilot import Pilot

from tests.scores.building import HEAD, document, measure, note
from tests.ui.app_fakes import app, services, shows, until
from tests.ui.room.scenes import Chair, to_its_last_beat
from trainer.log.writer import Log
from trainer.practice.phases import Mode
from trainer.practice.quick import from_shapes
from trainer.practice.record import Attempt, Run, Timing
from trainer.practice.room import Phase
from trainer.ui.room.desk import Group
from trainer.ui.screens.room import RoomScreen

DRILL = from_shapes(["Am", "C", "F", "G"])
SIZES = ((60, 20), (80, 24), (120, 40))
"""The smallest window there is, the usual one, and a large one."""
_FAST = 240.0
_EM_TO_AM = "E2 A2 D3 G3 B3 E4 | 0 | 0 2/1 2/2 0 0 0 | x 0 2/2 2/3 1/1 0"
_SCORE = "piece.musicxml"
_NOTHING: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Scene:
    """A screen, what is done on it, and what it shows then."""

    name: str
    screen: str
    shows: str
    """What stands on the screen when it is there."""
    keys: tuple[str, ...] = ()
    given: Mapping[str, Any] = field(default_factory=dict)
    plays: str = ""
    """What is waited for before the last key; empty: nothing."""


def _group() -> Group:
    return Group("Mondays", tuple(Chair(f"s{n}", n) for n in range(1, 7)), lambda *_: "")


def _drill(mode: Mode, **more: Any) -> Mapping[str, Any]:
    return {"drill": DRILL, "mode": mode, **more}


SCENES = (
    Scene("home", "home", "due for"),
    Scene("drill, two presses", "drill", "when your fingers leave", given=_drill(Mode.PRESSES)),
    Scene("drill, in flight", "drill", "when C is down", ("space",), _drill(Mode.PRESSES)),
    Scene("drill, to the beat", "drill", "starts", given=_drill(Mode.PACED)),
    Scene("drill, counted in", "drill", "count-in", ("space",), _drill(Mode.PACED)),
    Scene("drill, walk", "drill", "shows the next", given=_drill(Mode.WALK)),
    Scene("drill, tuning", "drill", "open strings", ("t",), _drill(Mode.PRESSES)),
    Scene("join plan", "drill", "practises", ("o",), _drill(Mode.PRESSES)),
    Scene("library", "library", "trains: anything"),
    Scene("progress", "progress", "Em → Am"),
    Scene("progress, weeks", "progress", "Progress · weeks", ("w",)),
    Scene("progress, runs", "progress", "thumb too high", ("r",)),
    Scene("hand", "hand", "Not enough yet"),
    Scene("bench", "bench", "drills this way", given={"drill": DRILL}),
    Scene("warm-up", "warmup", "begins"),
    Scene("room", "room", "change 1", given={"drill": DRILL}),
    Scene("marks", "marks", "a key marks who missed", ("space", "2"), {"drill": DRILL, "tempo": _FAST}, "had it"),
    Scene("settings", "settings", "The colours of the screen"),
    Scene("click delay", "latency", "begins"),
    Scene("make", "make", "from: 0 0 0 1/1 0 0", ("down", "down", "1")),
    Scene("guitar", "guitar", "No MIDI port"),
    Scene("scores", "scores", "Scores are files"),
    Scene("score", "score", "drills these"),
    Scene("score, notes", "score", "not understood: figured-bass in bar 2", ("i",), plays="drills these"),
    Scene("help", "help", "Keys: home"),
)
"""Every screen there is, some of them in more states than one."""


def seed(log: Log) -> None:
    """Write a short run into the log, and a score beside it."""
    log.begin(Run("run", "Two chords", 1000.0, Timing.LEAVE))
    for number, ms in enumerate((900.0, 700.0, 800.0, 650.0, 600.0)):
        log.add(Attempt(f"a{number}", "run", _EM_TO_AM, 1000.0 + number, Timing.LEAVE, "keys", ms)).result(5)
    log.finish("run", remark="thumb too high").result(5)
    bars = [
        measure(note("C3", 16, string=5, fret=3, finger=3), 1, HEAD),
        measure(note("E3", 16, string=4, fret=2) + "<figured-bass/>", 2),
    ]
    (log.path.parent / _SCORE).write_text(document(*bars), encoding="utf-8")


async def over_soon(pilot: Pilot[None]) -> None:
    """Have the round that was begun end with its next beat."""
    screen = pilot.app.screen
    assert isinstance(screen, RoomScreen)
    await until(pilot, lambda: screen.desk.room.phase is Phase.PLAYING)
    to_its_last_beat(screen.desk)


@asynccontextmanager
async def seen(
    scene: Scene, log: Log, size: tuple[int, int] = (80, 24), settings: Mapping[str, Any] = _NOTHING
) -> AsyncIterator[Pilot[None]]:
    """Run the app up to `scene`."""
    screen, given = scene.screen, dict(scene.given)
    if screen == "marks":
        screen, given["group"] = "room", _group()
    if screen == "score":
        given["path"] = log.path.parent / _SCORE
    async with app(services(log, **settings), screen, **given).run_test(size=size) as pilot:
        await pilot.pause()
        for number, key in enumerate(scene.keys):
            if scene.plays and number == len(scene.keys) - 1:
                await until(pilot, lambda: shows(pilot, scene.plays))
            await pilot.press(key)
            if scene.screen == "marks" and key == "space":
                await over_soon(pilot)
        await until(pilot, lambda: shows(pilot, scene.shows))
        yield pilot
