"""A model player with a model tracker: seeded playing of a drill of which the truth is known.

The player strikes every shape of a drill, round after round, with the faults that he is asked for at the rates that he
is asked for; the tracker between him and the matcher adds its own. Every number is a model, none was measured.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from trainer.hand.analysis import analyse
from trainer.hand.change import Action
from trainer.hand.reach import Hand
from trainer.practice.drill import Drill, Step
from trainer.practice.notes import Bend, NoteEvent, NoteOff, NoteOn
from trainer.practice.record import Texture

TWO_PERIODS = {6: 0.0243, 5: 0.0182, 4: 0.0136, 3: 0.0102, 2: 0.0081, 1: 0.0061}
"""Seconds that a pitch tracker needs for each string: two periods of the open string, 2 / frequency."""


@dataclass(frozen=True, slots=True)
class Habits:
    """How well the player plays and the tracker hears. Rates are shares of changes, or of notes where said."""

    beat_s: float = 0.5
    """Seconds to a beat."""
    unsteady: float = 0.03
    """Scatter of a shape's length, as a share of it (standard deviation)."""
    block_s: float = 0.025
    """A shape struck together spreads over at most this."""
    rolled: float = 0.15
    """Shapes rolled that were asked for together."""
    early: float = 0.1
    """Changes before which the leaving fingers come up 200-450 ms early."""
    came_up: float = 0.1
    """Changes in which a kept finger comes up."""
    broken: float = 0.2
    """Slides that break off."""
    planted: float = 0.2
    """Strokes before which the right hand stops every string, 30-110 ms ahead."""
    again: float = 0.1
    """Shapes struck a second time."""
    missed: float = 0.0
    """Shapes of which a string is not struck; the player goes on without it, unless he strikes again."""
    wrong: float = 0.0
    """Shapes of which a string is struck at the fret beside; likewise."""
    skips: float = 0.0
    """Changes that leave out a shape."""
    backs: float = 0.0
    """Changes that go back to the shape before."""
    softest: int = 55
    """Velocity of the softest stroke; the loudest is 45 more."""
    ghosts: float = 0.02
    """Ghost notes, as a share of notes."""
    octaves: float = 0.0
    """Notes heard an octave off, as a share of notes."""
    dropped_ends: float = 0.01
    """Note-offs that never come, as a share of notes."""
    doubled: float = 0.01
    """Notes triggered twice, as a share of notes."""
    latency: dict[int, float] = field(default_factory=lambda: dict(TWO_PERIODS))
    """Seconds from stroke to note-on, by string."""
    latency_jitter_s: float = 0.001
    """Its scatter (standard deviation)."""
    calibrated: bool = True
    """True where each string's latency is taken off again before the matcher."""
    strings: bool = True
    """False for a source that does not tell strings apart."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What really happened in one change."""

    before: int
    """Index of the step left."""
    after: int
    """Index of the step reached."""
    landed: float | None
    """When all its notes had been struck; None where one never was, or came out of the tracker as another."""
    rolled: bool
    """True where it was rolled."""
    cut_off: bool
    """True where the leaving fingers came up early."""
    came_up: frozenset[int]
    """Kept fingers that came up."""
    broke: frozenset[int]
    """Fingers whose slide broke off."""


@dataclass(slots=True)
class _Sound:
    """One note as it really sounds."""

    string: int
    pitch: int
    on: float
    off: float
    velocity: int
    bends: list[tuple[float, float]] = field(default_factory=list)


class Player:
    """Plays a drill."""

    def __init__(self, drill: Drill, habits: Habits, seed: int) -> None:
        self._drill, self._habits = drill, habits
        self._random = Random(seed)
        self._sounds: list[_Sound] = []
        self._ringing: dict[int, _Sound] = {}
        self.truth: list[Truth] = []

    def play(self, shapes: int) -> list[NoteEvent]:
        """Return the events of `shapes` shapes in the order in which they arrive; fill `truth`, one entry a change."""
        steps, habits = self._drill.steps, self._habits
        at, index, before = 1.0, 0, None
        for _ in range(shapes):
            step = steps[index]
            struck, rolled = self._onsets(step, at)
            left = None if before is None else self._leave(steps[before], step, at)
            slip = self._slip(step)
            off = self._strike(step, struck, slip)
            landed = None if off else self._landing(step, struck)
            length = float(step.beats) * habits.beat_s
            if self._chance(habits.again) and step.texture is not Texture.FIGURE:
                again, _ = self._onsets(step, at + length / 2, plain=True)
                self._strike(step, again)
                if off:
                    rolled = False
                    # The others ring on: it lands with what was not right before.
                    landed = max(on for (_, string), on in again.items() if string in off)
            if before is not None and left is not None:
                cut_off, came_up, broke = left
                came_up |= self._moved(steps[before], step, slip)
                self.truth.append(Truth(before, index, landed, rolled, cut_off, came_up, broke))
            at += length * self._random.gauss(1.0, habits.unsteady)
            way = 2 if self._chance(habits.skips) else -1 if self._chance(habits.backs) else 1
            before, index = index, (index + way) % len(steps)
        for sound in self._ringing.values():
            sound.off = at
        return self._track()

    def _moved(self, before: Step, after: Step, slip: dict[int, int | None]) -> frozenset[int]:
        """Return the finger that should stay down on a string and was struck at another fret there."""
        kept = {
            move.finger
            for move in analyse(before.shape, after.shape, self._drill.instrument, Hand()).doing(Action.KEPT)
        }
        return frozenset(
            stop.finger
            for string, off in slip.items()
            if off and (stop := after.shape[string]) and stop == before.shape[string] and stop.finger in kept
        )

    def _slip(self, step: Step) -> dict[int, int | None]:
        """Return the strings that are not struck (None) or struck so many frets off."""
        strings = step.plucked.strokes[-1].strings
        if self._chance(self._habits.missed):
            return {self._random.choice(strings): None}
        if self._chance(self._habits.wrong):
            return {self._random.choice(strings): 1}
        return {}

    def _chance(self, rate: float) -> bool:
        return self._random.random() < rate

    def _onsets(self, step: Step, at: float, plain: bool = False) -> tuple[dict[tuple[int, int], float], bool]:
        """Return when each (stroke, string) of a step is struck, and whether it was rolled."""
        habits, random = self._habits, self._random
        strokes = step.plucked.strokes
        rolled = step.texture is Texture.ROLLED or (
            step.texture is Texture.BLOCK and len(strokes[0].strings) > 2 and not plain and self._chance(habits.rolled)
        )
        up = self._chance(0.5)
        gap = random.uniform(0.03, 0.08)
        found = {}
        for number, stroke in enumerate(strokes):
            start = at + float(stroke.beat - 1) * habits.beat_s
            for place, string in enumerate(sorted(stroke.strings, reverse=up)):
                late = place * gap if rolled else random.uniform(0, habits.block_s)
                found[number, string] = start + late
        return found, rolled

    def _strike(
        self, step: Step, struck: dict[tuple[int, int], float], slip: dict[int, int | None] | None = None
    ) -> set[int]:
        """Sound the strings of a step; return those that cannot be heard as they should."""
        wrong = set()
        for (_, string), on in sorted(struck.items(), key=lambda item: item[1]):
            stop = step.shape[string]
            assert stop is not None
            off = (slip or {}).get(string, 0)
            if slip is not None and off == 0 and self._chance(self._habits.octaves):
                off = 12
            if off != 0:
                wrong.add(string)
            if off is not None:
                pitch = self._drill.instrument.pitch(string, stop.fret) + off
                self._sound(string, pitch, on, self._random.randint(self._habits.softest, self._habits.softest + 45))
        if step.texture is Texture.FIGURE:
            wrong &= set(step.plucked.strokes[-1].strings)
        return wrong

    def _landing(self, step: Step, struck: dict[tuple[int, int], float]) -> float:
        final = len(step.plucked.strokes) - 1
        figure = step.texture is Texture.FIGURE
        return max(on for (stroke, _), on in struck.items() if not figure or stroke == final)

    def _sound(self, string: int, pitch: int, on: float, velocity: int) -> _Sound:
        ringing = self._ringing.get(string)
        if ringing is not None:
            ringing.off = min(ringing.off, on)
        sound = _Sound(string, pitch, on, on + self._random.uniform(4, 6), velocity)
        self._sounds.append(sound)
        self._ringing[string] = sound
        return sound

    def _stop(self, string: int, at: float) -> None:
        ringing = self._ringing.get(string)
        if ringing is not None and ringing.on < at:
            ringing.off = min(ringing.off, at)

    def _leave(self, before: Step, after: Step, at: float) -> tuple[bool, frozenset[int], frozenset[int]]:
        """End the notes of the shape that is left; return what went wrong."""
        habits, random = self._habits, self._random
        change = analyse(before.shape, after.shape, self._drill.instrument, Hand())
        planted = self._chance(habits.planted)
        cut_off = not planted and self._chance(habits.early)
        ahead = random.uniform(0.2, 0.45) if cut_off else random.uniform(-0.005, 0.06)
        held = {string for move in change.doing(Action.KEPT) for string in before.shape.placings[move.finger].strings}
        slides = {} if planted else {move.start[0]: move for move in change.doing(Action.GUIDE) if move.start}
        came_up, broke = set(), set()
        sounded = False
        for string, stop in before.shape:
            if not stop.stopped or string in held or stop.silent:
                continue
            end = at - ahead - random.uniform(-0.01, 0.01)
            if after.sounding_slide and string in slides and not cut_off:
                move = slides[string]
                assert move.end is not None
                if self._chance(habits.broken):
                    broke.add(move.finger)
                    end = at - random.uniform(0.25, 0.45)
                else:
                    end = at
                    self._slide(string, at, move.end[1] - stop.fret)
            sounded = sounded or before.plucked.free(string) == before.plucked.end
            self._stop(string, end)
        if planted:
            ahead = random.uniform(0.03, 0.11)
            for string in list(self._ringing):
                self._stop(string, at - ahead)
        else:
            came_up = self._come_up(before, after, [move.finger for move in change.doing(Action.KEPT)], at)
        if cut_off and after.sounding_slide:
            broke = {move.finger for move in slides.values()}
        return cut_off and sounded, frozenset(came_up), frozenset(broke)

    def _come_up(self, before: Step, after: Step, kept: list[int], at: float) -> set[int]:
        """Let a kept finger up for a moment; return which."""
        plucked = [
            string
            for string, stop in before.shape
            if stop.finger in kept and stop == after.shape[string] and string in before.plucked.strings
        ]
        if not plucked or not self._chance(self._habits.came_up):
            return set()
        string = self._random.choice(plucked)
        when = at - self._random.uniform(0.15, 0.4)
        self._stop(string, when)
        opened = self._sound(string, self._drill.instrument.pitch(string, 0), when, self._random.randint(42, 60))
        opened.off = at - self._random.uniform(0.0, 0.03)
        stop = before.shape[string]
        assert stop is not None
        assert stop.finger is not None
        return {stop.finger}

    def _slide(self, string: int, at: float, frets: int) -> None:
        """Slide what sounds on `string`, as a bend or as notes that follow on each other."""
        ringing = self._ringing.get(string)
        start = at - 0.12
        if ringing is None or ringing.off < at:
            return
        if self._chance(0.5):
            steps = 8
            ringing.bends += [(start + 0.08 * n / steps, frets * n / steps) for n in range(1, steps + 1)]
            return
        way = 1 if frets > 0 else -1
        pitch = ringing.pitch
        for number in range(abs(frets)):
            self._sound(string, pitch + way * (number + 1), start + 0.05 * number, 50)

    def _track(self) -> list[NoteEvent]:
        """Return what the tracker makes of the playing."""
        habits, random = self._habits, self._random
        found: list[tuple[float, int, NoteEvent]] = []
        latest: dict[int, float] = {}

        def send(event: NoteEvent, string: int) -> None:
            late = habits.latency.get(string, 0.0) + random.gauss(0.0, habits.latency_jitter_s)
            arrived = event.at + late
            told = string if habits.strings else None
            # A tracker follows a string by one voice: what it says of one string stays in order.
            arrived = max(arrived, latest.get(string, 0.0) + 0.0001)
            latest[string] = arrived
            at = arrived - (habits.latency.get(string, 0.0) if habits.calibrated else 0.0)
            found.append((arrived, len(found), _moved(event, at, told)))

        said: list[tuple[float, NoteEvent, int]] = []
        for sound in sorted(self._sounds, key=lambda sound: sound.on):
            string, pitch = sound.string, sound.pitch
            said.append((sound.on, NoteOn(sound.on, pitch, sound.velocity), string))
            if not self._chance(habits.dropped_ends):
                said.append((sound.off - 0.002, NoteOff(sound.off - 0.002, pitch), string))
            if self._chance(habits.doubled):
                at = sound.on + random.uniform(0.01, 0.03)
                said.append((at, NoteOn(at, pitch, sound.velocity), string))
            said += [(at, Bend(at, semitones), string) for at, semitones in sound.bends]
            if sound.bends:
                # Some trackers take the bend back just after the next note has begun.
                at = sound.off + random.uniform(-0.003, 0.003)
                said.append((at, Bend(at, 0.0), string))
            if self._chance(habits.ghosts):
                said += self._ghost(sound)
        for _, event, string in sorted(said, key=lambda entry: entry[0]):
            send(event, string)
        return [event for _, _, event in sorted(found, key=lambda entry: entry[:2])]

    def _ghost(self, sound: _Sound) -> list[tuple[float, NoteEvent, int]]:
        random = self._random
        pitch = sound.pitch + random.choice((7, 12, 19, 24, 28))
        on = sound.on + random.uniform(-0.05, 0.4)
        off = on + random.uniform(0.008, 0.045)
        return [
            (on, NoteOn(on, pitch, random.randint(1, 38)), sound.string),
            (off, NoteOff(off, pitch), sound.string),
        ]


def _moved(event: NoteEvent, at: float, string: int | None) -> NoteEvent:
    if isinstance(event, NoteOn):
        return NoteOn(at, event.pitch, event.velocity, string)
    if isinstance(event, NoteOff):
        return NoteOff(at, event.pitch, string)
    return Bend(at, event.semitones, string)
