"""The matcher: note events in, heard changes out, one by one or all at once with the same result."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.decision import SURE, decision, landed_at
from trainer.listen.matcher.faults import FaultFilter
from trainer.listen.matcher.grade import Passed, grade
from trainer.listen.matcher.pair import Pair, pair_of
from trainer.listen.matcher.reader import NOWHERE, Path, Reader
from trainer.listen.matcher.settings import Grid, Settings
from trainer.listen.matcher.sounding import Key, Note, Sounding
from trainer.listen.matcher.template import Slot, templates
from trainer.listen.matcher.timing import Passage
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.notes import NoteEvent, NoteOff, NoteOn

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
    """(string or None, MIDI note) of notes struck that it has not, in order of time; none that
    another note has followed on its string."""
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
        self._held_back_s = max(settings.filters.ghost_s, settings.filters.retrigger_s)
        self._sounding = Sounding(settings)
        self._reader = Reader(self._templates, settings, first)
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
        return tuple(found + self._pass_time(now - self._held_back_s))

    def finish(self) -> tuple[HeardChange, ...]:
        """End the playing and return what is left; the last change stays without a verdict on `clean`."""
        found = self._take(self._filter.flush(), float("-inf"))
        found += self._pass_time(float("inf"))
        found += self._last_notes()
        if self._passed is not None:
            found.append(self._grade(self._passed, None, done=True))
            self._passed = None
        self.restart(0)
        return tuple(found)

    def _last_notes(self) -> list[HeardChange]:
        """Give the notes that are still undecided at the end to the likeliest reading, if it is likely enough."""
        reader, leader = self._reader, self._reader.leader
        if not reader.pending or leader.step == NOWHERE:
            return []
        landed = landed_at(reader, leader, self._templates[leader.step], self._here)
        if leader.start is None or landed is not None or reader.lead(leader, lambda _: True) >= SURE:
            return self._decide(leader)
        return []

    def restart(self, step: int) -> tuple[HeardChange, ...]:
        """Forget what was heard and expect `step`; return what had landed, done, without a verdict on `clean`.

        A change under way is dropped, never given and not counted.
        """
        given: tuple[HeardChange, ...] = ()
        if self._passed is not None:
            if self._landed_here():
                given = (self._grade(self._passed, None, done=True),)
            else:
                self._index -= 1
        for event in self._filter.flush():
            if isinstance(event, NoteOff):
                self._sounding.off(event)
        self._here = self._passed = None
        self._open = False
        self._clock = self._newest = float("-inf")
        self._reader.restart(step)
        return given

    def pace(self, grid: Grid | None) -> None:
        """Set the beats from here on; None: out of tempo."""
        self._grid = grid

    @property
    def reading(self) -> Reading:
        """What is being played at this moment."""
        reader, leader = self._reader, self._reader.leader
        if reader.staying is not None and reader.lead(leader, lambda _: True) < SURE:
            leader = reader.staying
        step = reader.next(NOWHERE) if leader.step == NOWHERE else leader.step
        template = self._templates[step]
        filled = 0 if leader.step == NOWHERE else leader.filled
        notes = reader.pending[leader.start or 0 :]
        if leader.start is None and self._here is not None:
            notes = [*self._here.tries, *notes]
        notes = [note for note in notes if not note.void]
        newest = {note.string: note for note in notes}
        return Reading(
            step=step,
            heard=_keys(template.slots[index] for index in template.within(filled)),
            missing=_keys(template.slots[index] for index in template.within(template.full & ~filled)),
            wrong=tuple(
                note.key
                for note in notes
                if note.key not in template.by_key and (note.string is None or note is newest[note.string])
            ),
            landed=leader.start is None and self._landed_here(),
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

    def _settle(self, *, closed: bool) -> list[HeardChange]:
        """Take the likeliest reading if it is decided; `closed`: the strum is over."""
        taken = decision(self._reader, self._templates, self._here, closed=closed)
        return [] if taken is None else self._decide(taken)

    def _landed_here(self) -> bool:
        return self._here is not None and self._here.landed is not None

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
        if here is None:
            self._reader.forget()
        else:
            self._reader.decided(here)
            if here.landed is not None and not landed_before and self._passed is not None:
                found.append(self._grade(self._passed, None, done=False))
        return found

    def _begin(self, step: int, stray: list[Note], notes: list[Note]) -> list[HeardChange]:
        """Begin an attempt at `step`, and return the change before it as done."""
        old = self._here
        new = self._attempt(step, notes)
        if old is not None:
            # What the old step has too and was struck again with the new one was still the old one.
            still = [note for note in new.prelude(old.template.by_key) if note.key in old.template.by_key]
            if still:
                for note in still:
                    old.add(note)
                new = self._attempt(step, [note for note in notes if note not in still])
            stray = old.after_last()
        new.lead_in = stray
        found = [] if self._passed is None else [self._grade(self._passed, new, done=True)]
        self._here = new
        self._passed = None
        if old is not None and not self._way_back(old.step, step):
            self._passed = self._pass(old, new)
            self._index += 1
        return found

    def _attempt(self, step: int, notes: list[Note]) -> Attempt:
        new = Attempt(step, self._templates[step], self._settings)
        for note in notes:
            new.add(note)
        return new

    def _way_back(self, before: int, after: int) -> bool:
        """Tell whether a drill that is no ring begins again, which is no change."""
        return self._reader.next(before) == after and (before, after) not in self._steps and after <= before

    def _pass(self, old: Attempt, new: Attempt) -> Passed:
        grid = self._grid
        first = new.first_onset(old.template.by_key)
        near = self._newest if first is None else first
        return Passed(
            index=self._index,
            expected=(old.step, new.step) in self._steps,
            old=old,
            new=new,
            pair=self._pair(old.step, new.step),
            beat_s=60.0 / self._drill.tempo if grid is None else grid.beat_s,
            grid=None if grid is None else self._passage.place(grid, new.step, near),
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


def _keys(slots: Iterable[Slot]) -> tuple[Key, ...]:
    return tuple(sorted(((slot.string, slot.pitch) for slot in slots), reverse=True))
