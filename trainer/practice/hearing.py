"""What happens to a change that is heard: the session follows what is played."""

from __future__ import annotations

from dataclasses import replace

from trainer.practice.events import Deaf, Heard, Press
from trainer.practice.flight import tried
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode
from trainer.practice.record import Timing
from trainer.practice.runs import begun, new_run, stand_at
from trainer.practice.state import Session, Try

RESTED = "A long rest between the shapes: that is no change. On from here."


def heard(session: Session, event: Heard) -> Session:
    """Follow the player: the change counts as tried, and the next one is at hand."""
    if event.change.index <= session.heard_to:
        return more(session, event)
    new = replace(session, heard_to=event.change.index)
    position = _position(new, event.change, new.position)
    if position is None:
        return _follow(new, event.change)
    if _took_s(event.change) > new.settings.longest_s:
        return stand_at(replace(new, position=position), position, RESTED)
    # A change that did not land is told when the next shape has been struck already, so nothing is listened to anew.
    return tried(begun(replace(new, position=position), event.at), _one(new, position, event))


def on_the_beat(session: Session, event: Heard) -> Session:
    """Keep what is heard beside the beat, which alone moves the board; a whole shape early or late is not in tempo."""
    if event.change.index <= session.heard_to:
        return more(session, event)
    new = replace(session, heard_to=event.change.index)
    due = max(new.position - 1, 0)
    position = _position(new, event.change, due)
    if position is None or not due <= position <= due + 1:
        return new
    if not event.change.landed or any(one.position == position for one in new.run_tries):
        return new
    one = _one(new, position, event, new.tempo)
    return replace(new, serial=one.number, tries=(*new.tries, one))


def run_on(session: Session, event: Heard) -> Session:
    """Begin the next run with what is heard, nothing pressed; after a run to the beat, only hear the last one out."""
    if session.mode is not Mode.HEARD or event.change.index <= session.heard_to:
        return more(session, event)
    following = new_run(session)
    # The player is in the middle of playing, so the ear goes on as it is.
    return heard(replace(following, expected=session.expected), event)


def more(session: Session, event: Heard) -> Session:
    """Take in what else there is to say of a change that was heard; what the player said of it stands.

    One that was not to be timed when it was played never will be, whatever is said of it later.
    """
    one = _known(session, event.change)
    if one is None:
        return replace(session, heard_to=max(session.heard_to, event.change.index))
    said = one.clean if one.heard is None or one.clean is not one.heard.clean else event.change.clean
    newer = replace(one, heard=event.change, change_ms=event.change.change_ms, clean=said)
    return replace(session, tries=tuple(newer if each.number == one.number else each for each in session.tries))


def deaf(session: Session, event: Deaf) -> Session:
    """How many landed will have to be asked."""
    return replace(session, deaf_in=session.run)


def from_here(session: Session, event: Press) -> Session:
    """Stand before the change at hand once more."""
    return stand_at(session, session.position)


def _follow(session: Session, change: HeardChange) -> Session:
    """Go to where the player is, who has skipped a shape or gone back; that is no change of the drill.

    Of several places the nearest; the farther one would leave out or repeat more than was played.
    """
    places = [number for number, leg in enumerate(session.route) if leg.pair[0] == change.after]
    if not places:
        return session
    return replace(session, position=min(places, key=lambda place: _away(place, session.position)))


def _position(session: Session, change: HeardChange, near: int) -> int | None:
    """Return which leg of the run a change is, the nearest to `near`; None where it is none that counts."""
    if not change.expected:
        return None
    pair = (change.before, change.after)
    places = [number for number, leg in enumerate(session.route) if leg.pair == pair and leg.counted]
    return min(places, key=lambda place: _away(place, near), default=None)


def _away(place: int, near: int) -> tuple[int, bool]:
    """Return how far one place is from another; of two as far away the one ahead comes first."""
    return abs(place - near), place < near


def _known(session: Session, change: HeardChange) -> Try | None:
    return next((one for one in session.tries if one.heard is not None and one.heard.index == change.index), None)


def _took_s(change: HeardChange) -> float:
    return 0.0 if change.landed_s is None else change.landed_s - change.struck_s


def _one(session: Session, position: int, event: Heard, tempo: float | None = None) -> Try:
    change = event.change
    return Try(
        *(session.serial + 1, session.run, position, (change.before, change.after), Timing.HEARD),
        at=event.at if change.landed_s is None else change.landed_s,
        landed=change.landed,
        change_ms=change.change_ms,
        clean=change.clean,
        heard=change,
        tempo=tempo,
    )
