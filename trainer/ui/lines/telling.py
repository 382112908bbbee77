"""What line mode says: the difference between two sessions, in whole lines. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from trainer.fretboard.shape import Shape
from trainer.practice.drill import Drill, Step
from trainer.practice.passage import Passing
from trainer.practice.phases import Mode, Phase
from trainer.practice.state import Session, Try
from trainer.practice.wording import said
from trainer.ui.drilling.view import at_hand

_BY_ITSELF = frozenset({Phase.COUNT_IN, Phase.PLAYING})


def told(before: Session | None, after: Session, drill: Drill) -> Iterator[str]:
    """Yield what there is to say now that `before` has become `after`; None: it begins."""
    if before is not None:
        yield from _landings(before, after, drill)
        if after.note.text and after.note != before.note:
            yield after.note.text
    if after.phase is Phase.CLOSED:
        return
    if after.summary is not None and (before is None or before.summary != after.summary):
        yield from _summed_up(after)
    if after.phase in _BY_ITSELF:
        yield from _beating(before, after, drill)
    elif before is None or _place(before) != _place(after):
        yield prompt(after, drill)


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
    known = {one.number: one for one in before.tries}
    for one in after.tries:
        old = known.get(one.number)
        if old is None:
            yield _tried(one, drill)
        elif old.clean is not one.clean:
            yield "Marked: not clean." if one.clean is False else "The mark is taken off."


def _tried(one: Try, drill: Drill) -> str:
    before, after = (drill.steps[index].name for index in one.pair)
    took = "missed" if one.change_ms is None else f"{one.change_ms / 1000:.2f} seconds"
    return f"{before} to {after}: {took}."


def _summed_up(session: Session) -> Iterator[str]:
    summary = session.summary
    if summary is None or session.mode is Mode.PACED:
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
    return session.mode, session.phase, session.run, session.position
