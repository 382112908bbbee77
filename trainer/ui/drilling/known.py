"""What is known of a change, or of a drill at a tempo: the last time, the facts beside it, what a run came to."""

from __future__ import annotations

from dataclasses import replace

from trainer.practice import beats
from trainer.practice.breaking import breaks
from trainer.practice.climb import Played, height
from trainer.practice.course import Pair
from trainer.practice.drill import Drill
from trainer.practice.ladder import Estimate, Standing
from trainer.practice.phases import Mode, Phase
from trainer.practice.state import Session, Try
from trainer.practice.statistics import Statistics, share
from trainer.ui.days import day_of
from trainer.ui.drilling import heard
from trainer.ui.drilling.conductor import Conductor
from trainer.ui.drilling.parts import Fact, Figure, Signs
from trainer.ui.played import bare_seconds

LONGEST_NAME = 12
"""A shape without a label is called by its text form; where that is longer than this, a sentence says `this shape`."""
LONGEST_FACT = 17
"""Letters of a fact that a window of sixty columns has room for."""
NOTHING = "-"
"""Stands for a number that is not known."""

_GLAD = {Standing.REACHED: "is reached; it holds when another day says so too", Standing.HOLDS: "holds"}
"""What is said of a target once there is something to be glad of."""


def seconds(ms: float | None, digits: int = 2) -> str:
    """Return milliseconds as seconds, fewer digits the longer it took."""
    return NOTHING if ms is None else bare_seconds(ms, digits)


def short(name: str) -> str:
    """Return the name of a shape, or what a sentence says in its place."""
    return name if len(name) <= LONGEST_NAME else "this shape"


def last_time(conductor: Conductor, drill: Drill, signs: Signs) -> tuple[Figure, bool]:
    """Return the last time or answer, and whether it is the best there is."""
    session = conductor.shown
    if session.mode is Mode.PACED:
        runs = _paced(conductor)
        return (Figure("landed last run", f"{runs[-1].landed}/{runs[-1].asked}") if runs else Figure("", "")), False
    last = _last_landing(session)
    if last is None:
        return Figure("", ""), False
    best = _is_best(conductor, last)
    before, after = (short(drill.steps[index].name) for index in last.pair)
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


def statistics(conductor: Conductor, pair: Pair) -> Statistics | None:
    """Return how a change stands as it is timed now; None where it is not timed by itself."""
    timing = conductor.shown.timing
    if timing is None or conductor.shown.mode is Mode.PACED:
        return None
    return conductor.logbook.standings.of(conductor.logbook.series(pair, timing))


def facts(conductor: Conductor, names: tuple[str, str], stats: Statistics | None, signs: Signs) -> tuple[Fact, ...]:
    """Return a caption and lines on the change between shapes of these `names`, or on the drill at its tempi."""
    if conductor.shown.mode is Mode.PACED:
        return _paced_facts(conductor)
    if stats is None:
        return ()
    last = stats.last_ten_ms[-1] if stats.last_ten_ms else None
    verdict, bracket, rest = stats.trend.words.partition(" (")
    by_ear = (heard.facts(conductor.shown),) if conductor.shown.mode is Mode.HEARD else ()
    which = f"{short(names[0])} {signs.arrow} {short(names[1])}"
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
    session, logbook = conductor.shown, conductor.logbook
    today = day_of(logbook.wall(session.began))
    numbers = (run.run for run in session.ended if run.tempo is not None)
    played = zip(session.played_to_the_beat, numbers, strict=True)
    return (*logbook.standings.runs, *(replace(run, day=today, how=logbook.how_was(number)) for run, number in played))


def _alike(conductor: Conductor) -> tuple[Played, ...]:
    """Return those of them that were played as the run now is: shapes read, or recalled."""
    how = conductor.logbook.how_was(conductor.shown.run)
    return tuple(run for run in _paced(conductor) if run.how is how)


def _paced_facts(conductor: Conductor) -> tuple[Fact, ...]:
    runs = _alike(conductor)
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


def told(conductor: Conductor, drill: Drill) -> str:
    """Return what was said last; after a run to the beat also what the ladder has come to."""
    session = conductor.shown
    if session.mode is not Mode.PACED or session.phase is not Phase.ENDED or not session.message:
        return session.message
    at = height(_alike(conductor), session.settings.target)
    also = [] if at.estimate is None else [f"{at.estimate.words[0].upper()}{at.estimate.words[1:]}."]
    if session.settings.target is not None and at.standing in _GLAD:
        also.append(f"The target of {session.settings.target.tempo:g} {_GLAD[at.standing]}.")
    return " ".join((session.message, *against_the_beat(session, drill), *also))


def against_the_beat(session: Session, drill: Drill, *, full: bool = False) -> tuple[str, ...]:
    """Return where a drill breaks and how its changes fell on their beats, of a run to the beat that was heard.

    How they fell is of this run, where it breaks of all such runs of the session; `full`: with a sentence a beat.
    """
    if session.summary is None or not session.summary.heard:
        return ()
    runs = beats.of_session(drill, session)
    found, fell = breaks(runs), beats.by_beat(runs[-1])
    told = fell.lines if full else (fell.words,) if fell.words else ()
    return (*told, *(() if found is None else (found.words,)))
