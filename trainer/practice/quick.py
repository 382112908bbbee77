"""Drills made on the spot: from the words of a command line to shapes and a change between them."""

from __future__ import annotations

from collections.abc import Iterable

from trainer.errors import ChangeoverError, Problem, wrong
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.fretboard.stock import STOCK, stock_shape
from trainer.fretboard.text import parse_shape
from trainer.hand.hold import checked
from trainer.practice.drill import Drill, Step

_STANDARD = Instrument()


def from_shapes(words: Iterable[str], instrument: Instrument = _STANDARD) -> Drill:
    """Return a drill of the shapes that `words` give, each a stock name (`C`) or a text form (`x32010`).

    Raises ChangeoverError with everything that is wrong; the key of each problem is the word it is about.
    """
    steps: list[Step] = []
    problems: list[Problem] = []
    for word in words:
        try:
            shape, name = read_shape(word)
            checked(shape, instrument)
            if name:
                check_tuning(shape, instrument)
            steps.append(Step(shape, name))
        except ChangeoverError as error:
            problems += (Problem(problem.what, key=word, hint=problem.hint) for problem in error.problems)
    if problems:
        raise ChangeoverError(*problems)
    if len(steps) < 2:
        raise wrong("a change needs two shapes", hint="give two or more, as in C F")
    return Drill(" - ".join(step.name for step in steps), tuple(steps), instrument=instrument)


def read_shape(word: str) -> tuple[Shape, str]:
    """Return the shape that `word` says, and its name where it is one of the stock's, else an empty text.

    Raises ChangeoverError where it is neither a name nor a text form.
    """
    name = word.strip()
    name = name[:1].upper() + name[1:]
    if name in STOCK:
        return stock_shape(name), name
    if " " in name or name[:1] in {"X", *"0123456789"}:
        return parse_shape(word), ""
    return stock_shape(name), name


def check_tuning(shape: Shape, instrument: Instrument) -> None:
    """Raise ChangeoverError where the strings of a stock shape are not tuned to each other as it takes them to be."""
    if not shape.strings == _STANDARD.strings == instrument.strings:
        return
    offsets = {instrument.tuning[-string] - _STANDARD.tuning[-string] for string, _ in shape}
    if len(offsets) > 1:
        raise wrong("the named shapes are for standard tuning", hint="write it string by string, as x 3/3 2/2 0 1/1 0")
