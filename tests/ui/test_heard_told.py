"""Which heard change the screen speaks of, and that it says so where it is not the one whose time stands beside it."""

from __future__ import annotations

from dataclasses import replace

from tests.practice.playing import drill, play, ring
from trainer.practice.events import Heard
from trainer.practice.flaws import Fault, Flaw
from trainer.practice.measures import HeardChange
from trainer.practice.phases import Mode
from trainer.practice.record import Texture
from trainer.practice.session import begin
from trainer.practice.state import Session
from trainer.ui.drilling import heard
from trainer.ui.drilling.parts import ASCII, Figure

NAMES = [step.name for step in drill().steps]
CUT, MISSING = Fault(Flaw.CUT_OFF), Fault(Flaw.MISSING, string=4)
FIRST = HeardChange(0, 0, 1, True, Texture.BLOCK, struck_s=9.0, landed_s=10.0, change_ms=400.0)
SECOND = replace(FIRST, index=1, before=1, after=2, struck_s=10.0, landed_s=11.0)


def after(*changes: HeardChange) -> Session:
    return play(begin(ring(), Mode.HEARD), *(Heard(12.0, change) for change in changes))[0]


def told(session: Session) -> tuple[Figure | None, str]:
    return heard.verdict(session, drill(), ASCII, None), heard.mend(session, drill(), ASCII)


def test_what_is_to_be_mended_stands_over_it() -> None:
    figure, line = told(after(replace(FIRST, faults=(MISSING,))))
    assert figure == Figure("string 4 missing", "OUT", tone="mind")
    assert line == f"{NAMES[0]} {ASCII.arrow} {NAMES[1]}: string 4 missing."


def test_a_verdict_on_the_change_before_says_whose_it_is() -> None:
    figure, line = told(after(replace(FIRST, faults=(CUT,), done=True), SECOND))
    assert figure == Figure(f"{NAMES[0]} {ASCII.arrow} {NAMES[1]}", "CUT", tone="mind")
    assert line.endswith("cut off before the change.")
    figure, _ = told(after(replace(FIRST, clean=True, done=True), SECOND))
    assert figure == Figure(f"{NAMES[0]} {ASCII.arrow} {NAMES[1]}", "CLEAN", tone="best")


def test_what_did_not_land_is_told_until_the_next_change_is_over() -> None:
    missed = replace(FIRST, landed_s=None, change_ms=None, faults=(MISSING,), clean=False, done=True)
    late = replace(SECOND, faults=(CUT,))
    figure, line = told(after(missed, late))
    assert figure is not None
    assert figure.text == "OUT"
    assert "string 4 missing" in line
    figure, line = told(after(missed, late, replace(late, done=True, clean=False)))
    assert figure is not None
    assert figure.text == "CUT"
    assert "cut off before the change" in line
