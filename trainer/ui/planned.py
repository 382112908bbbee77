"""Today's plan for one player: the changes in the log, and those of the drills under way that were never timed.

The command and the home screen both ask here.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from trainer.log.looks import looks
from trainer.practice.plan import Look, Plan, plan, target_ms
from trainer.practice.record import WARM_UP

if TYPE_CHECKING:
    from trainer.hand.reach import Hand
    from trainer.log.history import History

_NEWEST, _MOST = 20, 6
"""The drills of so many newest runs are under way, and no more of them than this."""


def plan_for(history: History, hand: Hand, today: date, tempo: float, minutes: float, fewest: int = 1) -> Plan:
    """Return what to practise today, leaving out what was timed, but not `fewest` times."""
    target = target_ms(tempo)
    found = [look for look in looks(history, today, target) if look.now.timed >= fewest]
    return plan([*found, *_never_timed(history, hand, today, target)], today.toordinal(), minutes)


def _never_timed(history: History, hand: Hand, today: date, target: float) -> list[Look]:
    """Return the changes of the drills under way that were never timed, where this hand is known well enough."""
    played = (run.drill for run in history.runs(newest=_NEWEST) if run.remark != WARM_UP)
    titles = list(dict.fromkeys(played))[:_MOST]
    if not titles:
        return []
    from trainer.files.library import with_titles
    from trainer.log.hands import time_model
    from trainer.practice.untimed import predicted, waiting

    changes = waiting(with_titles(titles), history.played)
    # The model is paid for only where there is something to ask it.
    return list(predicted(changes, time_model(history, hand), hand, today.toordinal(), target)) if changes else []
