"""From two attempts to every measure of the change between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from trainer.fretboard.instrument import Instrument
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.ends import cut_off, cut_short, first_end, gaps
from trainer.listen.matcher.fingers import FingersHeard, fingers
from trainer.listen.matcher.notes import lost_slots, missing_slots, named, octaves, wrong_notes
from trainer.listen.matcher.pair import Pair
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.strike import Strike, balance, strike
from trainer.listen.matcher.timing import Place, played
from trainer.practice.flaws import Fault, Flaw, by_priority
from trainer.practice.measures import Direction, HeardChange
from trainer.practice.record import Texture


@dataclass(frozen=True, slots=True)
class Passed:
    """What one change is graded from."""

    index: int
    """Counts the changes as played."""
    expected: bool
    """False where it is no change of the drill."""
    old: Attempt
    """The shape that was left."""
    new: Attempt
    """The shape that was played next."""
    pair: Pair
    """What the change asks."""
    beat_s: float
    """Seconds from beat to beat: in tempo as paced, else as the drill begins."""
    grid: Place | None = None
    """Where the new step's beats fall; None out of tempo."""


def grade(
    passed: Passed, instrument: Instrument, settings: Settings, following: Attempt | None = None, done: bool = False
) -> HeardChange:
    """Return every measure of one change; `following` is the attempt after it, where it has begun."""
    old, new = passed.old, passed.new
    told = _told(passed, instrument, settings, following)
    gap, gap_melody, gap_bass = (None, None, None) if told.first is None else gaps(old, new, passed.pair, told.first)
    landed, last = new.landed, old.last or 0.0
    return HeardChange(
        index=passed.index,
        before=old.step,
        after=new.step,
        expected=passed.expected,
        texture=new.template.step.texture,
        struck_s=last,
        landed_s=landed,
        change_ms=_ms(_change(passed, settings)),
        strike_ms=None if landed is None else _ms(landed - last),
        delay_ms=_ms(told.delay),
        lateness_ms=_ms(told.lateness),
        gap_ms=_ms(gap),
        gap_melody_ms=_ms(gap_melody),
        gap_bass_ms=_ms(gap_bass),
        spread_ms=_ms(told.struck.spread),
        direction=told.struck.direction,
        kept_down=told.fingers.kept,
        guides=told.fingers.guides,
        wrong=tuple(note.pitch for note in told.wrong),
        octaves=tuple(note.key for note in octaves(new)),
        missing=tuple(named(new, index) for index in told.missing),
        balance=told.loud,
        clean=_clean(new, told),
        done=done,
        faults=by_priority(_faults(passed, told, settings)),
    )


@dataclass(frozen=True, slots=True)
class _Told:
    """What the sound tells of one change: what both its measures and its faults rest on. Seconds."""

    first: float | None
    """When the new shape was first struck."""
    struck: Strike
    """How it was struck."""
    fingers: FingersHeard
    """What was heard of single fingers."""
    wrong: list[Note]
    """Notes that it has not."""
    missing: list[int]
    """Slots that were never struck."""
    short: list[int] | None
    """Slots that did not last as written; None until the next shape has started."""
    lateness: float | None
    """As in `HeardChange`."""
    delay: float | None
    """As in `HeardChange`."""
    loud: float | None
    """The melody's balance; None where the strings are not levelled."""


def _told(passed: Passed, instrument: Instrument, settings: Settings, following: Attempt | None) -> _Told:
    old, new, pair = passed.old, passed.new, passed.pair
    first = new.first_onset(old.template.by_key)
    return _Told(
        first=first,
        struck=strike(new, settings),
        fingers=fingers(old, new, pair, first, instrument, settings),
        wrong=wrong_notes(new, pair, first),
        missing=missing_slots(new),
        short=_short(new, following, settings),
        lateness=_lateness(passed, first, settings),
        delay=_delay(passed),
        loud=balance(new, passed.beat_s) if settings.levelled else None,
    )


def _faults(passed: Passed, told: _Told, settings: Settings) -> Iterator[Fault]:
    new = passed.new
    yield from told.fingers.faults
    for note in told.wrong:
        yield Fault(Flaw.WRONG, string=note.string, note=_asked(new, note.string), heard=note.pitch)
    yield from _unheard(new, told.missing)
    yield from _cut(passed, told, settings)
    yield from _late(told.delay if told.lateness is None else told.lateness, settings)
    yield from _texture(told.struck, new.template.step.texture)
    if told.loud is not None and told.loud < settings.drowned:
        yield Fault(Flaw.DROWNED)


def _ms(seconds: float | None) -> float | None:
    # To a thousandth of a millisecond: below that the digits are those of the floating point.
    return None if seconds is None else round(seconds * 1000, 3)


def _change(passed: Passed, settings: Settings) -> float | None:
    landed = passed.new.landed
    left = first_end(passed.old, passed.new, passed.pair, settings)
    if landed is None or left is None or passed.new.template.figure or left > landed:
        return None
    return landed - left


def _lateness(passed: Passed, first: float | None, settings: Settings) -> float | None:
    template = passed.new.template
    if passed.grid is None or first is None or template.figure:
        return None
    ends = settings.roll_ends_on_beat and template.step.texture is Texture.ROLLED
    onset = max(note.on for note in passed.new.held.values()) if ends else first
    return onset - passed.grid(template.slots[0].beat)


def _delay(passed: Passed) -> float | None:
    new = passed.new
    place = passed.grid
    if place is None and new.template.figure:
        place = played(passed.old)
    if place is None:
        return None
    slots = new.template.slots
    return max((note.on - place(slots[index].beat) for index, note in new.held.items()), default=None)


def _short(new: Attempt, following: Attempt | None, settings: Settings) -> list[int] | None:
    """Return the slots that did not last as written; None until the next shape has started."""
    if following is None:
        return None
    onset = following.first_onset(new.template.by_key)
    return None if onset is None else cut_short(new, following, onset, settings)


def _clean(new: Attempt, told: _Told) -> bool | None:
    if told.short is None:
        return None
    if told.wrong or told.short:
        return False
    if told.missing:
        # A string that was heard an octave off may have been played well: that is the tracker's fault or a harmonic.
        off = _heard_off(new)
        return None if all(index in off for index in told.missing) else False
    return new.landed is not None


def _heard_off(new: Attempt) -> dict[int, int]:
    """Return the MIDI note heard for each slot that was heard an octave off."""
    return {new.template.octaves[note.key]: note.pitch for note in octaves(new)}


def _asked(new: Attempt, string: int | None) -> int | None:
    return next((slot.pitch for slot in new.template.slots if slot.string == string), None)


def _of_slot(flaw: Flaw, new: Attempt, index: int, heard: int | None = None) -> Fault:
    string, pitch = named(new, index)
    return Fault(flaw, string=string, note=pitch, heard=heard)


def _unheard(new: Attempt, missing: list[int]) -> Iterator[Fault]:
    off = _heard_off(new) if missing else {}
    for index in missing:
        yield _of_slot(Flaw.OCTAVE if index in off else Flaw.MISSING, new, index, off.get(index))
    for index in lost_slots(new):
        yield _of_slot(Flaw.LOST, new, index)


def _cut(passed: Passed, told: _Told, settings: Settings) -> Iterator[Fault]:
    if told.first is not None and cut_off(passed.old, passed.new, passed.pair, told.first, settings):
        yield Fault(Flaw.CUT_OFF)
    for index in told.short or ():
        yield _of_slot(Flaw.CUT_SHORT, passed.new, index)


def _late(late: float | None, settings: Settings) -> Iterator[Fault]:
    if late is not None and late > settings.late_s:
        yield Fault(Flaw.LATE, ms=round(late * 1000))


def _texture(struck: Strike, asked: Texture) -> Iterator[Fault]:
    if struck.direction is None:
        return
    if asked is Texture.BLOCK and struck.direction is not Direction.BLOCK:
        yield Fault(Flaw.ROLLED)
    if asked is Texture.ROLLED and struck.direction is Direction.BLOCK:
        yield Fault(Flaw.TOGETHER)
