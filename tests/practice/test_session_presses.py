"""Telling presses from a held key's repeats and a pedal's bounces."""

import pytest

from trainer.practice.presses import Presses, Verdict

COUNTS, IGNORED, TAKES_BACK = Verdict.COUNTS, Verdict.IGNORED, Verdict.TAKES_BACK


@pytest.mark.parametrize(
    ("stamps", "verdicts"),
    [
        # Two presses of the player's.
        ([0.0, 0.4], [COUNTS, COUNTS]),
        # One bounce, and a press at exactly the window.
        ([0.0, 0.02], [COUNTS, IGNORED]),
        ([0.0, 0.06], [COUNTS, COUNTS]),
        # A held key: the first repeat is taken back once two more have followed, and never again.
        ([0.0, 0.5, 0.53, 0.56, 0.59, 0.62], [COUNTS, COUNTS, IGNORED, TAKES_BACK, IGNORED, IGNORED]),
        # A press after the key was let go.
        ([0.0, 0.5, 0.53, 0.56, 0.9], [COUNTS, COUNTS, IGNORED, TAKES_BACK, COUNTS]),
        # One repeat only: the key was let go at once, which cannot be told from a bounce.
        ([0.0, 0.5, 0.53, 0.9], [COUNTS, COUNTS, IGNORED, COUNTS]),
        # Each is measured from the one before, not from the first.
        ([0.0, 0.05, 0.1, 0.15], [COUNTS, IGNORED, TAKES_BACK, IGNORED]),
        # A stamp that runs backwards is no new press.
        ([1.0, 0.7, 1.05], [COUNTS, IGNORED, TAKES_BACK]),
    ],
)
def test_verdicts(stamps: list[float], verdicts: list[Verdict]) -> None:
    presses, found = Presses(), []
    for at in stamps:
        presses, verdict = presses.judge(at, 0.06)
        found.append(verdict)
    assert found == verdicts
