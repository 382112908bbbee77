"""The steps of setting a guitar up as one value: strings, levels, latency, pedals. Each can be skipped and taken again.

Feed it what the port sends and what the player asks for; it says what is wanted, and holds the wiring as far as it is
known. The time is an argument. A step that is done is in the wiring at once, so it can be kept at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from statistics import fmean
from types import MappingProxyType
from typing import Any

from trainer.fretboard.instrument import Instrument
from trainer.listen import wire
from trainer.listen.setup.latency import Stroke, estimate
from trainer.listen.setup.learning import Learning
from trainer.listen.setup.levelling import Levelling
from trainer.listen.setup.pedalling import Pedalling, call_of, turned
from trainer.listen.setup.plucks import FLOOR, Pluck, Plucks
from trainer.listen.setup.striking import BEAT_S, Striking
from trainer.practice.wiring import Trigger, Wiring, two_periods_ms


class Stage(StrEnum):
    """The steps, in order."""

    STRINGS = "strings"
    """Which channel is which string."""
    LEVELS = "levels"
    """How loud each string is heard."""
    LATENCY = "latency"
    """How late each string is heard."""
    PEDALS = "pedals"
    """What each pedal calls."""


STAGES = tuple(Stage)
_STANDARD = Instrument().tuning


@dataclass(frozen=True, slots=True)
class HeardNote:
    """One note as it came in."""

    at: float
    """When, seconds on the clock of the messages."""
    channel: int
    """1 to 16."""
    pitch: int
    """MIDI note."""
    velocity: int
    """1 to 127."""
    string: int | None
    """The string it is known to be; None as long as it is not."""


@dataclass(frozen=True, slots=True)
class Setup:
    """How far one guitar is set up, and at which step the player is. Every function below returns a new one."""

    wiring: Wiring = field(default_factory=Wiring)
    """What is known of it."""
    margin_ms: Mapping[int, float] = field(default_factory=lambda: MappingProxyType({}))
    """How sure each string's latency is."""
    measured: bool = False
    """True where the latency was measured in this sitting."""
    stage: Stage = Stage.STRINGS
    """The step at hand."""
    done: frozenset[Stage] = frozenset()
    """The steps that are done."""
    learning: Learning = field(default_factory=Learning)
    """How far the strings are known."""
    levelling: Levelling = field(default_factory=lambda: Levelling(()))
    """How far their loudness is."""
    striking: Striking = field(default_factory=lambda: Striking(len(_STANDARD)))
    """The go at the beat that is under way, or none."""
    strokes: tuple[Stroke, ...] = ()
    """Strokes of earlier goes at the beat, which count too."""
    pedal: Trigger | None = None
    """The pedal that was pressed last."""
    plucks: Plucks = field(default_factory=Plucks)
    """The pluck under way."""
    notes: Mapping[int | None, HeardNote] = field(default_factory=lambda: MappingProxyType({}))
    """The newest note of each string; under None that of a string that is not known."""
    pedalling: Pedalling = field(default_factory=Pedalling)
    """Which pedals are down."""
    said: str = ""
    """What to tell the player."""
    warn: bool = False
    """True where that is of something wrong."""
    away: bool = False
    """True while the port is gone."""

    @property
    def strings(self) -> int:
        """Number of strings."""
        return max((len(_STANDARD), *self.wiring.strings.values()))

    @property
    def told_apart(self) -> bool:
        """Tell whether the channel of a note says its string."""
        return bool(self.wiring.strings)

    @property
    def beating(self) -> bool:
        """Tell whether the beat runs."""
        return self.striking.start is not None

    def string_of(self, channel: int, pitch: int) -> int | None:
        """Return the string of a note: as it is being learned, by its channel, or by the pitch of open strings."""
        found = self.learning.found
        if self.stage is Stage.STRINGS and self.stage not in self.done:
            return next((string for string, one in found.items() if (one.channel, one.pitch) == (channel, pitch)), None)
        if self.told_apart:
            return self.wiring.strings.get(channel)
        usual = dict(enumerate(reversed(self.learning.tuning), start=1))
        pitches = {string: one.pitch for string, one in found.items()} or usual
        return next((string for string, one in pitches.items() if one == pitch), None)


def begin(wiring: Wiring, margin_ms: Mapping[int, float] = MappingProxyType({}), *, measured: bool = False) -> Setup:
    """Return a guitar as far as it was set up before, at the first step that is not done.

    `measured`: its latency was, and is as sure as `margin_ms` says.
    """
    done = {
        Stage.STRINGS: bool(wiring.strings) or wiring.latency_all_ms > 0,
        Stage.LEVELS: wiring.levelled,
        Stage.LATENCY: measured,
    }
    known = frozenset(stage for stage, there in done.items() if there)
    setup = Setup(wiring=wiring, margin_ms=margin_ms, done=known)
    return _at(setup, next(stage for stage in STAGES if stage not in known))


def hear(setup: Setup, at: float, message: wire.Message) -> Setup:
    """Take a message."""
    setup = tick(setup, at)
    status, channel, first, second = message
    if status == wire.CONTROL:
        setup = _control(setup, at, channel, first, second)
    elif status == wire.NOTE_ON and second and setup.stage is Stage.PEDALS:
        setup = _pedal_note(setup, channel, first)
    elif status == wire.NOTE_ON and second:
        call = call_of(setup.wiring.calls, Trigger("note", first, channel))
        if call is not None:
            return _call(setup, at, call)
    setup = _noted(setup, at, message)
    if setup.stage is Stage.STRINGS:
        setup = replace(setup, learning=setup.learning.observe(message))
    if setup.stage in {Stage.STRINGS, Stage.LEVELS}:
        plucks, pluck = setup.plucks.feed(at, message)
        return _plucked(replace(setup, plucks=plucks), pluck)
    return setup


def tick(setup: Setup, now: float) -> Setup:
    """Let time pass: a pluck is over a moment after it began, and the beat comes to its end."""
    plucks, pluck = setup.plucks.tick(now)
    setup = _plucked(replace(setup, plucks=plucks), pluck) if plucks is not setup.plucks else setup
    return _measured(setup) if setup.striking.over(now) else setup


def go(setup: Setup, at: float) -> Setup:
    """Do the one thing that the step waits for: begin or stop the beat; else go on to the next step."""
    if setup.stage is Stage.LATENCY and (setup.beating or setup.stage not in setup.done):
        if setup.beating:
            return replace(setup, striking=Striking(setup.strings), said="Stopped; nothing is kept.", warn=False)
        start = Striking(setup.strings, at + BEAT_S)
        return replace(setup, striking=start, said="", warn=False)
    return move(setup, 1)


def move(setup: Setup, by: int) -> Setup:
    """Go to another step; before the first and after the last one stays."""
    place = STAGES.index(setup.stage) + by
    return _at(setup, STAGES[min(max(place, 0), len(STAGES) - 1)])


def again(setup: Setup) -> Setup:
    """Begin the step from its start; what was known of it is kept until it is done."""
    anew: dict[Stage, dict[str, Any]] = {
        Stage.STRINGS: {"learning": Learning(setup.learning.tuning)},
        Stage.LEVELS: {"levelling": Levelling(())},
        Stage.LATENCY: {"strokes": ()},
        Stage.PEDALS: {"pedal": None, "wiring": replace(setup.wiring, calls={})},
    }
    return _at(replace(setup, done=setup.done - {setup.stage}, **anew[setup.stage]), setup.stage)


def turn(setup: Setup, by: int) -> Setup:
    """Have the pedal that was pressed last call another command."""
    if setup.pedal is None:
        return setup
    calls = turned(setup.wiring.calls, setup.pedal, by)
    return replace(setup, wiring=replace(setup.wiring, calls=calls), done=setup.done | {Stage.PEDALS})


def lost(setup: Setup) -> Setup:
    """The port is gone; what was begun goes on when it is back, a beat alone begins anew."""
    said = "The guitar is gone. Plug it in again: this goes on where it was."
    return replace(setup, striking=Striking(setup.strings), plucks=Plucks(), said=said, warn=True, away=True)


def found(setup: Setup) -> Setup:
    """The port is there, or back."""
    return replace(setup, said="The guitar is back.", warn=False, away=False) if setup.away else setup


def _at(setup: Setup, stage: Stage) -> Setup:
    """Return the player at a step, ready to begin it."""
    setup = replace(setup, stage=stage, plucks=Plucks(), striking=Striking(setup.strings), notes=_of_strings(setup))
    setup = replace(setup, said="", warn=False)
    if stage is Stage.LEVELS and stage not in setup.done and setup.levelling.done:
        strings = tuple(sorted(setup.wiring.strings.values(), reverse=True))
        levelling = Levelling(strings)
        setup = replace(setup, levelling=levelling, said=levelling.words)
    return setup


def _noted(setup: Setup, at: float, message: wire.Message) -> Setup:
    """Keep a note for the screen, and for the strokes while the beat runs."""
    status, channel, pitch, velocity = message
    if status != wire.NOTE_ON or velocity < FLOOR:
        return setup
    string = setup.string_of(channel, pitch)
    heard = HeardNote(at, channel, pitch, velocity, string)
    setup = replace(setup, notes=MappingProxyType({**setup.notes, string: heard}))
    if setup.beating and string is not None:
        return replace(setup, striking=setup.striking.struck(at, string))
    return setup


def _plucked(setup: Setup, pluck: Pluck | None) -> Setup:
    """Take a pluck for the step at hand."""
    if pluck is None or setup.stage in setup.done:
        return setup
    if setup.stage is Stage.STRINGS:
        learning = setup.learning.take(pluck)
        setup = _placed(replace(setup, learning=learning, said=learning.said, warn=learning.warn))
        return _learned(setup) if learning.done else setup
    if setup.stage is Stage.LEVELS and not setup.levelling.done:
        levelling = setup.levelling.take(setup.string_of(pluck.channel, pluck.pitch), pluck.velocity)
        setup = replace(setup, levelling=levelling, said=levelling.said, warn=levelling.warn)
        return _levelled(setup) if levelling.done else setup
    return setup


def _placed(setup: Setup) -> Setup:
    """Show the note that was heard last with its string, now that it may be known."""
    note = setup.notes.get(None)
    string = None if note is None else setup.string_of(note.channel, note.pitch)
    if note is None or string is None:
        return setup
    placed: dict[int | None, HeardNote] = {string: replace(note, string=string)}
    return replace(setup, notes=MappingProxyType({**_of_strings(setup), **placed}))


def _of_strings(setup: Setup) -> Mapping[int | None, HeardNote]:
    """Return the newest note of each string that is known."""
    return MappingProxyType({string: note for string, note in setup.notes.items() if string is not None})


def _learned(setup: Setup) -> Setup:
    """Take over the strings; what was known of levels and latency was of other strings."""
    wiring = setup.learning.wiring(setup.wiring)
    done = (setup.done | {Stage.STRINGS}) - {Stage.LEVELS, Stage.LATENCY}
    return replace(
        setup,
        wiring=wiring,
        done=done,
        strokes=(),
        levelling=Levelling(()),
        margin_ms=MappingProxyType({}),
        measured=False,
    )


def _levelled(setup: Setup) -> Setup:
    levels, words = setup.levelling.levels, setup.levelling.words
    wiring = replace(setup.wiring, levels=levels)
    return replace(setup, wiring=wiring, done=setup.done | {Stage.LEVELS}, said=words, warn=not levels)


def _measured(setup: Setup) -> Setup:
    """Take over what the strokes told, as far as it is worth anything."""
    strokes = (*setup.strokes, *setup.striking.strokes)
    found = estimate(strokes, _at_least(setup), BEAT_S)
    setup = replace(setup, striking=Striking(setup.strings), strokes=strokes, said=found.words, warn=not found.apart)
    if not found.apart:
        return setup
    if setup.told_apart:
        known = set(setup.wiring.strings.values())
        late = {string: ms for string, ms in found.by_string.items() if string in known}
        wiring = replace(setup.wiring, latency_ms=late)
    else:
        wiring = replace(setup.wiring, latency_all_ms=fmean(found.by_string.values()))
    return replace(setup, wiring=wiring, margin_ms=found.margin_ms, measured=True, done=setup.done | {Stage.LATENCY})


def _at_least(setup: Setup) -> Mapping[int, float]:
    """Return what physics asks of each string, by the pitches that were heard where they were."""
    usual = dict(enumerate(reversed(setup.learning.tuning), start=1))
    heard = {string: one.pitch for string, one in setup.learning.found.items()}
    return two_periods_ms({**usual, **heard})


def _control(setup: Setup, at: float, channel: int, number: int, value: int) -> Setup:
    """Take a controller: going down it presses a pedal."""
    pedalling, pressed = setup.pedalling.move(channel, number, value)
    setup = replace(setup, pedalling=pedalling)
    if not pressed:
        return setup
    if setup.stage is Stage.PEDALS:
        return _pressed(setup, Trigger("control", number))
    call = call_of(setup.wiring.calls, Trigger("control", number, channel))
    return setup if call is None else _call(setup, at, call)


def _pedal_note(setup: Setup, channel: int, pitch: int) -> Setup:
    """Take a note as a pedal's where no string of the guitar can be meant."""
    if setup.told_apart and channel not in setup.wiring.strings and channel != setup.wiring.master:
        return _pressed(setup, Trigger("note", pitch, channel))
    return setup


def _pressed(setup: Setup, trigger: Trigger) -> Setup:
    """Show what a pedal calls; pressed once more, have it call the next command."""
    if setup.pedal == trigger:
        return turn(setup, 1)
    shown = replace(setup, pedal=trigger, said="", warn=False)
    return shown if trigger in setup.wiring.calls else turn(shown, 1)


def _call(setup: Setup, at: float, call: str) -> Setup:
    """Do what a pedal calls, as far as it means something here."""
    match call:
        case "press":
            return go(setup, at)
        case "again":
            return again(setup)
        case "next":
            return move(setup, 1)
        case "previous":
            return move(setup, -1)
        case _:
            return setup
