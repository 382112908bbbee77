"""Everything the drill screen shows, as one value computed from a conductor: texts and numbers, no widgets."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from trainer.errors import plain
from trainer.practice.climb import Played, height
from trainer.practice.course import Pair
from trainer.practice.drill import Drill, Step
from trainer.practice.ladder import Estimate, Standing
from trainer.practice.phases import Mode, Phase
from trainer.practice.record import Texture
from trainer.practice.state import Session, Try
from trainer.practice.statistics import Statistics, share
from trainer.practice.wording import BRIEF, MODE_NAMES, Said, said
from trainer.ui.drilling import heard
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.ears import Ears
from trainer.ui.drilling.memory import Sight
from trainer.ui.drilling.parts import FINE, Beats, Fact, Figure, Signs
from trainer.ui.drilling.standing import day_of

LONGEST_NAME = 12
"""A shape without a label is called by its text form; where that is longer than this, a sentence says `this shape`."""
LONGEST_FACT = 17
"""Letters of a fact that a window of sixty columns has room for."""
NOTHING = "-"
"""Stands for a number that is not known."""

_GLAD = {Standing.REACHED: "is reached; it holds when another day says so too", Standing.HOLDS: "holds"}
"""What is said of a target once there is something to be glad of."""
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
    stats = _statistics(conductor, pair)
    names = (drill.steps[pair[0]].name, drill.steps[pair[1]].name)
    asked = {"a": _short(names[0]), "b": _short(names[1]), "asked": session.changes}
    warning = _warning(conductor) or heard.warning(ears, session)
    last, record = _last(conductor, drill, signs)
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
        facts=_facts(conductor, names, stats, signs),
        last_ten=() if stats is None else stats.last_ten_ms,
        best_ms=None if stats is None else stats.best_ms,
        said=words,
        prompt=words.prompt.format(**asked),
        brief=BRIEF.get((session.mode, session.phase), "").format(**asked),
        message=warning or heard.said(ears) or _told(conductor) or heard.mend(session, drill, signs),
        note="" if session.phase in _BUSY or sight.words else passing.after.note,
        mind=_mind(session, conductor.logbook.drill.caution),
        warn=bool(warning),
        busy=session.phase in _BUSY,
        running=session.left if session.mode is not Mode.CUED else None,
    )


def seconds(ms: float | None, digits: int = 2) -> str:
    """Return milliseconds as seconds, fewer digits the longer it took."""
    if ms is None:
        return NOTHING
    value = ms / 1000
    return f"{value:.{digits if value < 100 else 0}f}"


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


def _short(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else "this shape"


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


def _last(conductor: Conductor, drill: Drill, signs: Signs) -> tuple[Figure, bool]:
    """Return the last time or answer, and whether it is the best there is."""
    session = conductor.shown
    if session.mode is Mode.PACED:
        runs = _paced(conductor)
        return (Figure("landed last run", f"{runs[-1].landed}/{runs[-1].asked}") if runs else Figure("", "")), False
    last = _last_landing(session)
    if last is None:
        return Figure("", ""), False
    best = _is_best(conductor, last)
    before, after = (_short(drill.steps[index].name) for index in last.pair)
    how = "unclean" if last.clean is False else "best yet" if best else "seconds"
    caption = f"{before} {signs.arrow} {after}, {how}"
    return Figure(
        caption if len(caption) < heard.LONGEST_CAPTION else f"last time, {how}", seconds(last.change_ms)
    ), best


def _last_landing(session: Session) -> Try | None:
    """Return what landed last in the session's own way; a time of another way is no measure of this one."""
    return next((one for one in reversed(session.tries) if one.landed and one.timing is session.timing), None)


def _is_best(conductor: Conductor, landing: Try) -> bool:
    series = conductor.logbook.series(landing.pair, landing.timing, number=landing.number)
    standing = conductor.logbook.standings.of(series)
    return standing.timed > 1 and standing.best_ms == landing.change_ms and landing.clean is not False


def _statistics(conductor: Conductor, pair: Pair) -> Statistics | None:
    timing = conductor.shown.timing
    if timing is None or conductor.shown.mode is Mode.PACED:
        return None
    return conductor.logbook.standings.of(conductor.logbook.series(pair, timing))


def _facts(conductor: Conductor, names: tuple[str, str], stats: Statistics | None, signs: Signs) -> tuple[Fact, ...]:
    if conductor.shown.mode is Mode.PACED:
        return _paced_facts(conductor)
    if stats is None:
        return ()
    last = stats.last_ten_ms[-1] if stats.last_ten_ms else None
    verdict, bracket, rest = stats.trend.words.partition(" (")
    by_ear = (heard.facts(conductor.shown),) if conductor.shown.mode is Mode.HEARD else ()
    which = f"{_short(names[0])} {signs.arrow} {_short(names[1])}"
    return (
        (which if len(which) <= LONGEST_FACT else "this change", _times(stats.count)),
        (f"best {seconds(stats.best_ms)}", f"last {seconds(last)}"),
        *by_ear,
        (f"trend {verdict}", bracket.strip() + rest),
        (_clean(stats),),
    )


def _times(count: int) -> str:
    return {0: "not timed yet", 1: "timed once"}.get(count, f"{count} times")


def _clean(stats: Statistics) -> str:
    """Return what was said of it: with keys a player only ever says what was not clean."""
    if stats.clean:
        return f"clean {share(stats.clean, stats.answered)}"
    return f"unclean {stats.answered} of {stats.count}" if stats.answered else "none unclean"


def _paced(conductor: Conductor) -> tuple[Played, ...]:
    """Return every paced run of the drill, those of earlier days among them."""
    session = conductor.shown
    today = day_of(conductor.logbook.wall(session.began))
    return (*conductor.logbook.standings.runs, *(replace(run, day=today) for run in session.played_to_the_beat))


def _paced_facts(conductor: Conductor) -> tuple[Fact, ...]:
    runs = _paced(conductor)
    all_landed = [run.tempo for run in runs if run.landed == run.asked]
    target = conductor.shown.settings.target
    at = height(runs, target)
    best = f"all landed at {f'{max(all_landed):g}' if all_landed else NOTHING}"
    wanted = best if target is None or at.standing is None else f"target {target.tempo:g} {at.standing}"
    return (
        ("beats per minute",),
        (f"now {conductor.shown.tempo:g}", f"last run {f'{runs[-1].tempo:g}' if runs else NOTHING}"),
        _four_in_five(at.estimate),
        (wanted, {0: "no run yet", 1: "1 run"}.get(len(runs), f"{len(runs)} runs")),
    )


def _four_in_five(estimate: Estimate | None) -> Fact:
    if estimate is None:
        return (f"4 in 5 at {NOTHING}", "not enough yet")
    return (f"4 in 5 at {estimate.tempo:.0f}", f"({estimate.low:.0f} to {estimate.high:.0f})")


def _told(conductor: Conductor) -> str:
    """Return what was said last; after a run to the beat also what the ladder has come to."""
    session = conductor.shown
    if session.mode is not Mode.PACED or session.phase is not Phase.ENDED or not session.message:
        return session.message
    at = height(_paced(conductor), session.settings.target)
    told = [] if at.estimate is None else [f"{at.estimate.words[0].upper()}{at.estimate.words[1:]}."]
    if session.settings.target is not None and at.standing in _GLAD:
        told.append(f"The target of {session.settings.target.tempo:g} {_GLAD[at.standing]}.")
    return " ".join((session.message, *told))


def _warning(conductor: Conductor) -> str:
    if conductor.problem is not None:
        return f"Log: {plain(conductor.problem.what)}."  # where it lies and what to do, home says
    return "" if conductor.saved else "Landed, not saved yet."


def _mind(session: Session, caution: str) -> str:
    fresh = session.phase not in _BUSY and session.position == 0
    return caution if fresh and not session.tries and not session.ended else ""
