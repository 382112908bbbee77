"""Which channel is which string, learned from the open strings plucked one after another, the last string first.

The pitch tells whether the string that was asked for was plucked; whatever else is heard is said, and asked for once
more. What is heard the same way twice running is taken as the player means it, whatever the pitch. At the end the last
string is plucked once more: where it comes on another channel than before, channels are dealt out note by note and tell
no string.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from types import MappingProxyType

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.pitch import note_name
from trainer.listen import wire
from trainer.listen.parameters import BEND_RANGE, DATA_COARSE, NONE, ZONE, ZONES, Parameter, chosen
from trainer.listen.setup.plucks import Pluck
from trainer.practice.wiring import BEND_SEMITONES, MPE_BEND_SEMITONES, Wiring, two_periods_ms

RETUNED = 5
"""So many semitones off its usual pitch a string may be and is still taken for the one that was asked for: other
tunings move strings by up to a fourth (common practice)."""

_OCTAVES = frozenset({12, 24})
_INTERVALS = MappingProxyType({1: "a semitone", 2: "a tone", 12: "an octave", 24: "two octaves"})


@dataclass(frozen=True, slots=True)
class Open:
    """What an open string was heard as."""

    channel: int
    """1 to 16."""
    pitch: int
    """MIDI note."""


@dataclass(frozen=True, slots=True)
class Learning:
    """How far the strings are known. Every method returns a new value."""

    tuning: tuple[int, ...] = Instrument().tuning
    """MIDI note that each open string should have, low to high: last string first."""
    found: Mapping[int, Open] = field(default_factory=lambda: MappingProxyType({}))
    """What each string was heard as."""
    again: Open | None = None
    """What the last string was heard as when it was plucked once more at the end."""
    said: str = ""
    """What to tell the player of the last pluck."""
    warn: bool = False
    """True where it was not what was asked for."""
    doubt: tuple[int, Open] | None = None
    """What was heard in place of which string; the same once more is taken as it is."""
    asked_anew: frozenset[int] = frozenset()
    """Strings that were asked for a second time because they came on one channel."""
    moved: frozenset[int] = frozenset()
    """Channels that bends or controllers came on."""
    parameters: Mapping[int, Parameter] = field(default_factory=lambda: MappingProxyType({}))
    """The registered parameter that is chosen on each channel."""
    bend_semitones: float | None = None
    """The bend's range, where the guitar said so."""
    zone: int | None = None
    """Master channel of an MPE zone that was set up."""

    @property
    def strings(self) -> int:
        """Number of strings."""
        return len(self.tuning)

    @property
    def asked(self) -> int | None:
        """The string to pluck now, the last string once more at the end; None when all are known."""
        missing = [string for string in range(self.strings, 0, -1) if string not in self.found]
        if missing:
            return missing[0]
        return self.strings if self.again is None else None

    @property
    def done(self) -> bool:
        """Tell whether everything was plucked."""
        return self.asked is None

    def usual(self, string: int) -> int:
        """Return the MIDI note that `string` should have when open."""
        return self.tuning[self.strings - string]

    def take(self, pluck: Pluck) -> Learning:
        """Take a pluck as the string that was asked for, or say why not."""
        asked = self.asked
        if asked is None:
            return self
        heard = Open(pluck.channel, pluck.pitch)
        if not pluck.alone:
            return self._tell(f"Several strings sounded. Pluck string {asked} alone, and damp the others.")
        if len(self.found) == self.strings:
            return self._once_more(heard)
        known = next((string for string, one in self.found.items() if one == heard), None)
        if known is not None:
            return self._tell(f"That was string {known} again. Now string {asked}.")
        if heard.pitch == self.usual(asked):
            return self._found(asked, heard)
        if self.doubt == (asked, heard):
            return self._found(asked, heard)
        other = next((string for string in range(1, self.strings + 1) if self.usual(string) == heard.pitch), None)
        if other is not None:
            return self._doubt(heard, f"That was {note_name(heard.pitch)}, string {other}. {_where(asked, self)}")
        off = abs(heard.pitch - self.usual(asked))
        if off in _OCTAVES or off <= RETUNED:
            return self._found(asked, heard)
        return self._doubt(
            heard, f"{note_name(heard.pitch)} is far from {note_name(self.usual(asked))}. {_where(asked, self)}"
        )

    def observe(self, message: wire.Message) -> Learning:
        """Take notice of bends and controllers: they tell a master channel and the bend's range."""
        status, channel, number, value = message
        if status == wire.BEND:
            return replace(self, moved=self.moved | {channel})
        if status != wire.CONTROL:
            return self
        parameter = chosen(self.parameters.get(channel, NONE), number, value)
        parameters = MappingProxyType({**self.parameters, channel: parameter})
        seen = replace(self, moved=self.moved | {channel}, parameters=parameters)
        if number == DATA_COARSE and parameter == BEND_RANGE:
            return replace(seen, bend_semitones=float(value))
        if number == DATA_COARSE and parameter == ZONE and channel in ZONES:
            return replace(seen, zone=channel if value else None)
        return seen

    @property
    def told_apart(self) -> bool:
        """Tell whether the channel of a note says its string."""
        channels = {one.channel for one in self.found.values()}
        stays = self.again is None or self.again.channel == self.found[self.strings].channel
        return stays and len(channels) > 1

    def wiring(self, before: Wiring) -> Wiring:
        """Return how the guitar speaks; pedals stay as they were `before`, levels and latency begin anew."""
        channels = Counter(one.channel for one in self.found.values())
        strings = {one.channel: string for string, one in self.found.items() if channels[one.channel] == 1}
        strings = strings if self.told_apart else {}
        quiet = self.moved - channels.keys()
        master = self.zone if self.zone not in strings else None
        if master is None and strings:
            master = next(iter(sorted(quiet & ZONES.keys())), None)
        late = two_periods_ms({string: self._pitch(string, one) for string, one in self.found.items()})
        bend = self.bend_semitones
        if bend is None:
            bend = BEND_SEMITONES if self.zone is None else MPE_BEND_SEMITONES
        return Wiring(
            strings=strings,
            master=master,
            bend_semitones=bend,
            latency_ms={string: late[string] for string in strings.values()},
            latency_all_ms=sum(late.values()) / len(late) if late else 0.0,
            calls=before.calls,
        )

    @property
    def remarks(self) -> tuple[str, ...]:
        """What the player should know of what was learned, the most important first."""
        return (*self._of_channels(), *self._of_pitches())

    def _of_channels(self) -> tuple[str, ...]:
        channels = [self.found[string].channel for string in sorted(self.found, reverse=True)]
        if not self.told_apart:
            if len(set(channels)) == 1:
                return (f"All strings come on channel {channels[0]}: notes are told by pitch alone, not by string.",)
            return ("Channels change from note to note: notes are told by pitch alone, not by string.",)
        shared = [string for string in sorted(self.found) if channels.count(self.found[string].channel) > 1]
        if shared:
            return (f"Strings {_listed(shared)} share a channel and are not told apart.",)
        return (f"A channel for each string, {channels[0]} to {channels[-1]} from string {self.strings} to 1.",)

    def _of_pitches(self) -> tuple[str, ...]:
        off = {string: one.pitch - self.usual(string) for string, one in sorted(self.found.items(), reverse=True)}
        if len(set(off.values())) == 1:
            by = next(iter(off.values()))
            if not by:
                return ()
            what = f"Every string sounds {_interval(by)} {_way(by)} its usual pitch"
            mend = "look for 'transpose' or 'octave' on the guitar" if abs(by) in _OCTAVES else "tune it, or set a capo"
            return (f"{what}: {mend}.",)
        return tuple(
            f"String {string} sounds {note_name(self.found[string].pitch)}, {_interval(by)} {_way(by)} "
            f"{note_name(self.usual(string))}."
            for string, by in off.items()
            if by
        )

    def _pitch(self, string: int, heard: Open) -> int:
        """Return the pitch that a string has: a tracker that hears it an octave off knows it no sooner or later."""
        return self.usual(string) if abs(heard.pitch - self.usual(string)) in _OCTAVES else heard.pitch

    def _found(self, string: int, heard: Open) -> Learning:
        by = heard.pitch - self.usual(string)
        said = f"String {string}: {note_name(heard.pitch)} on channel {heard.channel}."
        if by:
            said += f" That is {_interval(by)} {_way(by)} {note_name(self.usual(string))}."
        found = MappingProxyType({**self.found, string: heard})
        learned = replace(self, found=found, said=said, warn=bool(by), doubt=None)
        return learned._settled() if len(found) == self.strings else learned

    def _settled(self) -> Learning:
        """Look at all strings together: turned round, or two of them on one channel."""
        pitches = [self.found[string].pitch for string in range(self.strings, 0, -1)]
        if self.strings > 1 and all(low > high for low, high in pairwise(pitches)):
            turned = {self.strings + 1 - string: one for string, one in self.found.items()}
            said = "You began at string 1. The strings are turned round; string 1 is the one nearest the floor."
            return replace(self, found=MappingProxyType(turned), said=said, warn=True)
        channels = Counter(one.channel for one in self.found.values())
        shared = {string for string, one in self.found.items() if channels[one.channel] > 1}
        if len(channels) == 1 or not shared or shared <= self.asked_anew:
            return self
        kept = MappingProxyType({string: one for string, one in self.found.items() if string not in shared})
        said = f"Strings {_listed(sorted(shared))} came on one channel. Pluck them once more."
        return replace(self, found=kept, said=said, warn=True, asked_anew=frozenset(shared))

    def _once_more(self, heard: Open) -> Learning:
        first = self.found[self.strings]
        if heard.pitch != first.pitch:
            return self._tell(f"That was {note_name(heard.pitch)}. Pluck string {self.strings} once more.")
        return replace(self, again=heard, said=" ".join(replace(self, again=heard).remarks), warn=False)

    def _tell(self, said: str) -> Learning:
        return replace(self, said=said, warn=True, doubt=None)

    def _doubt(self, heard: Open, said: str) -> Learning:
        asked = self.asked
        return replace(self, said=said, warn=True, doubt=None if asked is None else (asked, heard))


def _where(string: int, learning: Learning) -> str:
    if string == learning.strings:
        return f"Pluck string {string}, the thickest; once more so, and it is taken as it sounds."
    return f"Pluck string {string}; once more so, and it is taken as it sounds."


def _interval(by: int) -> str:
    return _INTERVALS.get(abs(by), f"{abs(by)} semitones")


def _way(by: int) -> str:
    return "above" if by > 0 else "below"


def _listed(strings: list[int]) -> str:
    return " and ".join(str(string) for string in sorted(strings, reverse=True))
