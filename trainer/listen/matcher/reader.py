"""Which step is being struck: readings of the notes that are not decided yet, the likeliest one in front.

A reading is a path through the steps of the drill: the notes so far belong to one step, from some note on to another,
and so on. For each step only the best path that ends in it is kept (Viterbi's rule), so the state is small: at most one
path for each step, over the few notes since the last decision. A shape is decided by all its notes, in whatever order
they come; a note that two shapes share says little by itself and waits for the next.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Key, Note
from trainer.listen.matcher.template import NO_NOTE, Template

# Weights in hundredths of a right note. Only their order matters much; they were chosen by reasoning on the cases
# named, and hold for every rate of faults that the tests' model player is asked for.
RIGHT = 100
"""A note that the step has and that was not struck yet."""
AGAIN = 90
"""A note of the step struck again: a little less likely than the same note of a step not begun, much likelier than a
wrong one. Less than RIGHT by so little that many shared notes do not outweigh one that tells."""
WRONG = -100
"""A note that the step has not."""
OCTAVE = 30
"""A note of the step an octave off."""
PAUSE = -5
"""A pause within a block or roll: a new stroke rather begins anew."""
SKIPPED = -30
"""Each stroke of a figure that is passed over, at its beginning or within: what begins in the middle of a figure rather
goes on with the one before."""
ON = 0
"""To the next step, from one that has landed."""
UNFINISHED = -40
"""To leave a step that has not landed."""
JUMP = -160
"""To a step that is not next: takes two notes more than the next step explains."""
START = -50
"""To begin anywhere but at the expected step, before anything was heard."""
SAME_STROKE = -200
"""To another step within one stroke of the hand. A stroke strikes a string once: the second time is another stroke."""
HOPELESS = 600
"""A path so much worse than the best is given up."""

RECENT = 4
"""Latest notes of each string that are looked at to tell one stroke of the hand from the next."""

NOWHERE = -1
"""The step before anything was heard."""


@dataclass(frozen=True, slots=True)
class Path:
    """One reading of the undecided notes."""

    step: int
    """Where it ends, `NOWHERE` before anything was heard."""
    filled: int
    """Slots of that step that have been struck, as a bit mask."""
    stroke: int
    """The latest stroke of it begun."""
    score: int
    """How likely; the highest leads."""
    last: float
    """Onset of its latest right note."""
    start: int | None
    """Index of its first undecided note; None where it goes on from what was decided."""
    back: Path | None
    """What it came from, as that was then."""


class Reader:
    """The undecided notes and the readings of them."""

    def __init__(self, templates: tuple[Template, ...], settings: Settings, first: int) -> None:
        self._templates = templates
        self._strum_s = settings.strum_s
        self._retrigger_s = settings.filters.retrigger_s
        sounding = [index for index, template in enumerate(templates) if template.slots]
        self._next = {
            step: next((s for s in sounding if s > step), sounding[0]) for step in (NOWHERE, *range(len(templates)))
        }
        self._previous = {self._next[step]: step for step in sounding}
        self._fitting: dict[Key, tuple[int, ...]] = {}
        for step in sounding:
            for key in templates[step].by_key:
                self._fitting[key] = (*self._fitting.get(key, ()), step)
        self.pending: list[Note] = []
        """The undecided notes in order of onset."""
        self._recent: dict[int, deque[Note]] = {}
        self.restart(first)

    def restart(self, expected: int) -> None:
        """Forget everything; `expected` is the step to begin with."""
        self._first = expected if self._templates[expected].slots else self._next[expected]
        self._reset(Path(NOWHERE, 0, 0, 0, float("-inf"), None, None))

    def forget(self) -> None:
        """Leave the undecided notes unread, and go on from where the player was."""
        self._reset(self._base)

    def decided(self, attempt: Attempt) -> None:
        """Take everything heard so far as read: the player is at `attempt`."""
        last = float("-inf") if attempt.last is None else attempt.last
        self._reset(Path(attempt.step, attempt.filled, attempt.stroke, 0, last, None, None))

    def next(self, step: int) -> int:
        """Return the step that follows `step` and can be heard."""
        return self._first if step == NOWHERE else self._next[step]

    def add(self, note: Note) -> None:
        """Read one more note. Notes may come a little out of order: strings differ in latency."""
        pending = self.pending
        if note.string is not None:
            self._recent.setdefault(note.string, deque(maxlen=RECENT)).append(note)
        if pending and note.on < pending[-1].on:
            pending.insert(bisect_right(pending, note.on, key=_onset), note)
            self._alive = {self._base.step: self._base}
            for index in range(len(pending)):
                self._read(index)
        else:
            pending.append(note)
            self._read(len(pending) - 1)

    @property
    def base(self) -> Path:
        """Where the player was when the undecided notes began."""
        return self._base

    @property
    def leader(self) -> Path:
        """The likeliest reading; among equals the one that stays, then the one that goes least far on."""
        return max(self._alive.values(), key=lambda path: (path.score, -self._distance(path.step)))

    @property
    def staying(self) -> Path | None:
        """The reading in which the player has not gone anywhere; None where it was given up, or there is none yet."""
        path = self._alive.get(self._base.step)
        return path if path is not None and path.start is None and path.step != NOWHERE else None

    def lead(self, leader: Path, unlike: Callable[[int], bool]) -> int:
        """Return by how much `leader` leads over those other steps that `unlike` accepts; large where there is none."""
        rivals = [path.score for step, path in self._alive.items() if step != leader.step and unlike(step)]
        return leader.score - max(rivals) if rivals else HOPELESS

    def alive(self) -> tuple[int, ...]:
        """Return every step that some reading ends in."""
        return tuple(self._alive)

    def _reset(self, base: Path) -> None:
        self._base = base
        self._alive = {base.step: base}
        self.pending.clear()

    def _distance(self, step: int) -> int:
        start = self._first if self._base.step == NOWHERE else self._base.step
        return 0 if step == NOWHERE else (step - start) % len(self._templates)

    def _read(self, index: int) -> None:
        """Carry every path over the note at `index`, and begin new ones at it."""
        note = self.pending[index]
        paused = index == 0 or note.on - self.pending[index - 1].on > self._strum_s
        old = self._alive
        new = {step: self._stay(path, note, paused) for step, path in old.items()}
        fitting = self._fitting.get(note.key)
        if fitting is not None:
            anew = self._anew(note)
            bases = {step: path.score + self._leaving(path, note, anew) for step, path in old.items()}
            farthest = max(bases, key=bases.__getitem__)
            for step in fitting:
                self._begin(step, index, bases, farthest, new)
        if len(new) > 1:
            floor = max(path.score for path in new.values()) - HOPELESS
            new = {step: path for step, path in new.items() if path.score >= floor}
        self._alive = new

    def _stay(self, path: Path, note: Note, paused: bool) -> Path:
        if path.step == NOWHERE:
            return Path(NOWHERE, 0, 0, path.score + WRONG, path.last, None, None)
        template = self._templates[path.step]
        slots = template.fill(path.filled, path.stroke, note.key)
        if slots == NO_NOTE:
            worth = OCTAVE if note.key in template.octaves else WRONG
            return Path(path.step, path.filled, path.stroke, path.score + worth, path.last, path.start, path.back)
        worth = AGAIN if slots & path.filled == slots else RIGHT
        if paused and not template.figure:
            worth += PAUSE
        stroke = template.slots[slots.bit_length() - 1].stroke
        worth += _skipped(template, path.stroke, stroke)
        filled = path.filled | slots
        return Path(path.step, filled, max(path.stroke, stroke), path.score + worth, note.on, path.start, path.back)

    def _anew(self, note: Note) -> bool:
        """Tell whether `note` cannot belong to the stroke before it, which has struck its string already."""
        on, least, most = note.on, self._retrigger_s, 4 * self._strum_s
        return note.string is not None and any(
            least <= on - other.on <= most for other in self._recent[note.string] if other is not note
        )

    def _leaving(self, path: Path, note: Note, anew: bool) -> int:
        if path.step == NOWHERE:
            return 0
        unfinished = 0 if self._templates[path.step].landed(path.filled) else UNFINISHED
        return unfinished + (0 if anew or note.on - path.last > self._strum_s else SAME_STROKE)

    def _begin(self, step: int, index: int, bases: dict[int, int], farthest: int, new: dict[int, Path]) -> None:
        """Put a path that begins `step` at the note at `index` into `new`, if it beats the one there."""
        ways = {
            origin: bases[origin] + self._way(origin, step)
            for origin in (self._previous[step], NOWHERE, farthest)
            if origin in bases
        }
        origin = max(ways, key=ways.__getitem__)
        if origin == step:
            return
        template = self._templates[step]
        note = self.pending[index]
        slots = template.fill(0, 0, note.key)
        stroke = template.slots[slots.bit_length() - 1].stroke
        score = ways[origin] + RIGHT + _skipped(template, -1, stroke)
        there = new.get(step)
        if there is None or there.score < score:
            new[step] = Path(step, slots, stroke, score, note.on, index, self._alive[origin])

    def _way(self, origin: int, step: int) -> int:
        if origin == NOWHERE:
            return ON if step == self._first else START
        return ON if self._next[origin] == step else JUMP


def _skipped(template: Template, reached: int, stroke: int) -> int:
    """Return what it costs a figure to go from stroke `reached` to `stroke`."""
    return SKIPPED * max(0, stroke - reached - 1) if template.figure else 0


def _onset(note: Note) -> float:
    return note.on
