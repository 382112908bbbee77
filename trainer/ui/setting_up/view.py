"""Everything the setup screen shows, as one value: texts and numbers, no widgets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from trainer.errors import plain
from trainer.files.guitars import Guitar
from trainer.fretboard.pitch import note_name
from trainer.listen.setup.flow import STAGES, HeardNote, Setup, Stage
from trainer.listen.setup.latency import STROKES
from trainer.listen.setup.levelling import ENOUGH
from trainer.listen.setup.striking import LEAD, Place
from trainer.practice.wiring import Trigger
from trainer.ui.commands import BY_ID
from trainer.ui.setting_up.sitting import Sitting

FRESH_S = 0.6
"""How long a note stands out after it was struck."""

ABOUT: Mapping[Stage, str] = MappingProxyType(
    {
        Stage.STRINGS: "Pluck each open string as it is asked for, alone, and let it ring. "
        "String 6 is the thickest, string 1 the thinnest.",
        Stage.LEVELS: "Six plucks of each open string, all as loud as each other. Then a melody can be told from what "
        "goes with it.",
        Stage.LATENCY: "Low strings are heard later than high ones. Pluck four open strings at once, thumb and three "
        "fingers, with each beat: after that a block chord is told from a rolled one.",
        Stage.PEDALS: "Press a pedal to see what it does; press it again until it does what you want.",
    }
)
"""What each step is for."""
_PLUS_MINUS = MappingProxyType({True: "±", False: "+-"})
"""What stands before a margin, with signs beyond ASCII and without."""
_CHOOSE = "Pluck any string of the guitar that you want to set up."
_NONE = "No MIDI port is there. Plug the guitar's MIDI or USB cable in and switch it on: it shows up here by itself."


@dataclass(frozen=True, slots=True)
class Row:
    """One string."""

    string: int | None
    """None: notes of no string that is known."""
    asked: bool
    """True where it is to be plucked now."""
    note: str
    """The note that was heard last; empty where none was."""
    velocity: int
    """Its velocity; 0 where none was."""
    fresh: bool
    """True where it was struck just now."""
    facts: tuple[str, ...]
    """What is known of it: channel, level, latency; the first matter most."""


@dataclass(frozen=True, slots=True)
class View:
    """What the setup screen shows."""

    port: str
    """The guitar that is set up; empty while one is to be chosen."""
    ports: tuple[tuple[str, str], ...]
    """Each port to choose from and what is known of it; empty where one is chosen."""
    steps: tuple[tuple[str, bool, bool], ...]
    """Each step: its name, whether the player is at it, whether it is done."""
    caption: str
    """What to do, over the big letters."""
    big: str
    """What it is about, in big letters."""
    side: str
    """A second thing in big letters: a note heard, a count, a beat."""
    beat: bool
    """True where `side` is a beat."""
    beats: tuple[int, int] | None
    """The beat that is played and how many there are; None where none is."""
    rows: tuple[Row, ...]
    """The strings, string 1 first."""
    words: str
    message: str
    """What was said last."""
    warn: bool
    """True where that is of something wrong."""
    go: str
    """What the one key does, for the prompt; empty where it does nothing."""


def view(sitting: Sitting, now: float, *, fine: bool = True) -> View:
    """Return what to show of `sitting` at the moment `now`; `fine` allows signs beyond ASCII."""
    setup = sitting.setup
    if setup is None or sitting.chosen is None:
        return _ports(sitting)
    place = setup.striking.place(now)
    caption, big, side = _headline(setup, place)
    beat = place is not None
    return View(
        port=plain(sitting.chosen),
        ports=(),
        steps=tuple((str(stage), stage is setup.stage, stage in setup.done) for stage in STAGES),
        caption=caption,
        big=big,
        side=side,
        beat=beat,
        beats=_beats(place),
        rows=_rows(setup, now, place, _PLUS_MINUS[fine]),
        words=ABOUT[setup.stage],
        message=sitting.trouble or setup.said.replace(_PLUS_MINUS[True], _PLUS_MINUS[fine]) or _pedals(setup),
        warn=bool(sitting.trouble) or setup.warn,
        go=_go(setup),
    )


def _ports(sitting: Sitting) -> View:
    rows = tuple((plain(port), known_of(sitting.guitar(port))) for port in sitting.ports)
    return View(
        port="",
        ports=rows,
        steps=tuple((str(stage), False, False) for stage in STAGES),
        caption="to begin" if rows else "no guitar is heard",
        big="PLUCK" if rows else "PLUG IN",
        side="",
        beat=False,
        beats=None,
        rows=(),
        words=_CHOOSE if rows else _NONE,
        message=sitting.trouble,
        warn=bool(sitting.trouble),
        go="sets up the one that is highlighted." if rows else "",
    )


def known_of(guitar: Guitar) -> str:
    """Return in a few words how far a guitar is set up."""
    wiring = guitar.wiring
    if not wiring.strings and not wiring.latency_all_ms:
        return "not set up yet"
    parts = ["strings"] if wiring.strings else ["one channel"]
    parts += ["levels"] if wiring.levelled else []
    parts += [f"latency of {guitar.measured}"] if guitar.measured else []
    return f"knows {', '.join(parts)}"


def _headline(setup: Setup, place: Place | None) -> tuple[str, str, str]:
    """Return what to do, what it is about, and a second thing to see."""
    if setup.away:
        return "the guitar is gone", "PLUG IN", ""
    if setup.stage is Stage.STRINGS:
        return _of_strings(setup)
    if setup.stage is Stage.LEVELS:
        string = setup.levelling.asked
        if string is None or setup.stage in setup.done:
            return "nothing left to pluck here", "DONE", ""
        return "pluck evenly, all alike", f"STRING {string}", f"{setup.levelling.count(string)}/{ENOUGH}"
    if setup.stage is Stage.LATENCY:
        return _of_latency(setup, place)
    return _of_pedals(setup)


def _of_strings(setup: Setup) -> tuple[str, str, str]:
    latest = max(setup.notes.values(), key=lambda note: note.at, default=None)
    heard = "" if latest is None else note_name(latest.pitch)
    string = setup.learning.asked
    if setup.stage in setup.done or string is None:
        return "all strings are known", "DONE", heard
    if setup.learning.found and len(setup.learning.found) == setup.learning.strings:
        return "and once more, to be sure", f"STRING {string}", heard
    return f"pluck this open string, {note_name(setup.learning.usual(string))}", f"STRING {string}", heard


def _of_latency(setup: Setup, place: Place | None) -> tuple[str, str, str]:
    if setup.beating:
        group = place.group if place is not None else 0
        strings = " ".join(str(string) for string in setup.striking.groups[group])
        if place is None:
            return "get ready: together, with each beat", strings, ""
        number = place.beat + 1 if place.counting else place.beat - LEAD + 1
        caption = "get ready: these together" if place.counting else "now, with each beat"
        return caption, strings, str(number)
    if setup.stage in setup.done:
        return "the strings' delays are known", "DONE", ""
    return "hear the beat, then pluck along", "READY", ""


def _of_pedals(setup: Setup) -> tuple[str, str, str]:
    if setup.pedal is None:
        return "press a pedal", "PEDAL", ""
    return f"{spelt(setup.pedal)} does this in a drill", called(setup.wiring.calls[setup.pedal]).upper(), ""


def _pedals(setup: Setup) -> str:
    """Return what is known of pedals, at the step that is about them."""
    calls = setup.wiring.calls
    if setup.stage is not Stage.PEDALS or not calls:
        return ""
    return f"Known: {', '.join(f'{spelt(trigger)} is {called(call)}' for trigger, call in calls.items())}."


def spelt(trigger: Trigger) -> str:
    """Return what a pedal sends, for the player."""
    channel = "" if trigger.channel is None else f" on channel {trigger.channel}"
    return f"{'controller' if trigger.kind == 'control' else 'note'} {trigger.number}{channel}"


def called(command: str) -> str:
    """Return what a command is called on the screens."""
    return BY_ID[command].label if command in BY_ID and command != "press" else command


def _beats(place: Place | None) -> tuple[int, int] | None:
    if place is None:
        return None
    return (place.beat + 1, LEAD) if place.counting else (place.beat - LEAD + 1, STROKES)


def _rows(setup: Setup, now: float, place: Place | None, sign: str) -> tuple[Row, ...]:
    asked = _asked(setup, place)
    rows = tuple(_row(setup, string, string in asked, now, sign) for string in range(1, setup.strings + 1))
    return (*rows, _row(setup, None, False, now, sign)) if None in setup.notes else rows


def _asked(setup: Setup, place: Place | None) -> frozenset[int]:
    """Return the strings to be plucked now."""
    if setup.stage is Stage.LATENCY and setup.beating:
        return frozenset(setup.striking.groups[0 if place is None else place.group])
    string = {Stage.STRINGS: setup.learning.asked, Stage.LEVELS: setup.levelling.asked}.get(setup.stage)
    return frozenset() if string is None or setup.stage in setup.done else frozenset({string})


def _row(setup: Setup, string: int | None, asked: bool, now: float, sign: str) -> Row:
    note = setup.notes.get(string)
    return Row(
        string=string,
        asked=asked,
        note="" if note is None else note_name(note.pitch),
        velocity=0 if note is None else note.velocity,
        fresh=note is not None and now - note.at < FRESH_S,
        facts=_facts(setup, string, note, sign),
    )


def _facts(setup: Setup, string: int | None, note: HeardNote | None, sign: str) -> tuple[str, ...]:
    if string is None:
        return () if note is None else (f"channel {note.channel}", "no string")
    wiring = setup.wiring
    channels = {one: channel for channel, one in wiring.strings.items()}
    learned = setup.learning.found.get(string)
    channel = channels.get(string) if Stage.STRINGS in setup.done or learned is None else learned.channel
    facts = [] if channel is None else [f"channel {channel}"]
    if string in wiring.latency_ms:
        sure = f" {sign} {setup.margin_ms[string]:.1f}" if string in setup.margin_ms else ""
        facts.append(f"{wiring.latency_ms[string]:.1f}{sure} ms")
    if string in wiring.levels:
        facts.append(f"level {wiring.levels[string]:+.0f}")
    return tuple(facts)


def _go(setup: Setup) -> str:
    """Return what the one key does now."""
    if setup.stage is Stage.LATENCY and setup.beating:
        return "stops the beat."
    if setup.stage is Stage.LATENCY and setup.stage not in setup.done:
        return "begins the beat; 4 beats are counted first."
    following = STAGES.index(setup.stage) + 1
    if following == len(STAGES):
        return "ends this: everything is kept already."
    return (
        f"goes on to {STAGES[following]}." if setup.stage in setup.done else f"skips this, on to {STAGES[following]}."
    )
