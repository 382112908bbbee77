"""The reader by itself: what the moment of the last decided note has to say about the next one."""

from __future__ import annotations

import pytest

from tests.listen.building import AM, C, drill
from trainer.listen.matcher.attempt import Attempt
from trainer.listen.matcher.reader import Reader
from trainer.listen.matcher.settings import Settings
from trainer.listen.matcher.sounding import Note
from trainer.listen.matcher.template import templates

SETTINGS = Settings(strum_s=0.05)


def note(on: float, string: int, pitch: int) -> Note:
    return Note(on, (string, pitch), 80, legato=False)


@pytest.mark.parametrize(
    ("after_s", "step"),
    # Within one strum of a decided note the hand cannot have left its shape; a moment later it can.
    [(0.04, 0), (0.06, 1)],
)
def test_a_decided_shape_is_not_left_within_its_last_strum(after_s: float, step: int) -> None:
    shapes = templates(drill(AM, C))
    here = Attempt(0, shapes[0], SETTINGS)
    for string, pitch in ((5, 45), (4, 52), (3, 57), (2, 60), (1, 64)):
        here.add(note(1.0, string, pitch))
    assert here.landed == 1.0

    reader = Reader(shapes, SETTINGS, 0)
    reader.decided(here)
    reader.add(note(1.0 + after_s, 5, 48))

    assert reader.leader.step == step
