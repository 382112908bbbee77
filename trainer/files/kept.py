"""The file of what is kept from sitting to sitting: join plans under way, target tempi, how well shapes are known by
heart, the day a caution was last shown, and the folder in which a score was last looked for.

    caution_shown = 2026-03-14
    scores = "/home/player/Music"
    [joins]
    "A drill's title" = "1-4 5-8 | passed 0 | at 1 good 0 missed 0"
    [targets]
    "A drill's title" = 96.0
    [memory]
    "A drill's title" = "2:1 0:0"

Whatever is wrong in the file, practice begins: what cannot be read is left out, and says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from trainer.errors import Problem
from trainer.files import toml
from trainer.files.kinds import DAY, number, parsed, text
from trainer.practice.tempo import FASTEST, SLOWEST

if TYPE_CHECKING:
    from trainer.practice.joins import Plan
    from trainer.practice.recall import Memory

FORMAT = 1
"""Number of the format this program writes and the highest it reads."""

_HEADER = f"# What Changeover keeps from sitting to sitting. It may be removed at any time.\nformat = {FORMAT}\n"
_JOINS = "joins"
_TARGETS = "targets"
_MEMORY = "memory"
_CAUTION = "caution_shown"
_SCORES = "scores"


def _plan(written: str) -> Plan:
    from trainer.practice import joins  # who has no plan under way waits for nothing of it

    return joins.read(written)


def _memory(written: str) -> Memory:
    from trainer.practice import recall  # likewise

    return recall.read(written)


_PLAN = parsed("a join plan", _plan, 20_000)
_TEMPO = number(SLOWEST, FASTEST)
_MEMORY_TEXT = parsed("stages of shapes", _memory, 20_000)


@dataclass(frozen=True, slots=True)
class Kept:
    """What was kept."""

    joins: Mapping[str, Plan] = field(default_factory=lambda: MappingProxyType({}))
    """Join plans under way, by the title of their drill."""
    targets: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Target tempi in beats per minute, by the title of their drill."""
    memory: Mapping[str, Memory] = field(default_factory=lambda: MappingProxyType({}))
    """How well the shapes of a drill are known by heart, by its title."""
    caution_shown: date | None = None
    """The day a caution was shown last."""
    scores: str = ""
    """The folder in which a score was looked for last; empty where none was."""


def load(path: Path) -> tuple[Kept, tuple[Problem, ...]]:
    """Return what the file at `path` keeps and what is wrong with it; nothing where there is no file."""
    try:
        path.lstat()
    except FileNotFoundError:
        return Kept(), ()
    except (OSError, ValueError):
        # Something is there, or may be: reading it says why it cannot be had.
        pass
    document, problems = toml.Document.load(path)
    if document is None:
        return Kept(), tuple(problems)
    if not toml.take_format(document.top, FORMAT):
        return Kept(), tuple(problem for problem in document.finish() if not problem.warning)
    shown = document.top.take(_CAUTION, DAY, None)
    scores = document.top.take(_SCORES, text(4096), "")
    plans, targets, memory = (
        MappingProxyType(document.top.table(name).rest(kind))
        for name, kind in ((_JOINS, _PLAN), (_TARGETS, _TEMPO), (_MEMORY, _MEMORY_TEXT))
    )
    return Kept(plans, targets, memory, shown, scores), tuple(document.finish())


def keep_plan(path: Path, title: str, plan: Plan | None) -> Path | None:
    """Keep the join plan of the drill of this title; None: no longer.

    A file that cannot be read as TOML is put aside as `.bad`, and a new one begun; returns where it lies now. Raises
    ChangeoverError where the file cannot be written.
    """
    return _write(path, {(_JOINS, title): None if plan is None else plan.text})


def keep_target(path: Path, title: str, tempo: float | None) -> Path | None:
    """Keep the target tempo of a drill, likewise."""
    return _write(path, {(_TARGETS, title): tempo})


def keep_memory(path: Path, title: str, memory: Memory) -> Path | None:
    """Keep how well the shapes of a drill are known by heart, likewise."""
    return _write(path, {(_MEMORY, title): memory.text})


def keep_caution(path: Path, day: date) -> Path | None:
    """Keep that a caution was shown on `day`, likewise."""
    return _write(path, {_CAUTION: day})


def keep_scores(path: Path, folder: str) -> Path | None:
    """Keep in which folder a score was looked for, likewise."""
    return _write(path, {_SCORES: folder})


def _write(path: Path, changes: Mapping[str | tuple[str | int, ...], object]) -> Path | None:
    document, aside = toml.to_change(path)
    toml.write_changes(path, document, _HEADER, dict(changes))
    return aside
