"""What the sound tells of single fingers: whether one that should stay down did, and whether a slide was heard."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from trainer.fretboard.instrument import Instrument
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.pair import Pair, Slide
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import FAULTY_INTERVALS, Key, Note
from trainer.practice.flaws import Fault, Flaw
from trainer.practice.measures import Answer

_IN_TUNE = 0.3
"""Semitones around an open string's pitch within which a falling bend is that string: less than the droop of a dying
note from fret 1, more than a tracker's error (from memory)."""
_ARRIVED = 0.5
"""Semitones around the aim of a slide within which it has arrived."""


@dataclass(slots=True)
class FingersHeard:
    """What was heard of the fingers of one change."""

    kept: dict[int, Answer] = field(default_factory=dict)
    """For each finger that should stay down, whether it did."""
    guides: dict[int, Answer] = field(default_factory=dict)
    """For each guide finger, whether the slide that was asked for was heard."""
    faults: list[Fault] = field(default_factory=list)
    """Fingers that came up and slides that broke."""


def fingers(
    old: Attempt, new: Attempt, pair: Pair, first: float | None, instrument: Instrument, settings: Settings
) -> FingersHeard:
    """Return what was heard of the fingers that stay or slide from `old` to `new`, which was `first` struck then."""
    heard = FingersHeard()
    between = sorted((note for note in (*new.lead_in, *new.tries) if not note.void), key=lambda note: note.on)
    for finger, keys in pair.kept:
        answers = []
        for key in keys:
            answer, fault = _kept(key, finger, old, new, between, instrument)
            answers.append(answer)
            if fault is not None:
                heard.faults.append(fault)
        heard.kept[finger] = _pooled(answers)
    for slide in pair.slides:
        answer, broke = _slid(slide, old, between, first, settings) if slide.asked else (Answer.NOT_HEARD, False)
        heard.guides[slide.finger] = answer
        if broke:
            heard.faults.append(Fault(Flaw.SLIDE, string=slide.string, finger=slide.finger, note=slide.end))
    return heard


def _pooled(answers: Iterable[Answer]) -> Answer:
    """Return what several strings tell of one finger: one that opened outweighs one that rang on."""
    given = set(answers)
    return next((answer for answer in (Answer.NO, Answer.YES) if answer in given), Answer.NOT_HEARD)


def _kept(
    key: Key, finger: int, old: Attempt, new: Attempt, between: list[Note], instrument: Instrument
) -> tuple[Answer, Fault | None]:
    string, pitch = key
    if string is None:
        return Answer.NOT_HEARD, None
    before = _latest(old, key)
    open_pitch = instrument.pitch(string, 0)
    since = old.last if before is None else before.on
    for note in between:
        if note.string != string or since is None or note.on <= since or (new.landed and note.on > new.landed):
            continue
        if note.pitch != pitch and note.pitch - pitch not in FAULTY_INTERVALS:
            return Answer.NO, _came_up(finger, string, pitch, note.pitch, open_pitch)
    if before is not None and before.string is not None and abs(pitch + before.low - open_pitch) <= _IN_TUNE:
        return Answer.NO, _came_up(finger, string, pitch, open_pitch, open_pitch)
    if _latest(new, key) is not None:
        return Answer.YES, None
    until = new.landed if new.landed is not None else new.last
    if before is not None and until is not None and not before.gone(until):
        return Answer.YES, None
    return Answer.NOT_HEARD, None


def _came_up(finger: int, string: int, pitch: int, heard: int, open_pitch: int) -> Fault:
    flaw = Flaw.OPENED if heard == open_pitch else Flaw.MOVED
    return Fault(flaw, string=string, finger=finger, note=pitch, heard=heard)


def _latest(attempt: Attempt, key: Key) -> Note | None:
    """Return the last note that `attempt` sounded on the string and pitch of `key`."""
    slots = attempt.template.slots
    found = [note for index, note in attempt.latest.items() if (slots[index].string, slots[index].pitch) == key]
    return max(found, key=lambda note: note.on, default=None)


def _slid(
    slide: Slide, old: Attempt, between: list[Note], first: float | None, settings: Settings
) -> tuple[Answer, bool]:
    """Return whether a slide was heard, and whether it was heard to break off.

    It may come as a bend, as notes that follow on each other without a silence, or as notes struck on the way. A
    silence that the right hand may have made, by planting before the stroke, breaks nothing.
    """
    start = _latest(old, (slide.string, slide.start))
    if start is None or start.string is None or first is None:
        return Answer.NOT_HEARD, False
    way = slide.end - slide.start
    if (start.high if way > 0 else -start.low) >= abs(way) - _ARRIVED:
        return Answer.YES, False
    previous, broke = start, False
    for note in between:
        if note.string != slide.string or note.on <= previous.on:
            continue
        end = previous.end
        if end is not None and note.on - end > settings.legato_s:
            if min(note.on, first) - end <= settings.plant_s:
                return Answer.NOT_HEARD, False
            broke = True
        if note.pitch == slide.end:
            return (Answer.NOT_HEARD, True) if broke else (Answer.YES, False)
        previous = note
    return Answer.NOT_HEARD, False
