"""The matcher: note events in, heard changes out, one by one or all at once with the same result."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trainer.listen.matcher.attempt import Attempt, landing
from trainer.listen.matcher.faults import FaultFilter
from trainer.listen.matcher.grade import Passed, grade
from trainer.listen.matcher.pair import Pair, pair_of
from trainer.listen.matcher.reader import NOWHERE, RIGHT, Path, Reader
from trainer.listen.matcher.settings import Grid, Settings
from trainer.listen.matcher.sounding import Key, Note, Sounding
from trainer.listen.matcher.template import templates
from trainer.listen.matcher.timing import Passage
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteEvent, NoteOff, NoteOn

_SURE = RIGHT
"""A reading that leads by this, one note, is taken without waiting for the end of the strum."""
_MOST_PENDING = 40
"""Undecided notes that are kept; then the likeliest reading is taken, whatever its lead."""
_DEFAULTS = Settings()


@dataclass(frozen=True, slots=True)
class Reading:
    """What is being played at this moment, as far as it can be told. For a screen; no measure is taken from it."""

    step: int
    """Index of the step that the notes belong to; the first one before anything was heard."""
    heard: tuple[Key, ...]
    """(string or None, MIDI note) of its notes that were struck, last string first."""
    missing: tuple[Key, ...]
    """(string, MIDI note) of those that were not."""
    wrong: tuple[Key, ...]
    """(string or None, MIDI note) of notes struck that it has not, in order of time."""
    landed: bool
    """True once it has landed and the decision is made."""


class Matcher:
    """Hears one player at one drill.

    Feed it events in the order in which they arrive, their times already corrected for latency. Each change is given
    twice: when it has landed, and, `done`, when the next shape has started or the playing is over. A change that did
    not land is given once, `done`.
    """

    def __init__(self, drill: Drill, settings: Settings = _DEFAULTS, grid: Grid | None = None, first: int = 0) -> None:
        """Get ready to hear `drill` from step `first`; `grid` where it is played in tempo.

        Raises ChangeoverError where no step of the drill can be heard, or a shape does not fit its instrument.
        """
        self._drill, self._settings, self._grid = drill, settings, grid
        self._templates = templates(drill)
        self._passage = Passage(self._templates)
        self._steps = frozenset(drill.pairs)
        self._pairs: dict[tuple[int, int], Pair] = {}
        self._filter = FaultFilter(drill.instrument, settings.filters)
        self._sounding = Sounding(settings)
        self._reader = Reader(self._templates, settings.strum_s, first)
        self._here: Attempt | None = None
        self._passed: Passed | None = None
        self._index = 0
        self._clock = float("-inf")
        self._newest = float("-inf")
        self._open = False
        # The first change is checked like any other, but before a note is played.
        for before, after in drill.pairs:
            self._pair(before, after)

    def feed(self, event: NoteEvent) -> tuple[HeardChange, ...]:
        """Take one event and return the changes that it completes."""
        return tuple(self._take(self._filter.feed(event), event.at))

    def tick(self, now: float) -> tuple[HeardChange, ...]:
        """Let time pass without an event; `now` is on the clock of the events, not before the last one was handled."""
        now -= self._settings.slack_s
        found = self._take(self._filter.tick(now), float("-inf"))
        return tuple(found + self._pass_time(now - self._settings.filters.ghost_s))

    def finish(self) -> tuple[HeardChange, ...]:
        """End the playing and return what is left; the last change stays without a verdict on `clean`."""
        found = self._take(self._filter.flush(), float("-inf"))
        if self._open:
            self._open = False
            found += self._settle(closed=True)
        leader = self._reader.leader
        if leader.step != NOWHERE and self._reader.pending:
            lead = self._reader.lead(leader, lambda _: True)
            if self._landing(leader) is not None or lead >= _SURE or leader.start is None:
                found += self._decide(leader)
        if self._passed is not None:
            found.append(self._grade(self._passed, None, done=True))
        self.restart(0)
        return tuple(found)

    def restart(self, step: int) -> None:
        """Forget what was heard and expect `step`; a change under way is dropped and never given."""
        self._here = self._passed = None
        self._open = False
        self._reader.restart(step)

    def pace(self, grid: Grid | None) -> None:
        """Set the beats from here on; None: out of tempo."""
        self._grid = grid

    @property
    def reading(self) -> Reading:
        """What is being played at this moment."""
        reader, leader = self._reader, self._reader.leader
        step = reader.next(NOWHERE) if leader.step == NOWHERE else leader.step
        template = self._templates[step]
        filled = 0 if leader.step == NOWHERE else leader.filled
        fresh = leader.start is not None or self._here is None
        notes = reader.pending[leader.start or 0 :] if fresh else [*_tries(self._here), *reader.pending]
        return Reading(
            step=step,
            heard=_keys(template.slots[index] for index in template.within(filled)),
            missing=_keys(template.slots[index] for index in template.within(template.full & ~filled)),
            wrong=tuple(note.key for note in notes if note.key not in template.by_key and not note.void),
            landed=self._here is not None and self._here.step == step and self._here.landed is not None,
        )

    def _take(self, events: Iterable[NoteEvent], at: float) -> list[HeardChange]:
        found: list[HeardChange] = []
        for event in events:
            found += self._pass_time(event.at)
            if isinstance(event, NoteOn):
                found += self._heard(self._sounding.on(event))
            elif isinstance(event, NoteOff):
                self._sounding.off(event)
            else:
                self._sounding.bend(event)
        return found + self._pass_time(at)

    def _pass_time(self, now: float) -> list[HeardChange]:
        """Move the clock on; a strum that is over by now is decided upon."""
        self._clock = max(self._clock, now)
        if not self._open or self._clock - self._newest <= self._settings.strum_s:
            return []
        self._open = False
        return self._settle(closed=True)

    def _heard(self, note: Note) -> list[HeardChange]:
        self._newest = max(self._newest, note.on)
        self._open = True
        self._reader.add(note)
        return self._settle(closed=False)

    def _settle(self, closed: bool) -> list[HeardChange]:
        """Decide which step is being played, if that can be told; `closed`: the strum is over."""
        reader = self._reader
        leader = reader.leader
        if leader.step == NOWHERE:
            return []
        if leader.start is None:
            return self._decide(leader) if self._stays(leader, closed) else []
        if len(reader.pending) > _MOST_PENDING or self._goes(leader, closed):
            return self._decide(leader)
        return []

    def _stays(self, leader: Path, closed: bool) -> bool:
        """Tell whether it is decided that the player is still where he was."""
        here = self._here
        if here is not None and here.landed is None and self._landing(leader) is None:
            return len(self._reader.pending) > _MOST_PENDING
        lead = self._reader.lead(leader, lambda _: True)
        return lead >= _SURE and (closed or (here is not None and here.landed is None))

    def _goes(self, leader: Path, closed: bool) -> bool:
        """Tell whether it is decided that the player has gone on to where `leader` ends."""
        if self._landing(leader) is None:
            return False
        mine = self._templates[leader.step]
        lead = self._reader.lead(leader, lambda step: self._rivals(step, leader))
        if not closed:
            larger = any(self._templates[step].keys > mine.keys for step in self._reader.alive() if step != NOWHERE)
            return lead >= _SURE and not larger
        origin = NOWHERE if leader.back is None else leader.back.step
        return lead >= _SURE or (lead > 0 and self._reader.next(origin) == leader.step)

    def _rivals(self, step: int, leader: Path) -> bool:
        """Tell whether more notes could still speak for `step` against the landed `leader`."""
        if step == NOWHERE:
            return True
        mine, other = self._templates[leader.step], self._templates[step]
        if other.slots == mine.slots and other.figure == mine.figure:
            return False
        # Nothing that the shape being left could be struck with would speak against the shape reached.
        return not (step == self._reader.base.step and self._landed_here() and other.keys <= mine.keys)

    def _landed_here(self) -> bool:
        return self._here is not None and self._here.landed is not None

    def _landing(self, path: Path) -> float | None:
        """Return when the step that `path` ends in landed, None where it has not."""
        template = self._templates[path.step]
        if not template.landed(path.filled):
            return None
        here = self._here if path.start is None else None
        if here is not None and here.landed is not None:
            return here.landed
        held = {} if here is None else dict(here.held)
        filled, stroke = (0, 0) if here is None else (here.filled, here.stroke)
        for note in self._reader.pending[path.start or 0 :]:
            slots = template.fill(filled, stroke, note.key)
            again = slots & filled == slots
            filled |= slots
            for index in template.within(slots):
                stroke = max(stroke, template.slots[index].stroke)
                if not (template.figure and again):
                    held[index] = note
            at = landing(template, filled, held)
            if at is not None:
                return at
        return None

    def _decide(self, leader: Path) -> list[HeardChange]:
        """Take `leader` as what was played: give its notes to the steps, and return the changes that come of it."""
        found: list[HeardChange] = []
        pending = list(self._reader.pending)
        path: Path | None = leader
        begins: list[tuple[int, int]] = []
        while path is not None and path.start is not None:
            begins.append((path.start, path.step))
            path = path.back
        begins.reverse()
        ends = [start for start, _ in begins] + [len(pending)]
        landed_before = self._landed_here()
        stray = pending[: ends[0]]
        if self._here is not None:
            for note in stray:
                self._here.add(note)
            stray = []
        for (start, step), end in zip(begins, ends[1:], strict=True):
            found += self._begin(step, stray, pending[start:end])
            stray, landed_before = [], False
        here = self._here
        if here is not None:
            self._reader.decided(here)
            if here.landed is not None and not landed_before and self._passed is not None:
                found.append(self._grade(self._passed, None, done=False))
        return found

    def _begin(self, step: int, stray: list[Note], notes: list[Note]) -> list[HeardChange]:
        """Begin an attempt at `step`, and return the change before it as done."""
        old = self._here
        lead_in = stray if old is None else old.after_last()
        new = Attempt(step, self._templates[step], self._settings.strum_s, lead_in)
        for note in notes:
            new.add(note)
        found = [] if self._passed is None else [self._grade(self._passed, new, done=True)]
        self._here = new
        self._passed = None
        if old is not None and not self._way_back(old.step, step):
            self._passed = self._pass(old, new)
            self._index += 1
        return found

    def _way_back(self, before: int, after: int) -> bool:
        """Tell whether a drill that is no ring begins again, which is no change."""
        return self._reader.next(before) == after and (before, after) not in self._steps and after <= before

    def _pass(self, old: Attempt, new: Attempt) -> Passed:
        grid = self._grid
        onset = new.last if new.last is not None else self._newest
        return Passed(
            index=self._index,
            expected=(old.step, new.step) in self._steps,
            old=old,
            new=new,
            pair=self._pair(old.step, new.step),
            beat_s=60.0 / self._drill.tempo if grid is None else grid.beat_s,
            grid=None if grid is None else self._passage.place(grid, new.step, onset),
        )

    def _grade(self, passed: Passed, following: Attempt | None, *, done: bool) -> HeardChange:
        return grade(passed, self._drill.instrument, self._settings, following, done)

    def _pair(self, before: int, after: int) -> Pair:
        pair = self._pairs.get((before, after))
        if pair is None:
            pair = pair_of(self._templates[before], self._templates[after], self._drill.instrument)
            self._pairs[before, after] = pair
        return pair


def hear(
    drill: Drill, events: Iterable[NoteEvent], settings: Settings = _DEFAULTS, grid: Grid | None = None
) -> tuple[HeardChange, ...]:
    """Return every change that `events`, in the order in which they arrived, hold; each once and done."""
    matcher = Matcher(drill, settings, grid)
    found = [change for event in events for change in matcher.feed(event)]
    found += matcher.finish()
    return tuple(change for change in found if change.done)
