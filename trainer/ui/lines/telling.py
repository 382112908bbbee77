"""What line mode says: the difference between two sessions, in whole lines. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trainer.fretboard.shape import Shape
from trainer.practice.drill import Drill, Step
from trainer.practice.measures import HeardChange, summarise
from trainer.practice.passage import Passing
from trainer.practice.phases import Mode, Phase
from trainer.practice.state import Session, Try
from trainer.practice.wording import GO, said
from trainer.ui.drilling.known import against_the_beat
from trainer.ui.drilling.listening import Hearing
from trainer.ui.drilling.view import at_hand
from trainer.ui.lines.grades import line, summary

_BY_ITSELF = frozenset({Phase.COUNT_IN, Phase.PLAYING})


def told(before: Session | None, after: Session, drill: Drill) -> Iterator[str]:
    """Yield what there is to say now that `before` has become `after`; None: it begins."""
    followed = False
    if before is not None:
        followed = after.mode is Mode.HEARD and len(after.tries) > len(before.tries)
        yield from _landings(before, after, drill)
        if after.note.text and after.note != before.note:
            yield after.note.text
    if after.phase is Phase.CLOSED:
        return
    if after.mode is Mode.CUED and after.phase is Phase.CHANGING and (before is None or before.phase != after.phase):
        yield GO
    if after.summary is not None and (before is None or before.summary != after.summary):
        yield from _summed_up(after, drill)
    if after.phase in _BY_ITSELF:
        yield from _beating(before, after, drill)
    elif followed and after.phase is Phase.LISTENING:
        return  # what comes next is said with the change
    elif before is None or _place(before) != _place(after):
        yield prompt(after, drill)


def came_to(session: Session, heard: Sequence[HeardChange]) -> Iterator[str]:
    """Yield what a session that has ended came to; `heard`: every change that a guitar was heard to play."""
    # What is heard is summed up by itself; a run to the beat counts the changes heard in it, too.
    by_hand = [one.landed for one in session.tries if one.heard is None]
    paced = [run for run in session.ended if run.tempo is not None]
    landed, asked = sum(by_hand) + sum(run.landed for run in paced), len(by_hand) + sum(run.asked for run in paced)
    by_ear = bool(heard) or session.mode is Mode.HEARD
    if asked or not by_ear:
        yield f"Ended: {landed} of {asked} changes landed." if asked else "Ended."
    if by_ear:
        yield summary(summarise(heard))


def stray(change: HeardChange, session: Session, drill: Drill) -> str:
    """Return a change that was heard and is none of the drill, and where the drill goes on from it."""
    return f"{line(drill, change)} Next {_following(session, change.after, drill)}."


def of_port(before: Hearing | None, after: Hearing, strike: str) -> Iterator[str]:
    """Yield what has become of the guitar's port; `strike` names the shape to go on from, empty where none is played.

    None: nothing was listened to before.
    """
    if after.port and after.trouble and (before is None or before.trouble != after.trouble):
        yield f"{after.port}: {after.trouble}."
    same = before is not None and before.port == after.port
    was_open = before is not None and before.connected
    if after.connected and not (same and was_open):
        yield f"The port is {'back' if same else 'open'}: {after.port}.{f' Strike {strike}.' if strike else ''}"
    elif same and was_open and not after.connected:
        yield f"The port is gone: {after.port}. Keys go on; it is heard again as soon as it is back."


def prompt(session: Session, drill: Drill) -> str:
    """Return what the player is to do now."""
    words = said(session.mode, session.phase)
    before, after = (drill.steps[index].name for index in at_hand(session)[0])
    text = words.prompt.format(a=before, b=after, asked=session.changes)
    if session.phase is Phase.ASK:
        # The number that a press would take changes every second, and nobody sees it.
        return f"How many of {session.changes} landed? Type the number, then enter."
    ask = f"Enter {text}" if words.press else text
    if session.phase is Phase.PAUSED:
        return f"Paused. {ask}"
    return f"{before} to {after}. {ask}" if session.mode is Mode.WALK else ask


def in_words(step: Step) -> str:
    """Return a shape string by string, from the last string on: what is held with which finger, what is not played."""
    return f"{step.name}: {', '.join(_strings(step.shape))}."


def fingers(passing: Passing) -> list[str]:
    """Return the change in one sentence, the shape it leads to string by string, and the finger to watch."""
    lines = [passing.words, in_words(passing.after)]
    if passing.change.watch is not None:
        lines.append(f"Watch finger {passing.change.watch}.")
    return lines


def _strings(shape: Shape) -> Iterator[str]:
    held = dict(shape)
    for string in range(shape.strings, 0, -1):
        stop = held.get(string)
        if stop is None:
            yield f"string {string} not played"
        elif stop.fret == 0:
            yield f"string {string} open"
        else:
            finger = "" if stop.finger is None else f" finger {stop.finger}"
            yield f"string {string} fret {stop.fret}{finger}{', silent' if stop.silent else ''}"


def _landings(before: Session, after: Session, drill: Drill) -> Iterator[str]:
    if before.tries is after.tries:
        return
    known = {one.number: one for one in before.tries}
    for one in after.tries:
        old = known.get(one.number)
        if old is None:
            yield _tried(one, after, drill)
        elif one.heard is not None and old.heard != one.heard:
            yield from _mended(old.heard, one.heard)
        elif old.clean is not one.clean:
            yield "Marked: not clean." if one.clean is False else "The mark is taken off."


def _mended(before: HeardChange | None, after: HeardChange) -> Iterator[str]:
    """Yield what is to be mended in a change, where more was heard of it and that is new."""
    if after.mend is not None and (before is None or before.mend != after.mend):
        yield f"{after.index + 1}. {after.mend}."


def _tried(one: Try, session: Session, drill: Drill) -> str:
    if one.heard is not None:
        # To the beat it is the beat that says what comes next.
        following = _following(session, one.pair[1], drill) if session.mode is Mode.HEARD else ""
        return f"{line(drill, one.heard)}{f' Next {following}.' if following else ''}"
    before, after = (drill.steps[index].name for index in one.pair)
    took = "missed" if one.change_ms is None else f"{one.change_ms / 1000:.2f} seconds"
    return f"{before} to {after}: {took}."


def _following(session: Session, held: int, drill: Drill) -> str:
    """Return the name of the shape to play after the one that is held, be it the way back to where a change starts."""
    before, after = at_hand(session)[0]
    return drill.steps[after if before == held else before].name


def _summed_up(session: Session, drill: Drill) -> Iterator[str]:
    summary = session.summary
    if summary is None or session.mode is Mode.PACED:
        yield from against_the_beat(session, drill, full=True)
        return  # a paced run's answer is said already
    best = "" if summary.best_ms is None else f", best {summary.best_ms / 1000:.2f} seconds"
    yield f"Run over: {summary.landed} of {summary.asked} landed{best}."


def _beating(before: Session | None, after: Session, drill: Drill) -> Iterator[str]:
    if after.phase is Phase.COUNT_IN:
        if before is None or before.phase is not Phase.COUNT_IN:
            yield f"Hold {drill.steps[after.pair[0]].name}. {after.course.bar} beats are counted, then play."
    elif before is None or before.phase is not Phase.PLAYING or before.holding != after.holding or _anew(before, after):
        yield f"{drill.steps[after.holding].name}."


def _anew(before: Session, after: Session) -> bool:
    """Tell whether the same shape has begun again."""
    return after.beat == 1 and before.beat != 1


def _place(session: Session) -> tuple[object, ...]:
    # A guitar is followed wherever it goes; what is to be said is where it is listened for anew.
    listening = session.phase is Phase.LISTENING
    where = (session.expected,) if listening else (session.run, session.position)
    return session.mode, session.phase, *where
