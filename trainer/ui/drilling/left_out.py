"""Which commands the key bar of the drill screen leaves out, by mode and phase."""

from __future__ import annotations

from types import MappingProxyType

from trainer.practice.phases import Mode, Phase
from trainer.practice.wording import said

_HIDDEN = MappingProxyType(
    {
        Mode.WALK: frozenset({"unclean", "undo", "slower", "faster"}),
        Mode.PACED: frozenset({"unclean", "undo", "previous"}),
        Mode.PRESSES: frozenset({"slower", "faster", "previous"}),
        Mode.CUED: frozenset({"slower", "faster", "previous"}),
        Mode.HEARD: frozenset({"slower", "faster", "previous"}),
    }
)
"""Commands that mean little in a mode and are left out of its key bar."""
_HIDDEN_AT_THE_END = MappingProxyType({Mode.PACED: frozenset({"unclean", "slower", "faster", "previous"})})
"""The same once a run is over, where that differs: an answer can be taken back."""


def hidden(mode: Mode, phase: Phase) -> frozenset[str]:
    """Return the commands that the key bar leaves out in `phase` of `mode`, by id."""
    left_out = _HIDDEN_AT_THE_END.get(mode, _HIDDEN[mode]) if phase is Phase.ENDED else _HIDDEN[mode]
    return left_out if said(mode, phase).press else left_out | {"press"}
