"""`changeover warmup`: a timed warm-up, line by line, that stops by itself."""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from trainer.errors import ChangeoverError, plain
from trainer.files.library import library
from trainer.hand.reach import HANDS
from trainer.practice.load import heaviest, of_change
from trainer.practice.passage import passage
from trainer.practice.warmup import CAUTION, LONGEST_MIN, SHORTEST_MIN, Kind, Material, Part, plan

if TYPE_CHECKING:
    from trainer.hand.reach import Hand
    from trainer.practice.drill import Drill
    from trainer.practice.record import Run

_TRAINS = frozenset({"warm-up", "independence"})
"""What a drill trains that is fit to warm up with."""
_LATELY = 200
"""So many newest runs are looked through for the tempo that was clean lately."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "--minutes",
        type=_minutes,
        default=10.0,
        metavar="N",
        help=f"how long, {SHORTEST_MIN} to {LONGEST_MIN} (%(default)g)",
    )
    parser.add_argument("--easy", action="store_true", help="for a sore day: no barre, no stretch, hardly a rise")
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach to judge stretches by")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--plan", action="store_true", help="print what it would be, and do not wait")
    form.add_argument("--json", action="store_true", help="the same as one JSON document")


def run(options: argparse.Namespace) -> int:
    """Go through the warm-up, or print it."""
    runs = _runs()
    drills = _drills()
    hand = HANDS[options.hand]
    materials = [_material(name, drill, hand, runs) for name, drill in drills.items()]
    parts = plan(materials, options.minutes, days_off=_days_off(runs), easy=options.easy)
    if options.json:
        from trainer.commands.output import print_json

        print_json(_document(parts, options.minutes))
        return 0
    _say(*CAUTION, "")
    go_through(parts, drills, _say, (lambda _: None) if options.plan else _waiter())
    return 0


def go_through(
    parts: Sequence[Part], drills: dict[str, Drill], say: Callable[..., None], wait_until: Callable[[float], None]
) -> None:
    """Say each part when its time has come, and at the end that it is over.

    `wait_until` takes seconds from the beginning and returns when they have passed.
    """
    elapsed = 0
    for part in parts:
        wait_until(elapsed)
        say(f"{_clock(elapsed)}  {part.words}{_length(part)}", *_details(part, drills))
        elapsed += part.seconds
    wait_until(elapsed)
    say(f"{_clock(elapsed)}  Done. Warm hands are no licence: stop when something hurts.")


def _length(part: Part) -> str:
    return f" ({part.seconds} s)" if part.kind is Kind.REST else ""


def _details(part: Part, drills: dict[str, Drill]) -> list[str]:
    """Return the lines under a spell: its shapes, and its caution where it has one."""
    if part.material is None:
        return []
    steps = drills[part.material.name].steps
    lines = [f"       {plain(' | '.join(step.name for step in steps))}"]
    if part.material.caution:
        lines.append(f"       {plain(part.material.caution)}")
    return lines


def _clock(seconds: int) -> str:
    return f"{seconds // 60:2}:{seconds % 60:02}"


def _say(*lines: str) -> None:
    sys.stdout.write("".join(f"{line}\n" for line in lines))
    # Piped, a line would otherwise wait for its neighbours.
    sys.stdout.flush()


def _waiter() -> Callable[[float], None]:
    """Return what waits, counting from now; a sleep that ends early, or a computer that slept, changes nothing."""
    began = time.monotonic()

    def wait_until(seconds: float) -> None:
        while (left := began + seconds - time.monotonic()) > 0:
            time.sleep(left)

    return wait_until


def _drills() -> dict[str, Drill]:
    """Return the drills fit to warm up with, by name; one that cannot be read is left out, `check` says why."""
    found = {}
    for entry in library().entries:
        if _TRAINS & set(entry.head.trains):
            drill, _ = entry.load()
            if drill is not None:
                found[entry.name] = drill
    return found


def _material(name: str, drill: Drill, hand: Hand, runs: Sequence[Run]) -> Material:
    return Material(
        name=name,
        title=drill.title,
        changes=len(drill.pairs),
        beats=float(sum(step.beats for step in drill.steps) / len(drill.steps)),
        tempo=_clean_tempo(drill, runs),
        strain=heaviest([of_change(passing.change) for passing in passage(drill, hand)]),
        caution=drill.caution,
    )


def _clean_tempo(drill: Drill, runs: Sequence[Run]) -> float:
    """Return the tempo of the newest paced run in which every change landed, but no more than the drill's own."""
    clean = (
        one.tempo for one in runs if one.drill == drill.title and one.tempo and one.asked and one.landed == one.asked
    )
    return min(next(clean, drill.tempo), drill.tempo)


def _runs() -> list[Run]:
    """Return the newest runs; none where the log cannot be read, for that must not keep anyone from warming up."""
    from trainer.files.paths import log_file
    from trainer.log.history import reading

    try:
        with reading(log_file()) as history:
            return history.runs(newest=_LATELY)
    except ChangeoverError as error:
        sys.stderr.write("".join(f"changeover: {problem}\n" for problem in error.problems))
        return []


def _days_off(runs: Sequence[Run]) -> int:
    """Return the days since the last practice; 0 where there has been none: nobody has been away from what is new."""
    if not runs:
        return 0
    try:
        return max((date.today() - date.fromtimestamp(runs[0].at)).days, 0)
    except (OverflowError, ValueError, OSError):
        return 0


def _document(parts: Sequence[Part], minutes: float) -> dict[str, Any]:
    return {"minutes": minutes, "caution": " ".join(CAUTION), "parts": [_part(part) for part in parts]}


def _part(part: Part) -> dict[str, Any]:
    return {
        "kind": part.kind,
        "seconds": part.seconds,
        "words": plain(part.words),
        "drill": None if part.material is None else part.material.name,
        "tempo": part.tempo,
        "load": part.load if part.kind is Kind.PLAY else None,
        "repetitions": part.repetitions if part.kind is Kind.PLAY else None,
    }


def _minutes(text: str) -> float:
    """Return a number of minutes within the limits; argparse words the error."""
    try:
        minutes = float(text)
    except ValueError:
        minutes = math.nan
    if not SHORTEST_MIN <= minutes <= LONGEST_MIN:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number of minutes from {SHORTEST_MIN} to {LONGEST_MIN}")
    return minutes
