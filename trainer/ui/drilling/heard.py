"""What the drill screen says of a guitar that is listened to: texts only, computed from the session and the ears."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from trainer.errors import plain
from trainer.practice.drill import Drill
from trainer.practice.flaws import Fault, Flaw
from trainer.practice.phases import Mode, Phase
from trainer.practice.state import Session, Try
from trainer.ui.board.marks import Sign
from trainer.ui.drilling.ears import Ears
from trainer.ui.drilling.parts import Fact, Figure, Signs

LONGEST_PORT = 14
"""Letters of a port's name in the top line."""
LONGEST_CAPTION = 20
"""A caption that is not shorter does not fit over its figure."""
_BY_EAR = frozenset({Phase.LISTENING, Phase.ENDED})

BIG: Mapping[Flaw, str] = MappingProxyType(
    {
        Flaw.OPENED: "UP",
        Flaw.MOVED: "OFF",
        Flaw.WRONG: "WRONG",
        Flaw.OCTAVE: "WRONG",
        Flaw.MISSING: "OUT",
        Flaw.LOST: "LOST",
        Flaw.CUT_OFF: "CUT",
        Flaw.CUT_SHORT: "SHORT",
        Flaw.LATE: "LATE",
        Flaw.ROLLED: "ROLL",
        Flaw.TOGETHER: "ROLL",
        Flaw.DROWNED: "LOUD",
        Flaw.SLIDE: "SLIDE",
    }
)
"""What is to be mended in one word that can be read across a room; the sentence stands beside it."""


def port(ears: Ears | None) -> tuple[str, ...]:
    """Return which guitar is heard, for the top line; nothing where none is."""
    hearing = None if ears is None else ears.hearing
    if hearing is None or not hearing.port:
        return ()
    name = plain(hearing.port)
    name = name if len(name) <= LONGEST_PORT else f"{name[: LONGEST_PORT - 3]}..."
    return (name if hearing.connected else f"{name} lost",)


def warning(ears: Ears | None, session: Session) -> str:
    """Return what is wrong with the guitar; empty where nothing is, or it does not matter now."""
    hearing = None if ears is None else ears.hearing
    if ears is None or hearing is None:
        return ""
    by_ear = session.mode is Mode.HEARD
    if hearing.port and not hearing.connected:
        return "The guitar is gone: its port is lost. Keys go on; it is heard again as soon as it is back."
    if ears.missing is not None:
        hint = f" ({ears.missing.hint})" if ears.missing.hint else ""
        return plain(f"Not heard: {ears.missing.what}{hint}.") if by_ear else ""
    if hearing.trouble:
        return plain(f"{hearing.port}: {hearing.trouble}.")
    return "Waiting for a guitar: plug it in and it is heard." if by_ear and not hearing.port else ""


def said(ears: Ears | None) -> str:
    """Return what is said of the shape that is checked, or of a string that is missed; empty where neither is."""
    if ears is None:
        return ""
    if ears.check is not None:
        return f"Check: {ears.check.words}"
    missed = sorted((string for string, sign in ears.lights().items() if sign is Sign.MISSING), reverse=True)
    if not missed:
        return ""
    strings = f"Strings {', '.join(map(str, missed))} were" if missed[1:] else f"String {missed[0]} was"
    return f"{strings} not heard: play the shape once more, or go on."


def verdict(session: Session, drill: Drill, signs: Signs, ears: Ears | None) -> Figure | None:
    """Return the last change heard in one big word; None where there is another thing to show.

    One that is not the change whose time stands beside it is called by its shapes.
    """
    if ears is not None and ears.check is not None:
        return Figure("check", f"{len(ears.check.right)}/{len(ears.check.wanted)}")
    last = _judged(session)
    if session.mode is not Mode.HEARD or session.phase not in _BY_EAR or last is None:
        return None
    fault = _fault(last)
    whose = "" if last is _last(session) else _whose(last, drill, signs)
    if fault is not None:
        return Figure(_caption(whose or fault.words, "to mend"), BIG[fault.flaw], tone="mind")
    return Figure(_caption(whose or "last change", "the one before"), "CLEAN", tone="best") if last.clean else None


def mend(session: Session, drill: Drill, signs: Signs) -> str:
    """Return the one thing to mend in the change heard last; empty where none was heard."""
    last = _judged(session)
    if last is None or session.mode not in {Mode.HEARD, Mode.PACED}:
        return ""
    fault = _fault(last)
    told = fault.words if fault is not None else "clean" if last.clean else ""
    return f"{_whose(last, drill, signs)}: {plain(told)}." if told else ""


def facts(session: Session) -> Fact:
    """Return gap and spread of the change heard last, before them how late it was where that is known.

    The change at hand is another one already, so it is said that they are the last one's.
    """
    last = _last(session)
    if last is None or last.heard is None:
        return ("last gap -", "spread -")
    told = (f"last gap {_ms(last.heard.gap_ms)}", f"spread {_ms(last.heard.spread_ms)}")
    return told if last.heard.lateness_ms is None else (f"late {_ms(last.heard.lateness_ms)}", *told)


def _last(session: Session) -> Try | None:
    return next((one for one in reversed(session.tries) if one.heard is not None), None)


def _judged(session: Session) -> Try | None:
    """Return the newest change of which there is anything to say; what landed just now is not over yet.

    One that did not land is told as the next one is struck, which must not hide it at once.
    """
    newest = [(one, one.heard) for one in reversed(session.tries) if one.heard is not None]
    if newest[1:] and not newest[0][1].done and not newest[1][0].landed:
        return newest[1][0]
    return next((one for one, heard in newest if heard.faults or heard.done), None)


def _whose(one: Try, drill: Drill, signs: Signs) -> str:
    before, after = (drill.steps[index].name for index in one.pair)
    return plain(f"{before} {signs.arrow} {after}")


def _caption(text: str, short: str) -> str:
    return text if len(text) < LONGEST_CAPTION else short


def _fault(one: Try) -> Fault | None:
    return one.heard.faults[0] if one.heard is not None and one.heard.faults else None


def _ms(value: float | None) -> str:
    return "-" if value is None else f"{value:.0f} ms"
