"""When a reading is taken as what was played: at once where nothing speaks against it, else after the strum."""

from __future__ import annotations

from trainer.listen.matcher.attempt import Attempt, landing
from trainer.listen.matcher.reader import NOWHERE, RIGHT, Path, Reader
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.template import Template

SURE = RIGHT
"""A reading that leads by this, one note, is taken without waiting for the end of the strum."""
_MOST_PENDING = 40
"""Undecided notes that are kept; then the likeliest reading is taken, whatever its lead."""


def decision(reader: Reader, templates: tuple[Template, ...], here: Attempt | None, *, closed: bool) -> Path | None:
    """Return the reading that is to be taken now; None where that cannot be told yet.

    `here` is where the player was; `closed` says that the strum is over.
    """
    leader = reader.leader
    if leader.step != NOWHERE:
        if leader.start is None:
            taken = _stays(reader, leader, here, closed)
        else:
            taken = _goes(reader, leader, templates, here, closed)
        if taken:
            return leader
    if len(reader.pending) <= _MOST_PENDING:
        return None
    # Many notes that both shapes have are the old one, struck again and again; many that none has are noise.
    return leader if reader.lead(leader, lambda _: True) >= SURE else reader.staying or leader


def landed_at(reader: Reader, path: Path, template: Template, here: Attempt | None) -> float | None:
    """Return when the step that `path` ends in landed, None where it has not."""
    if not template.landed(path.filled):
        return None
    held: dict[int, Note] = {}
    filled, stroke = 0, 0
    if path.start is None and here is not None:
        if here.landed is not None:
            return here.landed
        held, filled, stroke = dict(here.held), here.filled, here.stroke
    for note in reader.pending[path.start or 0 :]:
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


def _stays(reader: Reader, leader: Path, here: Attempt | None, closed: bool) -> bool:
    """Tell whether it is decided that the player is still where he was."""
    lead = reader.lead(leader, lambda _: True)
    if here is not None and here.landed is None:
        return lead >= SURE and landed_at(reader, leader, here.template, here) is not None
    return closed and lead >= SURE


def _goes(reader: Reader, leader: Path, templates: tuple[Template, ...], here: Attempt | None, closed: bool) -> bool:
    """Tell whether it is decided that the player has gone on to where `leader` ends."""
    mine = templates[leader.step]
    if landed_at(reader, leader, mine, here) is None:
        return False
    leaves = here is not None and here.landed is not None

    def rivals(step: int) -> bool:
        """Tell whether more notes could still speak for `step`."""
        if step == NOWHERE:
            return True
        other = templates[step]
        if other.slots == mine.slots and other.figure == mine.figure:
            return False
        # Nothing that the shape being left could be struck with would speak against the shape reached.
        return not (leaves and step == reader.base.step and other.keys <= mine.keys)

    lead = reader.lead(leader, rivals)
    if not closed:
        return lead >= SURE and not any(templates[step].keys > mine.keys for step in reader.alive() if step != NOWHERE)
    origin = NOWHERE if leader.back is None else leader.back.step
    return lead >= SURE or (lead > 0 and reader.next(origin) == leader.step)
