"""`changeover explain`: each change of a drill, what every finger does."""

from __future__ import annotations

import argparse
import sys
from fractions import Fraction
from typing import Any

from trainer.commands.drills import add_drill, chosen
from trainer.commands.output import print_json
from trainer.fretboard.shape import Barre
from trainer.fretboard.text import print_shape
from trainer.hand.change import BarreMove, Change, Move
from trainer.hand.reach import HANDS
from trainer.practice.drill import Drill
from trainer.practice.passage import Passing, passage


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach to judge by")
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Print the explanation."""
    drill = chosen(options.drill)
    passings = passage(drill, HANDS[options.hand])
    if options.json:
        print_json(document(drill, passings))
    else:
        sys.stdout.write("\n".join(lines(drill, passings)) + "\n")
    return 0


def lines(drill: Drill, passings: tuple[Passing, ...]) -> list[str]:
    """Return the explanation as plain lines."""
    head = [drill.title, *(text for text in (drill.about, drill.caution and f"Mind: {drill.caution}") if text)]
    width = len(str(len(passings)))
    for number, passing in enumerate(passings, start=1):
        head += ["", f"{number:>{width}}  {passing.before.name} -> {passing.after.name}", f"   {passing.words}"]
        if passing.change.watch is not None:
            head.append(f"   watch finger {passing.change.watch}")
    return head


def document(drill: Drill, passings: tuple[Passing, ...]) -> dict[str, Any]:
    """Return the explanation as the JSON that others rely on; a value is None where it cannot be known."""
    instrument = drill.instrument
    return {
        "title": drill.title,
        "instrument": {
            "tuning": list(instrument.tuning_names),
            "scale_mm": instrument.scale_mm,
            "capo": instrument.capo,
        },
        "changes": [_change(passing.change, passing.words) for passing in passings],
    }


def _change(change: Change, words: str) -> dict[str, Any]:
    shift = change.shift
    return {
        "from": print_shape(change.before),
        "to": print_shape(change.after),
        "fingers": {str(move.finger): _move(move) for move in change.moves},
        "barres": [_barre_move(barre) for barre in change.barres],
        "positions": list(change.positions),
        "shift": {"frets": None if shift is None else shift.frets, "mm": None if shift is None else _mm(shift.mm)},
        "span_mm": [_mm(span) for span in change.spans],
        "rings": list(change.rings),
        "stops": [[string, str(why)] for string, why in change.stops],
        "squeaks": list(change.squeaks),
        "buys_time": list(change.buys_time),
        "watch": change.watch,
        "words": words,
    }


def _move(move: Move) -> dict[str, Any]:
    return {
        "action": str(move.action),
        "from": None if move.start is None else list(move.start),
        "to": None if move.end is None else list(move.end),
        "mm": _mm(move.mm),
        "free_from": _beat(move.free_from),
        "needed_by": _beat(move.needed_by),
        "reach": None if move.reach is None else str(move.reach),
    }


def _barre_move(barre: BarreMove) -> dict[str, Any]:
    return {
        "actions": [str(action) for action in barre.actions],
        "from": _barre(barre.start),
        "to": _barre(barre.end),
    }


def _barre(barre: Barre | None) -> dict[str, int] | None:
    if barre is None:
        return None
    return {
        "finger": barre.finger,
        "fret": barre.fret,
        "low_string": barre.low_string,
        "high_string": barre.high_string,
    }


def _mm(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _beat(beat: Fraction | None) -> float | int | None:
    if beat is None:
        return None
    return beat.numerator if beat.denominator == 1 else float(beat)
