"""Changes written short, for tests."""

from __future__ import annotations

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Plucked
from trainer.fretboard.shape import Shape
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Change
from trainer.hand.reach import HANDS, Hand


def held(text: str) -> Shape:
    """Return a shape by its name in the stock, or by its text form with declared barres after a plus sign."""
    tokens, _, barres = STOCK.get(text, text).partition("+")
    return parse_shape(tokens, barres)


def change(
    before: str,
    after: str,
    left: Plucked | None = None,
    reached: Plucked | None = None,
    *,
    instrument: Instrument | None = None,
    hand: Hand = HANDS["adult"],
) -> Change:
    """Return the change between two shapes, played as `left` and `reached` where given."""
    return analyse(held(before), held(after), instrument or Instrument(), hand, (left, reached))


def actions(done: Change) -> str:
    """Return what each finger does, those that do nothing left out: `1 kept, 3 cross`."""
    return ", ".join(f"{move.finger} {move.action}" for move in done.moves if move.action != "free")


def barres(done: Change) -> list[str]:
    """Return what each barre does: `laid hinged`."""
    return [" ".join(barre.actions) for barre in done.barres]


def stops(done: Change) -> dict[int, str]:
    """Return why each string that stops does so."""
    return {string: str(why) for string, why in done.stops}
