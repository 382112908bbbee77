"""Everything the drill screen shows, as one value computed from a conductor: texts and numbers, no widgets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.errors import plain
from trainer.practice.course import Pair
from trainer.practice.drill import Drill, Step
from trainer.practice.phases import Mode, Phase
from trainer.practice.record import Texture
from trainer.practice.state import Session
from trainer.practice.wording import BRIEF, MODE_NAMES, Said, said
from trainer.ui.drilling import heard, known
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.ears import Ears
from trainer.ui.drilling.memory import Sight
from trainer.ui.drilling.parts import FINE, Beats, Fact, Figure, Signs

_BUSY = frozenset({Phase.CHANGING, Phase.PLAYING, Phase.COUNT_IN, Phase.WAIT})
"""Phases in which nobody reads."""


@dataclass(frozen=True, slots=True)
class View:
    """What the drill screen shows."""

    pair: Pair
    """The change at hand."""
    board: Pair | None
    """The change on the board; twice the same shape where only that one may be seen; None for an empty neck."""
    title: str
    """What the drill is called."""
    way: tuple[str, ...]
    """What of it is practised, and how."""
    progress: str
    """How far along the run is."""
    names: tuple[str, str]
    """What the two shapes are called."""
    then: tuple[str, ...]
    """What comes after them."""
    after: Pair | None
    """The change after this one; None at the end of the run."""
    words: str
    """The change in one sentence."""
    watch: str
    """The finger to watch, in words; empty where none has anywhere to go."""
    now: Figure
    last: Figure
    record: bool
    """True where the last time is the best there is."""
    facts: tuple[Fact, ...]
    """A caption and three lines on this change."""
    last_ten: tuple[float, ...]
    """The newest times of this change in milliseconds, the newest last."""
    best_ms: float | None
    said: Said
    prompt: str
    brief: str
    """The prompt in fewer words; empty where it is short."""
    message: str
    """What was said last; empty where nothing was."""
    warn: bool
    """True where the message is of something wrong."""
    note: str
    """What the drill's author says of the shape to come."""
    mind: str
    """The drill's caution, before anything is played."""
    busy: bool
    """True while something is timed or beating: the figures are to be in sight."""
    running: float | None
    """When the change in flight began, monotonic seconds: the big number counts from there. None where none is."""


def view(conductor: Conductor, course: str, signs: Signs = FINE, ears: Ears | None = None) -> View:
    """Return what to show of `conductor`, whose course is called `course`, and of the `ears` beside it."""
    session = conductor.shown
    pair, following = at_hand(session)
    sight = _sight(conductor, pair, following[0] if following else None)
    drill, passing = sight.drill, conductor.logbook.passings[pair]
    words = said(session.mode, session.phase)
    stats = known.statistics(conductor, pair)
    names = (drill.steps[pair[0]].name, drill.steps[pair[1]].name)
    asked = {"a": known.short(names[0]), "b": known.short(names[1]), "asked": session.changes}
    warning = _warning(conductor) or heard.warning(ears, session) or _caution(conductor)
    last, record = known.last_time(conductor, drill, signs)
    return View(
        pair=pair,
        board=sight.board,
        title=drill.title,
        way=(course, _mode(session)),
        progress=signs.dot.join((*heard.port(ears), _progress(session))),
        names=names,
        then=tuple(drill.steps[after].name for _, after in following[:3]),
        after=sight.after,
        words=sight.words or passing.words,
        watch="" if passing.change.watch is None or sight.words else f"watch finger {passing.change.watch}",
        now=heard.verdict(session, drill, signs, ears) or _now(session, drill, words),
        last=last,
        record=record,
        facts=known.facts(conductor, names, stats, signs),
        last_ten=() if stats is None else stats.last_ten_ms,
        best_ms=None if stats is None else stats.best_ms,
        said=words,
        prompt=words.prompt.format(**asked),
        brief=BRIEF.get((session.mode, session.phase), "").format(**asked),
        message=warning or heard.said(ears) or _message(conductor, drill, signs),
        note="" if session.phase in _BUSY or sight.words else passing.after.note,
        mind=_mind(session, conductor.logbook.drill.caution),
        warn=bool(warning),
        busy=session.phase in _BUSY,
        running=session.left if session.mode is not Mode.CUED else None,
    )


def at_hand(session: Session) -> tuple[Pair, tuple[Pair, ...]]:
    """Return the change to show and those after it; once a run is over, those of the next one."""
    if session.phase is not Phase.ENDED:
        return session.pair, session.upcoming
    if session.mode is Mode.PACED:
        legs = session.course.part((session.part + 1) % session.course.parts)
    else:
        legs = session.course.legs
    return legs[0].pair, tuple(leg.pair for leg in legs[1:])


def _mode(session: Session) -> str:
    name = MODE_NAMES[session.mode]
    return f"{name} at {session.tempo:g}" if session.mode is Mode.PACED else name


def _progress(session: Session) -> str:
    if session.phase is Phase.ENDED:
        return "run over"
    return f"change {session.change} of {session.changes}"


def _voices(step: Step) -> tuple[str, ...]:
    """Return the strings that a figure has on each beat, in the order struck; nothing of any other texture."""
    if step.texture is not Texture.FIGURE:
        return ()
    struck: list[str] = [""] * math.ceil(step.beats)
    for stroke in sorted(step.plucked.strokes, key=lambda stroke: stroke.beat):
        place = math.floor(stroke.beat) - 1
        struck[place] += "".join(str(string) for string in sorted(stroke.strings, reverse=True))
    return tuple(struck)


def _now(session: Session, drill: Drill, words: Said) -> Figure:
    bar, accents = session.course.bar, session.settings.accents
    if session.phase is Phase.COUNT_IN:
        return Figure(words.caption, "", Beats(bar, session.counting or 0, bar, accents))
    if session.phase is Phase.PLAYING:
        beat = session.beat or 1
        first = (math.floor(session.elapsed) - beat + 1) % bar + 1
        voices = _voices(drill.steps[session.holding])
        return Figure(words.caption, "", Beats(math.ceil(session.beats), beat, bar, accents, first, voices))
    if session.question is not None:
        return Figure(words.caption, f"{session.question.choice}/{session.question.asked}")
    return Figure(words.caption, words.big)


def _sight(conductor: Conductor, pair: Pair, after: Pair | None) -> Sight:
    if conductor.by_heart is None:
        return Sight(conductor.logbook.drill, pair, after, "")
    return conductor.by_heart.sight(conductor.shown, pair, after)


def _warning(conductor: Conductor) -> str:
    if conductor.problem is not None:
        return f"Log: {plain(conductor.problem.what)}."  # where it lies and what to do, home says
    return "" if conductor.saved else "Landed, not saved yet."


def _caution(conductor: Conductor) -> str:
    """Return what is to be minded before anything is played."""
    return "" if conductor.quiet is None or conductor.shown.phase in _BUSY else conductor.quiet.caution


def _message(conductor: Conductor, drill: Drill, signs: Signs) -> str:
    """Return what was said last and what is said besides."""
    said_last = known.told(conductor, drill) or heard.mend(conductor.shown, drill, signs)
    besides = "" if conductor.quiet is None else plain(conductor.quiet.text)
    return f"{said_last} {besides}".strip()


def _mind(session: Session, caution: str) -> str:
    fresh = session.phase not in _BUSY and session.position == 0
    return caution if fresh and not session.tries and not session.ended else ""
