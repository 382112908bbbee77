"""How much a change asks of the fretting hand, by one stated rule, so that a warm-up can raise it gradually.

load = span + barre + work: the wider shape's span in hundreds of millimetres; half for a half barre and one for a full
one, the heavier of the two shapes; and half for each 60 changes a minute. The rule is ours, no source: wide, pressed
and fast are what teachers have players come to last.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.fretboard.shape import Shape
from trainer.hand.change import Change
from trainer.hand.frame import position, reaches
from trainer.hand.reach import Hand
from trainer.practice.drill import Drill

_SPAN_MM = 100.0
_HALF_BARRE, _FULL_BARRE = 0.5, 1.0
_WORK = 0.5 / 60


@dataclass(frozen=True, slots=True)
class Strain:
    """What the shapes of a change, or of a drill, ask of the hand whatever the tempo."""

    span_mm: float
    """The widest span between fingertips, in millimetres."""
    barre: float
    """0 without, 0.5 with a half barre, 1 with a full one."""
    stretch: bool
    """True where a finger reaches beyond what is comfortable."""

    def load(self, changes_per_minute: float) -> float:
        """Return the load of playing it at so many changes a minute."""
        return self.span_mm / _SPAN_MM + self.barre + _WORK * changes_per_minute


def of_change(change: Change) -> Strain:
    """Return the strain of one change: of both its shapes, the heavier counts."""
    span = max(mm or 0.0 for mm in change.spans)
    barre = max(_barre(change.before), _barre(change.after))
    return Strain(span, barre, any(move.reach is not None for move in change.moves))


def stretches(drill: Drill, hand: Hand) -> bool:
    """Tell whether any shape of `drill` asks two fingers to lie further apart than is comfortable for `hand`."""
    shapes = (step.shape for step in drill.steps)
    return any(reaches(shape, drill.instrument, hand, position(shape)) for shape in shapes)


def heaviest(strains: list[Strain]) -> Strain:
    """Return the strain of several together: the most of each; of none: no strain."""
    return Strain(
        max((one.span_mm for one in strains), default=0.0),
        max((one.barre for one in strains), default=0.0),
        any(one.stretch for one in strains),
    )


def _barre(shape: Shape) -> float:
    return max((_FULL_BARRE if shape.is_full(barre) else _HALF_BARRE for barre in shape.barres), default=0.0)
