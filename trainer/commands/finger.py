"""`changeover finger`: the best left-hand fingerings of a passage, with alternatives and why."""

from __future__ import annotations

import argparse
import re
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from trainer.commands.drills import add_drill, chosen
from trainer.commands.output import print_json
from trainer.errors import wrong
from trainer.fretboard.text import print_barres, print_shape
from trainer.hand.reach import HANDS
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.impossible import Impossible
from trainer.hand.search.passage import Passage
from trainer.hand.search.solve import Alternative, Found, work_out
from trainer.hand.search.weights import SCHOOLS
from trainer.hand.search.wording import clauses
from trainer.hand.words import beat_text, roman
from trainer.practice.fingering import Keep, fingered, passage_of

AIMS = {"easiest": False, "least-worst": True}
"""What is sought, and whether it is the dearest change that counts."""
_MOST_NOTES = 4000
"""Notes beyond which a passage is better fingered in parts."""
_CLAUSES = 3
"""Reasons told of a change."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    parser.add_argument("--keep", choices=[str(keep) for keep in Keep], default=str(Keep.FRETS), help="what stays")
    parser.add_argument("--best", "--alternatives", type=int, default=3, metavar="N", help="how many ways, 1 to 10")
    parser.add_argument(
        "--aim", choices=[*AIMS, "sum", "worst"], default="easiest", help="the whole, or the worst change"
    )
    parser.add_argument(
        "--pin", action="append", default=[], metavar="NUMBER:WHAT", help="set a note: 3:2, 3:s4, 3:s4f2"
    )
    parser.add_argument("--school", choices=list(SCHOOLS), default=next(iter(SCHOOLS)), help="whose weights")
    parser.add_argument("--hand", choices=sorted(HANDS), default="adult", help="whose reach to judge by")
    parser.add_argument("-o", "--output", metavar="FILE", help="write the drill with this fingering to a new file")
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Print the fingerings; 1 where the passage cannot be fingered."""
    drill = chosen(options.drill)
    passage = pinned(passage_of(drill, Keep(options.keep)), options.pin)
    found = sought(passage, options)
    if isinstance(found, Found) and options.output:
        from trainer.files.drill_text import save

        save(Path(options.output), fingered(drill, found.best))
    return report(drill.title, found, options)


def sought(passage: Passage, options: argparse.Namespace) -> Found | Impossible:
    """Finger `passage`, wherever it came from, as the command's options say."""
    if len(passage.notes) > _MOST_NOTES:
        raise wrong(f"{len(passage.notes)} notes", hint=f"up to {_MOST_NOTES} at a time; take it in parts")
    if not 1 <= options.best <= 10:
        raise wrong(f"{options.best} ways", key="--best", hint="from 1 to 10")
    return work_out(
        passage,
        HANDS[options.hand],
        SCHOOLS[options.school](),
        worst=AIMS.get(options.aim, options.aim == "worst"),
        alternatives=options.best - 1,
        habit=1.0,
    )


def report(title: str, found: Found | Impossible, options: argparse.Namespace) -> int:
    """Print what was found; 1 where nothing was."""
    if isinstance(found, Impossible):
        sys.stderr.write(f"changeover: {title}: {told(found)}\n")
        return 1
    if options.json:
        print_json(document(found))
    else:
        sys.stdout.write("\n".join(lines(title, found)) + "\n")
    return 0


def pinned(passage: Passage, pins: list[str]) -> Passage:
    """Return the passage with notes set, counted from 1: `NUMBER:FINGER`, `NUMBER:sSTRING`, `NUMBER:sSTRINGfFRET`."""
    notes = dict(enumerate(passage.notes))
    for pin in pins:
        match = _PIN.fullmatch(pin)
        if match is None:
            raise wrong(
                f"'{pin}' sets nothing", key="--pin", hint="3:2 sets finger 2, 3:s4 string 4, 3:s4f2 its fret too"
            )
        number, finger, string, fret = (None if part is None else int(part) for part in match.groups())
        note = notes.get((number or 0) - 1)
        if note is None:
            raise wrong(f"no note {number}", key="--pin", hint=f"notes are counted from 1 to {len(notes)}")
        own = {"finger": finger} if finger is not None else {"string": string, "fret": fret}
        notes[(number or 0) - 1] = replace(note, **own)
    return passage.pinned(notes)


_PIN = re.compile(r"(\d{1,5}):(?:(\d)|s(\d{1,2})(?:f(\d{1,2}))?)", re.ASCII)


def told(found: Impossible) -> str:
    """Return why a passage cannot be fingered as one line."""
    where = f"bar {found.bar}, " if found.bar else ""
    names = " ".join(found.notes)
    return f"{where}beat {beat_text(found.onset + 1)}, {names}: {found.why} ({found.nearest})"


def lines(title: str, found: Found) -> list[str]:
    """Return the best fingering change by change, and the others by what makes them others, as plain lines."""
    best = found.best
    sure = "no way is better" if found.exact else f"the best of {found.width} hands followed at once"
    out = [title, f"cost {best.cost:.1f}; {sure}", ""]
    shapes = [print_shape(best.shape(at)) for at in range(len(best.moves))]
    width = max(map(len, shapes))
    for at, move in enumerate(best.moves):
        barres = print_barres(best.shape(at))
        bar = best.passage.notes[best.passage.slices[at].struck[0]].bar
        place = "" if move.position is None else roman(move.position)
        beat = beat_text(move.onset + 1)
        barred = f"  barre {barres}" if barres else ""
        mark = " <- the hardest" if at == best.worst and len(best.moves) > 1 else ""
        out.append(
            f"bar {bar or '-':>3}  quarter {beat:>5}  {shapes[at]:<{width}}  {place:>4}  {move.cost:5.1f}{barred}{mark}"
        )
        out += [f"{'':24}{clause.words} ({clause.cost:+.1f})" for clause in clauses(best, at)[:_CLAUSES]]
    for number, other in enumerate(found.alternatives, start=2):
        out += ["", f"way {number}: cost {other.fingering.cost:.1f}", *(f"  {text}" for text in differing(best, other))]
    return out


def differing(best: Fingering, other: Alternative) -> list[str]:
    """Return in what another way differs, each with when, and whether it spares the hardest change."""
    found = []
    for difference in other.differs:
        first, last = (best.passage.slices[at].onset + 1 for at in (difference.first, difference.last))
        when = f"quarter {beat_text(first)}" if first == last else f"quarters {beat_text(first)} to {beat_text(last)}"
        found.append(f"{difference.words}, {when}")
    here, there = best.moves[best.worst].cost, other.fingering.moves[best.worst].cost
    if there < here - 0.5:
        hardest = clauses(best, best.worst)
        what = f": {hardest[0].words}" if hardest else ""
        found.append(f"spares the hardest change ({there:.1f} for {here:.1f}{what})")
    return found


def document(found: Found) -> dict[str, Any]:
    """Return the fingerings as the JSON that others rely on."""
    best = found.best
    return {
        "exact": found.exact,
        "width": found.width,
        "cost": _cost(best.cost),
        "notes": _notes(best),
        "resting": [
            {"onset": str(move.onset), "string": lying.low_string, "fret": lying.fret, "finger": lying.finger}
            for move in best.moves
            for lying in move.hands
            if not lying.sounding
        ],
        "barres": _barres(best),
        "changes": [
            {
                "onset": str(move.onset),
                "position": move.position,
                "cost": _cost(move.cost),
                "terms": [
                    {"term": r.term, "finger": r.finger, "amount": round(r.amount, 4), "cost": _cost(r.cost)}
                    for r in move.reasons
                ],
                "words": [{"words": clause.words, "cost": _cost(clause.cost)} for clause in clauses(best, at)],
            }
            for at, move in enumerate(best.moves)
        ],
        "alternatives": [
            {
                "cost": _cost(other.fingering.cost),
                "notes": _notes(other.fingering),
                "barres": _barres(other.fingering),
                "differs": differing(best, other),
            }
            for other in found.alternatives
        ],
    }


def _cost(value: float) -> float:
    return round(value, 4)


def _notes(way: Fingering) -> list[dict[str, Any]]:
    return [
        {
            "bar": note.bar,
            "onset": str(note.onset),
            "midi": note.midi,
            "string": taken.string,
            "fret": taken.fret,
            "finger": taken.finger,
        }
        for note, taken in zip(way.passage.notes, way.notes, strict=True)
    ]


def _barres(way: Fingering) -> list[dict[str, Any]]:
    """Return each barre with how long it lies: from its slice to the slice at which it is gone or lies otherwise."""
    found: list[dict[str, Any]] = []
    lying: dict[tuple[int, int, int, int], Fraction] = {}
    ends = [*(move.onset for move in way.moves[1:]), max(note.end for note in way.passage.notes)]
    for move, end in zip(way.moves, ends, strict=True):
        now = {(b.fret, b.finger, b.low_string, b.high_string) for hand in move.hands if (b := hand.barre) is not None}
        for barre in sorted(now):
            lying.setdefault(barre, move.onset)
        following = way.moves[way.moves.index(move) + 1 :][:1]
        later = {
            (b.fret, b.finger, b.low_string, b.high_string)
            for after in following
            for hand in after.hands
            if (b := hand.barre) is not None
        }
        for barre in sorted(now - later):
            fret, finger, low, high = barre
            begun = lying.pop(barre)
            found.append(
                {
                    "fret": fret,
                    "finger": finger,
                    "low_string": low,
                    "high_string": high,
                    "from_onset": str(begun),
                    "to_onset": str(end),
                }
            )
    return found
