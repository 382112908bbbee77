"""What every screen works with: settings, drills, the log and the clocks. Handed to each screen by the app."""

from __future__ import annotations

import os
import random
import sys
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Protocol, TypeAlias

from trainer.errors import ChangeoverError, Problem
from trainer.files import kept as kept_file
from trainer.files import paths
from trainer.files import settings as settings_file
from trainer.files.kept import Kept
from trainer.files.themes import Theme, load_all
from trainer.lookalikes import lacks
from trainer.practice.playing import Playing
from trainer.ui.board.marks import ASCII, MARKS, UNICODE
from trainer.ui.board.picture import Look
from trainer.ui.commands import IDS
from trainer.ui.seat import NoPorts, no_device, seat_name

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

    from trainer.files.guitars import Guitar
    from trainer.files.settings import Settings
    from trainer.hand.reach import Hand
    from trainer.listen.arrival import Report
    from trainer.listen.setup.flow import Setup
    from trainer.log.writer import Log
    from trainer.practice.joins import Plan
    from trainer.practice.phases import Mode
    from trainer.practice.recall import Memory
    from trainer.practice.state import Settings as Practice
    from trainer.sound.player import Opening


_ENDING_S = 0.5
"""How long the end waits for a sound device to close."""
Deliver: TypeAlias = "Callable[[tuple[Report, ...]], None]"
"""Takes what came in, in the listener's own thread."""


class PortListener(Protocol):
    """Hears ports until it is closed."""

    def start(self) -> None:
        """Begin."""

    def close(self) -> None:
        """End."""


def listen_to_ports(wanted: Collection[str] | None, deliver: Deliver, clock: Callable[[], float]) -> PortListener:
    """Return what hears the ports with the keys `wanted`, all of them where it is None; see `listen.ports`."""
    from trainer.listen.ports import Listener

    return Listener(wanted, deliver, clock)


@dataclass
class Services:
    """Shared by all screens of one running app."""

    settings: Settings
    """As they stand; change them through `change`."""
    settings_path: Path
    """The file they are kept in."""
    log_path: Path
    """Where the practice log lies."""
    themes: Mapping[str, Theme] = field(default_factory=dict)
    """Every theme that may be chosen, by name; the first is the one to begin with."""
    guitars: dict[str, Guitar] = field(default_factory=dict)
    """What is known of the guitar on each port, by the port's key; change it through `keep_guitar`."""
    setups: dict[str, Setup] = field(default_factory=dict)
    """How far each guitar's setup was when it was left, by the port's key."""
    kept: Kept = field(default_factory=Kept)
    """What was kept from earlier sittings; change it through `keep_plan` and `keep_caution`."""
    listen: Callable[[Collection[str] | None, Deliver, Callable[[], float]], PortListener] = listen_to_ports
    """What hears MIDI ports."""
    problems: list[Problem] = field(default_factory=list)
    """What was found wrong at the start, for the home screen to show."""
    parting: tuple[str, ...] = ()
    """What is still to be said once the screen is gone."""
    clock: Callable[[], float] = time.perf_counter if sys.platform == "win32" else time.monotonic
    """Monotonic seconds: the clock that Textual stamps keys with."""
    wall: Callable[[], float] = time.time
    """Seconds since 1970-01-01 UTC."""
    new_id: Callable[[], str] = field(default=lambda: str(uuid.uuid4()))
    """A new unique id."""
    wait: Callable[[float, float], float] = random.uniform
    """An unpredictable wait between two bounds, in seconds."""
    opening: Opening | None = None
    """What opens sound devices; None: what is there."""
    fine: bool = True
    """False where the screen lacks signs that the board is drawn with: it is drawn in ASCII then."""
    seat: str | None = None
    """The seat that is played from in a browser; None for a player at the machine itself."""
    ending: list[Callable[[float], None]] = field(default_factory=list)
    """Each waits, so many seconds at most, until something is closed that closes aside."""
    told: set[str] = field(default_factory=set)
    """What is said once and not again."""
    playing: Playing = field(default_factory=Playing)
    """How long was played in this sitting."""
    _unkept: tuple[Problem, ...] = ()
    """Why the last thing to be kept was not."""

    @cached_property
    def log(self) -> Log:
        """The practice log, opened for writing when it is first asked for; keeps nothing where it cannot."""
        from trainer.log.writer import Log

        return Log.open(self.log_path)

    @property
    def log_problem(self) -> Problem | None:
        """Why nothing is kept any more; None as long as entries are, or nothing was to be kept yet."""
        return self.log.problem if "log" in self.__dict__ else None

    def close(self) -> None:
        """Let go of what was opened."""
        if "log" in self.__dict__:
            self.log.close()
        for wait in self.ending:
            wait(_ENDING_S)

    @property
    def hand(self) -> Hand:
        """The player's reach."""
        return self.settings.reach

    @property
    def look(self) -> Look:
        """How the player wants the board drawn."""
        wanted = {glyphs.name: glyphs for glyphs in (UNICODE, ASCII)}[self.settings.glyphs]
        return Look(
            glyphs=wanted if self.fine else ASCII,
            left_handed=self.settings.left_handed,
            upright=self.settings.neck == "upright",
        )

    @property
    def mode(self) -> Mode:
        """The way to practise to begin with."""
        return self.settings.mode

    @property
    def practice(self) -> Practice:
        """What the session takes from the settings."""
        # The session's modules are the largest of all and nothing but a drill needs them.
        from trainer.practice.state import Settings as Practice

        return Practice(repeat_s=self.settings.repeat_ms / 1000)

    @property
    def bell(self) -> bool:
        """True where the beat rings the terminal's bell."""
        return self.settings.bell

    @property
    def today(self) -> date:
        """The day it is where the player is."""
        return date.fromtimestamp(self.wall())

    def to_wall(self, at: float) -> float:
        """Return monotonic seconds as seconds since 1970-01-01 UTC."""
        return self.wall() - (self.clock() - at)

    def change(self, **changes: object) -> None:
        """Change settings at once and in the file. Raises ChangeoverError where the file cannot be written."""
        self.settings = replace(self.settings, **changes)  # type: ignore[arg-type]  # the settings table checks them
        self._put_aside(self.settings_path, settings_file.save(self.settings_path, changes))

    def guitar(self, port: str) -> Guitar:
        """Return what is known of the guitar on a port: how it speaks, and how late it is heard."""
        from trainer.files.guitars import Guitar

        return self.guitars.get(port, Guitar())

    def keep_guitar(self, port: str, guitar: Guitar) -> None:
        """Know a guitar at once and in the file. Raises ChangeoverError where the file cannot be written."""
        from trainer.files import guitars as guitars_file

        self.guitars[port] = guitar
        path = paths.guitars_file()
        self._put_aside(path, guitars_file.save(path, port, guitar))

    def keep_plan(self, title: str, plan: Plan) -> None:
        """Keep a join plan at once and in the file; where that cannot be written, home tells."""
        self.kept = replace(self.kept, joins={**self.kept.joins, title: plan})
        self._keep(lambda path: kept_file.keep_plan(path, title, plan))

    def keep_target(self, title: str, tempo: float | None) -> None:
        """Keep the target tempo of a drill, likewise; None: it has none any more."""
        targets = {**self.kept.targets, title: tempo}
        self.kept = replace(self.kept, targets={name: kept for name, kept in targets.items() if kept is not None})
        self._keep(lambda path: kept_file.keep_target(path, title, tempo))

    def keep_memory(self, title: str, memory: Memory) -> None:
        """Keep how well the shapes of a drill are known by heart, likewise."""
        self.kept = replace(self.kept, memory={**self.kept.memory, title: memory})
        self._keep(lambda path: kept_file.keep_memory(path, title, memory))

    def keep_caution(self, day: date) -> None:
        """Keep that a caution was shown, likewise."""
        self.kept = replace(self.kept, caution_shown=day)
        self._keep(lambda path: kept_file.keep_caution(path, day))

    def keep_scores(self, folder: str) -> None:
        """Keep in which folder a score was looked for, likewise."""
        self.kept = replace(self.kept, scores=folder)
        self._keep(lambda path: kept_file.keep_scores(path, folder))

    def _keep(self, write: Callable[[Path], Path | None]) -> None:
        path = paths.kept_file()
        self.problems = [problem for problem in self.problems if problem not in self._unkept]
        self._unkept = ()
        try:
            self._put_aside(path, write(path))
        except ChangeoverError as error:
            self._unkept = error.problems
            self.problems += error.problems

    def _put_aside(self, path: Path, aside: Path | None) -> None:
        """Tell of a file that could not be read and was put aside, in place of what was wrong with it."""
        if aside is not None:
            self.problems = [problem for problem in self.problems if problem.file != str(path)]
            what = f"could not be read; it lies beside as {aside.name} now, and a new one was begun"
            self.problems.append(Problem(what, str(path), hint="copy over what you still want"))


def open_services() -> Services:
    """Return the services of a player at this machine: settings and themes read."""
    path = paths.settings_file()
    themes, theme_problems = load_all()
    settings, problems = settings_file.load(path, IDS, themes)
    guitars, guitar_problems = _guitars()
    kept, kept_problems = kept_file.load(paths.kept_file())
    given = Services(
        settings=settings,
        settings_path=path,
        log_path=paths.log_file(),
        themes=themes,
        guitars=dict(guitars),
        kept=kept,
        problems=[*problems, *theme_problems, *guitar_problems, *kept_problems],
        # Textual draws on standard error, and a browser has every sign.
        fine=seat_name() is not None or not lacks(sys.__stderr__, "".join(mark.fine for mark in MARKS.values())),
        seat=seat_name(),
    )
    if given.seat is not None:
        given.listen, given.opening = NoPorts, no_device
    return given


def _guitars() -> tuple[Mapping[str, Guitar], tuple[Problem, ...]]:
    """Return the guitars that were set up; who has none waits for nothing of theirs."""
    path = paths.guitars_file()
    if not os.path.lexists(path):
        return {}, ()
    from trainer.files import guitars as guitars_file

    return guitars_file.load(path, IDS)
