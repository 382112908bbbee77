"""What can be mended in a change that was heard, in words, the first thing to mend in front. Values only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from trainer.fretboard.pitch import note_name


class Flaw(StrEnum):
    """What can be mended in a change, the first to be named before the others.

    The order is common practice, no source: what a finger did before which notes came of it, right notes before
    when they sound, when they sound before how they sound.
    """

    OPENED = "opened"
    """A finger that should stay down came up and the open string sounded."""
    MOVED = "moved"
    """A finger that should stay down left its fret for another."""
    WRONG = "wrong"
    """A note that the shape has not."""
    OCTAVE = "octave"
    """A string was heard an octave off, which a tracker does more often than a player."""
    MISSING = "missing"
    """A note of the shape was not heard."""
    LOST = "lost"
    """A note was struck and gone before the others."""
    CUT_OFF = "cut off"
    """The old shape fell silent before the new one sounded."""
    CUT_SHORT = "cut short"
    """A note of the new shape did not last its written length."""
    LATE = "late"
    """The shape came after its beat, or a note of it after its place."""
    ROLLED = "rolled"
    """Rolled, asked for block."""
    TOGETHER = "together"
    """Struck together, asked for a roll."""
    DROWNED = "drowned"
    """The melody was softer than what goes with it."""
    SLIDE = "slide"
    """A slide that was asked for broke off; the last thing to name, a slide is easily missed by a tracker."""


WORDS: Mapping[Flaw, tuple[str, ...]] = {
    Flaw.OPENED: ("string {string} opened: finger {finger} came up",),
    Flaw.MOVED: ("string {string} sounded {heard}: finger {finger} left its fret",),
    Flaw.WRONG: (
        "string {string} sounded {heard}, not {note}",
        "string {string} sounded {heard} and belongs to no note here",
        "{heard} belongs to no note here",
    ),
    Flaw.OCTAVE: ("string {string} heard an octave off: {heard} for {note}", "{heard} heard for {note}, an octave off"),
    Flaw.MISSING: ("string {string} missing", "{note} missing"),
    Flaw.LOST: ("string {string} gone before the others sounded", "{note} gone before the others sounded"),
    Flaw.CUT_OFF: ("cut off before the change",),
    Flaw.CUT_SHORT: ("string {string} let go too early", "{note} let go too early"),
    Flaw.LATE: ("late by {ms} ms",),
    Flaw.ROLLED: ("rolled, asked for block",),
    Flaw.TOGETHER: ("struck together, asked for a roll",),
    Flaw.DROWNED: ("melody drowned",),
    Flaw.SLIDE: ("slide of finger {finger} broke",),
}
"""Each flaw in words; the first wording for which everything it names is known is used."""

_PRIORITY = {flaw: rank for rank, flaw in enumerate(Flaw)}


@dataclass(frozen=True, slots=True)
class Fault:
    """One flaw with where it is."""

    flaw: Flaw
    """What it is."""
    string: int | None = None
    """The string it was heard on; None where it is not known."""
    finger: int | None = None
    """The finger of the fretting hand."""
    note: int | None = None
    """The MIDI note that was asked for."""
    heard: int | None = None
    """The MIDI note that was heard."""
    ms: int | None = None
    """How late."""

    @property
    def words(self) -> str:
        """The flaw as one short clause."""
        known = {
            "string": self.string,
            "finger": self.finger,
            "note": None if self.note is None else note_name(self.note),
            "heard": None if self.heard is None else note_name(self.heard),
            "ms": self.ms,
        }
        given = {name: value for name, value in known.items() if value is not None}
        for wording in WORDS[self.flaw]:
            try:
                return wording.format(**given)
            except KeyError:
                continue
        return str(self.flaw)


def by_priority(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Return faults with the one to mend first in front; equals from the bass string on, then as given."""
    return tuple(sorted(faults, key=lambda fault: (_PRIORITY[fault.flaw], -(fault.string or 0))))
