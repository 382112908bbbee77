"""`changeover today`: what to practise next, in how many tries, and why."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from trainer.commands.drills import as_tempo
from trainer.commands.numbers import within
from trainer.commands.progress.keys import split
from trainer.errors import plain
from trainer.log.history import reading
from trainer.practice.plan import VISIT, Item, Plan, target_ms
from trainer.practice.reviews import CAVEAT
from trainer.ui.planned import plan_for
from trainer.ui.played import ARROW, name_of

if TYPE_CHECKING:
    from rich.console import Console


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("--json", action="store_true", help="one JSON document")
    parser.add_argument(
        "--minutes",
        type=within(1, 180, "a number of minutes"),
        metavar="N",
        help="how long you have (else as set in the app)",
    )
    parser.add_argument(
        "--tempo",
        type=as_tempo,
        metavar="BPM",
        help="the tempo to get to: a change may take half a beat of it (else as set in the app)",
    )


def run(options: argparse.Namespace) -> int:
    """Print the plan for today."""
    from trainer.commands.output import print_json
    from trainer.commands.own import own_settings
    from trainer.files.paths import log_file

    own = own_settings()
    tempo = own.goal_tempo if options.tempo is None else options.tempo
    minutes = own.minutes if options.minutes is None else options.minutes
    today = date.today()
    with reading(log_file()) as history:
        made = plan_for(history, own.reach, today, tempo, minutes)
    if options.json:
        print_json(_document(made, today, tempo))
    else:
        _print(made, tempo)
    return 0


def _document(made: Plan, today: date, tempo: float) -> dict[str, Any]:
    return {
        "date": today.isoformat(),
        "minutes": made.minutes,
        "takes_minutes": made.takes,
        "tempo": tempo,
        "changes": [_item(item) for item in made.items],
        "turns": [made.items.index(item) for item in made.turns],
        "left_out": [_item(item) | {"tries": 0} for item in made.left_out],
        "resting": [_item(item) | {"tries": 0} for item in made.resting],
        "caveat": CAVEAT,
    }


def _item(item: Item) -> dict[str, Any]:
    known = item.look
    tuning, capo, before, after = split(plain(known.series.change))
    return {
        "change": plain(known.series.change),
        "tuning": tuning.split(),
        "capo": int(capo) if capo.isdecimal() else None,
        "from": before,
        "to": after or None,
        "name": plain(name_of(known.series.change)),
        "drill": plain(known.drill) or None,
        "timing": known.series.timing,
        "source": plain(known.series.source),
        "tries": item.tries,
        "score": item.score,
        "reasons": [{"kind": reason.key, "worth": reason.worth, "words": reason.words} for reason in item.reasons],
        "median_ms": known.now.median_ms,
        "predicted_ms": None if known.predicted is None else asdict(known.predicted),
        "target_ms": known.target_ms,
        "due": None if known.due is None else _date(known.due),
        "course": None if known.curve is None else known.curve.course,
        "tries_to_target": None if known.to_goal is None else known.to_goal.tries,
    }


def _date(day: int) -> str:
    return (date.min + timedelta(days=day - 1)).isoformat()


def _print(made: Plan, tempo: float) -> None:
    from trainer.commands.output import console

    screen = console()
    if made.items:
        _print_items(made, screen)
    else:
        screen.print(_nothing(made))
    for item in made.resting:
        if item.look.stuck:
            screen.print(f"Resting, {_name(item)}: {item.why}")
    if made.items or made.resting:
        wanted = f"half a beat at {tempo:g}, {target_ms(tempo):.0f} ms; --tempo BPM changes that"
        screen.print(f"Wanted: {wanted}. {CAVEAT}")


def _print_items(made: Plan, screen: Console) -> None:
    changes = "1 change" if len(made.items) == 1 else f"{len(made.items)} changes"
    screen.print(f"Today: {changes}, {made.tries} tries, about {made.takes:.0f} of {made.minutes:g} minutes.")
    for number, item in enumerate(made.items, start=1):
        screen.print(f"\n{number}. {_name(item)}: {item.tries} tries")
        screen.print(f"   {item.why}")
    order = " ".join(str(made.items.index(item) + 1) for item in made.turns)
    screen.print(f"\nIn this order, {VISIT} tries each: {order}")
    if made.left_out:
        screen.print(f"{len(made.left_out)} more could do with practice; --minutes N makes room.")


def _name(item: Item) -> str:
    """Return a change by the names of its shapes, and the drill it was practised in last."""
    name, drill = plain(name_of(item.look.series.change)), plain(item.look.drill)
    # A drill made on the command line is called by its shapes already.
    return name if not drill or drill.replace(" - ", ARROW) == name else f"{name}, of {drill}"


def _nothing(made: Plan) -> str:
    if any(item.look.stuck for item in made.resting):
        return "Nothing is due, and more of the same would not help."
    if made.resting:
        return "Nothing is due and every change is fast enough. Play music, or start something new."
    return "No change timed yet. Start 'changeover', drill one, and tomorrow's practice will stand here."
