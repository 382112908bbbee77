"""Precision and recall of what the matcher heard, against what a model player did."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.listen.player import Truth
from trainer.practice.flaws import Flaw
from trainer.practice.measures import Answer, Direction, HeardChange
from trainer.practice.record import Texture

NEAR_S = 0.02
"""A landing counts as found where it lies this near to the true one."""


@dataclass(slots=True)
class Score:
    """Hits, false alarms and misses of one kind."""

    hits: int = 0
    false: int = 0
    missed: int = 0

    def count(self, truly: bool, heard: bool) -> None:
        """Count one case."""
        self.hits += truly and heard
        self.false += heard and not truly
        self.missed += truly and not heard

    @property
    def precision(self) -> float:
        """Share of what was heard that was so; 1 where nothing was heard."""
        return self.hits / (self.hits + self.false) if self.hits + self.false else 1.0

    @property
    def recall(self) -> float:
        """Share of what was so that was heard; 1 where nothing was so."""
        return self.hits / (self.hits + self.missed) if self.hits + self.missed else 1.0


KINDS = ("landing", "rolled", "cut off", "came up", "slide broke")


def score(
    truth: Sequence[Truth], heard: Iterable[HeardChange], into: dict[str, Score] | None = None, near_s: float = NEAR_S
) -> dict[str, Score]:
    """Return the score of each kind; kinds other than landings are counted over the landings found."""
    found = {kind: Score() for kind in KINDS} if into is None else into
    landed = [change for change in heard if change.landed_s is not None]
    times = [change.landed_s or 0.0 for change in landed]
    taken: set[int] = set()
    for true in truth:
        if true.landed is None:
            continue
        near = range(bisect_left(times, true.landed - near_s), bisect_right(times, true.landed + near_s))
        match = next((place for place in near if landed[place].after == true.after and place not in taken), None)
        found["landing"].count(True, match is not None)
        if match is not None:
            taken.add(match)
            _count(found, true, landed[match])
    found["landing"].false += len(landed) - len(taken)
    return found


def _count(found: dict[str, Score], true: Truth, heard: HeardChange) -> None:
    flaws = {fault.flaw for fault in heard.faults}
    if heard.texture is Texture.BLOCK and heard.direction is not None:
        found["rolled"].count(true.rolled, heard.direction is not Direction.BLOCK)
    found["cut off"].count(true.cut_off, Flaw.CUT_OFF in flaws)
    found["slide broke"].count(bool(true.broke), Flaw.SLIDE in flaws)
    for finger, answer in heard.kept_down.items():
        found["came up"].count(finger in true.came_up, answer is Answer.NO)
