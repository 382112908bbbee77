"""What an instrument and a hand have to say of one shape: what cannot be held, and what is a stretch."""

from __future__ import annotations

from itertools import combinations

from trainer.errors import ChangeoverError, Problem
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.hand.frame import between
from trainer.hand.reach import Hand


def trouble(shape: Shape, instrument: Instrument, hand: Hand) -> tuple[Problem, ...]:
    """Return what is wrong with holding `shape`: problems that rule it out, warnings that a hand may overcome."""
    misfits = _misfits(shape, instrument)
    return misfits or (*_stretches(shape, instrument, hand), *_crossings(shape))


def checked(shape: Shape, instrument: Instrument) -> Shape:
    """Return `shape`, or raise ChangeoverError where `instrument` has not the strings or frets for it."""
    misfits = _misfits(shape, instrument)
    if misfits:
        raise ChangeoverError(*misfits)
    return shape


def _misfits(shape: Shape, instrument: Instrument) -> tuple[Problem, ...]:
    if shape.strings != instrument.strings:
        return (
            Problem(
                f"a shape of {shape.strings} strings on an instrument of {instrument.strings}",
                hint="write one token for each string",
            ),
        )
    top = max(shape.frets, default=0)
    if top > instrument.top_fret:
        counted = f" from the capo at {instrument.capo}" if instrument.capo else ""
        return (Problem(f"fret {top} is off the neck", hint=f"the highest is {instrument.top_fret}{counted}"),)
    return ()


def _stretches(shape: Shape, instrument: Instrument, hand: Hand) -> tuple[Problem, ...]:
    found = []
    for low, high in combinations(shape.placings.values(), 2):
        apart = between(low, high, instrument)
        limit = hand.limit(low.finger, high.finger)
        if apart > limit:
            found.append(
                Problem(
                    f"fingers {low.finger} and {high.finger} would be {apart:.0f} mm apart, "
                    f"this hand reaches {limit:.0f} mm",
                    hint="never force a stretch; choose another fingering or set your own reach",
                    warning=True,
                )
            )
    return tuple(found)


def _crossings(shape: Shape) -> tuple[Problem, ...]:
    return tuple(
        Problem(
            f"finger {high.finger} lies nearer the nut than finger {low.finger}",
            hint="fingers would cross; is it meant?",
            warning=True,
        )
        for low, high in combinations(shape.placings.values(), 2)
        if high.fret < low.fret
    )
