"""Everything the drill screen shows, as one value computed from a conductor: texts and numbers, no widgets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.practice.course import Pair
from trainer.practice.passage import Passing
from trainer.practice.phases import Mode, Phase
from trainer.practice.state import Session, Try
from trainer.practice.statistics import Statistics, share
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.wording import MODE_NAMES, Said, said

LONGEST_NAME = 12
"""A shape without a label is called by its text form; where that is longer than this, a sentence says `this shape`."""
NOTHING = "-"
"""Stands for a number that is not known."""


@dataclass(frozen=True, slots=True)
class Beats:
    """The beats of the shape that is held, or of the bar that is counted."""

    count: int
    """How many."""
    current: int
    """Which one it is, from 1; 0 before the first."""
    bar: int
    """Beats in a bar: the first of each has the accent."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number or a word in big letters, and what stands over it."""

    caption: str
    text: str
    beats: Beats | None = None
    """Shown in place of the text where given."""


@dataclass(frozen=True, slots=True)
class View:
    """What the drill screen shows."""

    pair: Pair
    """The change on the board."""
    title: str
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
    facts: tuple[str, ...]
    """A caption and three lines on this change."""
    last_ten: tuple[float, ...]
    """The newest times of this change in milliseconds, the newest last."""
    best_ms: float | None
    said: Said
    prompt: str
    message: str
    warn: bool
    """True where the message is of something wrong."""
    running: float | None
    """When the change in flight began, monotonic seconds: the big number counts from there. None where none is."""


def view(conductor: Conductor, course: str) -> View:
    """Return what to show of `conductor`, whose course is called `course`."""
    session, drill = conductor.shown, conductor.logbook.drill
    pair, following = _at_hand(session)
    passing = conductor.logbook.passings[pair]
    words = said(session.mode, session.phase)
    stats = _statistics(conductor, pair)
    names = (passing.before.name, passing.after.name)
    warning = _warning(conductor)
    return View(
        pair=pair,
        title="  ".join((drill.title, course, _mode(session))),
        progress=_progress(session),
        names=names,
        then=tuple(drill.steps[after].name for _, after in following[:3]),
        after=following[0] if following else None,
        words=passing.words,
        watch="" if passing.change.watch is None else f"watch finger {passing.change.watch}",
        now=_now(session, words),
        last=_last(conductor),
        facts=_facts(session, passing, stats),
        last_ten=() if stats is None else stats.last_ten_ms,
        best_ms=None if stats is None else stats.best_ms,
        said=words,
        prompt=words.prompt.format(a=_short(names[0]), b=_short(names[1]), asked=session.changes),
        message=warning or session.message or _remind(session, conductor, passing),
        warn=bool(warning),
        running=session.left if session.mode is not Mode.CUED else None,
    )


def seconds(ms: float | None, digits: int = 2) -> str:
    """Return milliseconds as seconds, fewer digits the longer it took."""
    if ms is None:
        return NOTHING
    value = ms / 1000
    return f"{value:.{digits if value < 100 else 0}f}"


def _at_hand(session: Session) -> tuple[Pair, tuple[Pair, ...]]:
    """Return the change to show and those after it; once a run is over, those of the next one."""
    if session.phase is not Phase.ENDED:
        return session.pair, session.upcoming
    if session.mode is Mode.PACED:
        legs = session.course.part((session.part + 1) % session.course.parts)
    else:
        legs = session.route
    return legs[0].pair, tuple(leg.pair for leg in legs[1:])


def _mode(session: Session) -> str:
    name = MODE_NAMES[session.mode]
    return f"{name} at {session.tempo:g}" if session.mode is Mode.PACED else name


def _progress(session: Session) -> str:
    if session.phase is Phase.ENDED:
        return "run over"
    return f"change {session.change} of {session.changes}"


def _short(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else "this shape"


def _now(session: Session, words: Said) -> Figure:
    if session.phase is Phase.COUNT_IN:
        return Figure(words.caption, "", Beats(session.course.bar, session.counting or 0, session.course.bar))
    if session.phase is Phase.PLAYING:
        held = Beats(math.ceil(session.beats), session.beat or 0, session.course.bar)
        return Figure(words.caption, "", held)
    if session.question is not None:
        return Figure(words.caption, f"{session.question.choice}/{session.question.asked}")
    return Figure(words.caption, words.big)


def _last(conductor: Conductor) -> Figure:
    session = conductor.shown
    if session.mode is Mode.PACED:
        paced = [summary for summary in session.ended if summary.tempo is not None]
        return Figure("landed last", f"{paced[-1].landed}/{paced[-1].asked}" if paced else NOTHING)
    last = _last_landing(session)
    if last is None:
        return Figure("last time", NOTHING)
    before, after = (conductor.logbook.drill.steps[index].name for index in last.pair)
    unclean = ", not clean" if last.clean is False else ""
    return Figure(f"{_short(before)} → {_short(after)}, s{unclean}", seconds(last.change_ms))


def _last_landing(session: Session) -> Try | None:
    return next((one for one in reversed(session.tries) if one.change_ms is not None), None)


def _statistics(conductor: Conductor, pair: Pair) -> Statistics | None:
    timing = conductor.shown.timing
    if timing is None or conductor.shown.mode is Mode.PACED:
        return None
    return conductor.logbook.standings.of(conductor.logbook.series(pair, timing))


def _facts(session: Session, passing: Passing, stats: Statistics | None) -> tuple[str, ...]:
    if session.mode is Mode.PACED:
        return _paced_facts(session)
    if stats is None:
        return ()
    last = stats.last_ten_ms[-1] if stats.last_ten_ms else None
    return (
        f"{_short(passing.before.name)} → {_short(passing.after.name)}, {stats.count} times",
        f"best {seconds(stats.best_ms)}   last {seconds(last)}",
        f"trend {stats.trend.words}",
        f"clean {share(stats.clean, stats.answered)}",
    )


def _paced_facts(session: Session) -> tuple[str, ...]:
    paced = [summary for summary in session.ended if summary.tempo is not None]
    all_landed = [summary.tempo for summary in paced if not summary.missed and summary.tempo is not None]
    return (
        "beats per minute",
        f"now {session.tempo:g}   last {f'{paced[-1].tempo:g}' if paced else NOTHING}",
        f"all landed at {max(all_landed):g}" if all_landed else "all landed: not yet",
        f"runs {len(paced)}",
    )


def _warning(conductor: Conductor) -> str:
    if conductor.problem is not None:
        return str(conductor.problem)
    return "" if conductor.saved else "Landed, not saved yet."


def _remind(session: Session, conductor: Conductor, passing: Passing) -> str:
    """Return what is worth saying where nothing else is: the shape's note while it is taken, the drill's caution."""
    if session.phase in {Phase.CHANGING, Phase.PLAYING, Phase.COUNT_IN, Phase.WAIT}:
        return ""
    if session.position == 0 and conductor.logbook.drill.caution:
        return f"Mind: {conductor.logbook.drill.caution}"
    return passing.after.note
