"""What the practice log says of the player's hand: what costs it most, as lines and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trainer.commands.own import own_settings
from trainer.errors import plain
from trainer.log.hands import time_model
from trainer.practice.timemodel.words import standing, told, trusted
from trainer.ui.played import seconds, timed_by

if TYPE_CHECKING:
    from trainer.log.history import History
    from trainer.practice.timemodel.model import TimeModel

NOTHING = "nothing yet that could not be chance"
"""Said where there is enough to learn from and still nothing to tell."""


def own_model(history: History) -> TimeModel:
    """Return what the log teaches of the hand whose reach is set in the app."""
    return time_model(history, own_settings().reach)


def hand_lines(model: TimeModel) -> list[str]:
    """Return what costs this hand most, a line each, and how far that can be trusted."""
    if not model.enough:
        return [f"What costs your hand most: {standing(model)}."]
    found = [f"  {one.sentence}" for one in told(model)] or [f"  {NOTHING}"]
    usual = f"its usual change takes {seconds(model.usual_ms)}"
    head = f"What costs your hand most, {standing(model)}, {timed_by(model.kind)}; {usual}:"
    return [head, *found, f"  {trusted(model.calibration())}"]


def hand_document(model: TimeModel) -> dict[str, Any]:
    """Return the same as JSON; nothing is told, and no interval tried, before there is enough to learn from."""
    calibration = model.calibration() if model.enough else None
    return {
        "enough": model.enough,
        "changes": model.count,
        "timing": model.kind.timing,
        "tempo": model.kind.tempo,
        "texture": model.kind.texture,
        "source": plain(model.kind.source),
        "how": model.kind.how,
        "usual_ms": model.usual_ms if model.enough else None,
        "costs": [
            {
                "words": one.telling.words,
                "of": dict(one.telling.amounts),
                "ms": one.cost.ms.middle,
                "low_ms": one.cost.ms.low,
                "high_ms": one.cost.ms.high,
            }
            for one in told(model)
        ],
        "left_out": None if calibration is None else calibration.changes,
        "held": None if calibration is None else calibration.held,
    }
