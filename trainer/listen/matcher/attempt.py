"""One attempt at a step: the notes that were given to it, and whether it has landed."""

from __future__ import annotations

from collections.abc import Container, Mapping

from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Key, Note
from trainer.listen.matcher.template import NO_NOTE, Template

_MOST_NOTES = 256
"""Notes kept of one attempt; more than anybody plays at one shape, and memory stays flat if something plays on."""


class Attempt:
    """What was played at one step, from its first note to the first of the next step."""

    def __init__(self, step: int, template: Template, settings: Settings) -> None:
        self.step = step
        """Index of the step in the drill."""
        self.template = template
        """What was to be heard."""
        self.lead_in: list[Note] = []
        """Notes heard after the old step's last that belong to neither."""
        self.tries: list[Note] = []
        """Every note, right or wrong, up to the landing and within its strum."""
        self.strays: list[Note] = []
        """Notes after the landing's strum that the step has not."""
        self.held: dict[int, Note] = {}
        """For each slot the note that it landed with, or the latest tried."""
        self.latest: dict[int, Note] = {}
        """For each slot the note that sounded last, struck again after the landing included."""
        self.latest_round: dict[int, Note] = {}
        """For each slot the note of the latest time that the step was begun: what tells the tempo it is left in."""
        self.filled = 0
        """Slots that have been struck, as a bit mask."""
        self.stroke = 0
        """The latest stroke begun."""
        self.landed: float | None = None
        """When it landed; None as long as it has not."""
        self.last: float | None = None
        """Its latest right onset."""
        self.reach = float("-inf")
        """Up to when notes belong to it: its last right one and what followed in the same strum."""
        self._strum_s = settings.strum_s
        self._roll_s = settings.roll_s
        self._landing_reach = float("-inf")
        self._round_filled = 0
        self._round_stroke = 0

    @property
    def runs(self) -> list[list[Note]]:
        """The notes of `tries` that the step has, parted where the hand paused."""
        found: list[list[Note]] = []
        for note in sorted((n for n in self.tries if n.key in self.template.by_key), key=_onset):
            if found and note.on - found[-1][-1].on <= self._strum_s:
                found[-1].append(note)
            else:
                found.append([note])
        return found

    def add(self, note: Note) -> None:
        """Take one more note."""
        template = self.template
        slots = template.fill(self.filled, self.stroke, note.key)
        in_strum = self.landed is None or note.on <= self._landing_reach + self._strum_s
        if in_strum:
            self._landing_reach = max(self._landing_reach, note.on)
            _keep(self.tries, note)
        if slots != NO_NOTE or note.on <= self.reach + self._strum_s:
            self.reach = max(self.reach, note.on)
        if slots == NO_NOTE:
            if not in_strum:
                _keep(self.strays, note)
            return
        again = slots & self.filled == slots
        for index in template.within(slots):
            self.latest[index] = note
            if in_strum and not (template.figure and again):
                self.held[index] = note
            self.stroke = max(self.stroke, template.slots[index].stroke)
        self.filled |= slots
        self._add_to_round(note)
        self.last = note.on if self.last is None else max(self.last, note.on)
        if self.landed is None:
            self.landed = landing(template, self.filled, self.held)

    def _add_to_round(self, note: Note) -> None:
        """Take a right note into the round under way, or begin another with it: one of the first stroke, again."""
        template = self.template
        slots = template.fill(self._round_filled, self._round_stroke, note.key)
        if slots & self._round_filled == slots:
            slots = template.fill(0, 0, note.key)
            if all(template.slots[index].stroke > 0 for index in template.within(slots)):
                return
            self.latest_round = {}
            self._round_filled = self._round_stroke = 0
        for index in template.within(slots):
            self.latest_round[index] = note
            self._round_stroke = max(self._round_stroke, template.slots[index].stroke)
        self._round_filled |= slots

    @property
    def alien(self) -> list[Note]:
        """Every note that the step has not, in order of time; the ones from `lead_in` first."""
        kept = (*self.lead_in, *self.tries, *self.strays)
        return [note for note in kept if note.key not in self.template.by_key]

    def after_last(self) -> list[Note]:
        """Return the notes that came after its last strum and that it has not."""
        return [note for note in self.alien if note.on > self.reach]

    def prelude(self, before: Container[Key]) -> list[Note]:
        """Return the first notes that are not yet the step itself; `before` holds the keys of the step that is left.

        They are struck again later, and either the old step has them too, or a finger made them by coming down on a
        sounding string. They are the step where more of it follows as in a roll, unless they themselves are struck
        again as soon.
        """
        runs, found = self.runs, list[Note]()
        while len(runs) > 1 and _is_prelude(runs, before, self.template, self._roll_s):
            found += runs.pop(0)
        return found

    def first_onset(self, before: Container[Key]) -> float | None:
        """Return when the step was first struck, its prelude left out; None where nothing of it was."""
        runs, ahead = self.runs, len(self.prelude(before))
        notes = [note for run in runs for note in run]
        return notes[ahead].on if notes else None


def landing(template: Template, filled: int, held: Mapping[int, Note]) -> float | None:
    """Return when a step landed that was struck as `held` says, None where it has not.

    Block or rolled: the latest onset, if no other note had ended before. Figure: the latest onset of the last stroke.
    """
    if not template.landed(filled):
        return None
    notes = [held[index] for index in template.within(template.wanted)]
    at = max(note.on for note in notes)
    if not template.figure and any(note.gone(at) for note in notes):
        return None
    return at


def _is_prelude(runs: list[list[Note]], old: Container[Key], template: Template, roll_s: float) -> bool:
    first, rest = runs[0], [note for run in runs[1:] for note in run]
    # Most of a shape, sounded by fingers alone, is no accident but a try.
    few = 2 * len(first) <= len(template.slots)
    goes_on = rest[0].on - first[-1].on <= roll_s
    for note in first:
        again = [later.on for later in rest if later.key == note.key]
        if len(again) < len(template.by_key[note.key]):
            return False
        if note.key not in old and not (few and (note.legato or note.string is None)):
            return False
        if goes_on and again[0] - note.on > roll_s:
            return False
    return True


def _keep(notes: list[Note], note: Note) -> None:
    notes.append(note)
    if len(notes) > _MOST_NOTES:
        del notes[0]


def _onset(note: Note) -> float:
    return note.on
