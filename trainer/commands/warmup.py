"""`changeover warmup`: a timed warm-up, line by line, that stops by itself."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Any

from trainer.commands.numbers import within
from trainer.errors import plain
from trainer.files.paths import log_file
from trainer.hand.reach import HANDS
from trainer.practice.minutes import LONGEST, SHORTEST
from trainer.practice.warmup import CAUTION, Kind, Part, plan
from trainer.sound.beat import Pattern
from trainer.sound.ways import Way
from trainer.ui.warming.materials import OVER, days_off, drills, materials, runs_lately

if TYPE_CHECKING:
    from trainer.practice.drill import Drill
    from trainer.sound.metronome import Metronome


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "--minutes",
        type=within(SHORTEST, LONGEST, "a number of minutes"),
        default=10.0,
        metavar="N",
        help=f"how long, {SHORTEST} to {LONGEST} (%(default)g)",
    )
    parser.add_argument("--easy", action="store_true", help="for a sore day: no barre, no stretch, hardly a rise")
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach to judge stretches by")
    parser.add_argument(
        "--click",
        nargs="?",
        type=_way,
        const=Way.SOUND,
        default=Way.NONE,
        metavar="WAY",
        help="hear the beat: by sound, else by port (MIDI), else by bell; or by the way that is named",
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--plan", action="store_true", help="print what it would be, and do not wait")
    form.add_argument("--json", action="store_true", help="the same as one JSON document")


def run(options: argparse.Namespace) -> int:
    """Go through the warm-up, or print it."""
    runs, problems = runs_lately(log_file())
    sys.stderr.write("".join(f"changeover: {problem}\n" for problem in problems))
    fit = drills()
    made_from = materials(fit, HANDS[options.hand], runs)
    parts = plan(made_from, options.minutes, days_off=days_off(runs, date.today()), easy=options.easy)
    if options.json:
        from trainer.commands.output import print_json

        print_json(_document(parts, options.minutes))
        return 0
    _say(*CAUTION, "")
    if options.plan:
        go_through(parts, fit, _say, lambda _: None)
        return 0
    with _click(options.click) as beat:
        go_through(parts, fit, _say, _waiter(), beat)
    return 0


def go_through(
    parts: Sequence[Part],
    drills: dict[str, Drill],
    say: Callable[..., None],
    wait_until: Callable[[float], None],
    beat: Metronome | None = None,
) -> None:
    """Say each part when its time has come, with the beat of each drill, and at the end that it is over.

    `wait_until` takes seconds from the beginning and returns when they have passed.
    """
    elapsed = 0
    for part in parts:
        wait_until(elapsed)
        say(f"{_clock(elapsed)}  {part.words}{_length(part)}", *_details(part, drills))
        if beat is not None:
            _beat(beat, part, drills)
        elapsed += part.seconds
    wait_until(elapsed)
    say(f"{_clock(elapsed)}  {OVER}")


def _beat(beat: Metronome, part: Part, drills: dict[str, Drill]) -> None:
    if part.material is None or part.tempo is None:
        beat.stop()
    else:
        beat.play(part.tempo, Pattern(beats=drills[part.material.name].meter[0]))


@contextmanager
def _click(way: Way) -> Iterator[Metronome | None]:
    """Open the click in the way that was asked for, or the best one below it, and say which that is; None for none."""
    if way is Way.NONE:
        yield None
        return
    from trainer.sound.metronome import metronome

    with metronome(way, _ring if sys.stdout.isatty() else None) as (beat, choice):
        _say(f"Click: {choice.words}.", "")
        yield beat


def _ring() -> None:
    sys.stdout.write("\a")
    sys.stdout.flush()


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


def _way(text: str) -> Way:
    """Return a way to hear the beat; argparse words the error."""
    try:
        return Way(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is none of {', '.join(Way)}") from None
