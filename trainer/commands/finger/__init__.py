"""`changeover finger`: the best left-hand fingerings of a drill or of bars of a score, with alternatives and why."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.commands.bars import add_bars, bars_of, check_no_bars
from trainer.commands.drills import add_drill, chosen
from trainer.commands.finger.pins import pinned, with_pins
from trainer.commands.finger.ways import document, lines, told
from trainer.commands.finger.whose import MINE, WHOSE, Whose, whose
from trainer.commands.output import FORCE_HINT, add_force, print_json
from trainer.errors import plain, wrong
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.impossible import Impossible
from trainer.hand.search.passage import MOST_NOTES, Note, Passage
from trainer.hand.search.solve import Found, work_out
from trainer.hand.search.weights import SCHOOLS
from trainer.practice.credits import credited
from trainer.practice.drill import Drill
from trainer.practice.fingering import Keep, passage_of, spans_of
from trainer.scores.names import is_score

if TYPE_CHECKING:
    from trainer.scores.importing import Source

AIMS = {"sum": False, "worst": True}
"""What is made as small as can be: the cost of all changes together, or of the dearest one."""
MOST_ALTERNATIVES = 10
"""So many other ways may be asked for."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    add_drill(parser)
    add_bars(parser)
    parser.add_argument(
        "--keep",
        choices=[str(keep) for keep in Keep],
        help="what stays as it is written: nothing but pitches, frets with their strings, or the given fingers too; "
        "without it, frets of a drill, and all that a score prints",
    )
    parser.add_argument(
        "--alternatives", type=int, default=2, metavar="K", help=f"so many other ways, up to {MOST_ALTERNATIVES}"
    )
    parser.add_argument(
        "--aim", choices=list(AIMS), default="sum", help="the whole as easy as can be, or its worst change"
    )
    parser.add_argument(
        "--pin", action="append", default=[], metavar="NUMBER:WHAT", help="set a note: 3:2, 3:s4, 3:s4f2"
    )
    parser.add_argument("--school", choices=list(SCHOOLS), default=next(iter(SCHOOLS)), help="whose weights")
    parser.add_argument(
        "--hand",
        choices=WHOSE,
        default="adult",
        help=f"whose reach to judge by; {MINE}: your own, with the costs that your times have taught",
    )
    parser.add_argument("-o", "--output", metavar="FILE", help="write a drill with this fingering")
    add_force(parser)
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Print the fingerings; 1 where the passage cannot be fingered."""
    if not 0 <= options.alternatives <= MOST_ALTERNATIVES:
        hint = f"from 0 to {MOST_ALTERNATIVES}"
        raise wrong(f"{options.alternatives} other ways", key="--alternatives", hint=hint)
    target = None if options.output is None else Path(options.output)
    if target is not None and not options.force:
        from trainer.files.atomic import check_free

        check_free(target, hint=FORCE_HINT)
    if len(options.drill) == 1 and is_score(options.drill[0]):
        return _finger_score(Path(options.drill[0]), options, target)
    check_no_bars(options)
    return _finger_drill(options, target)


def _finger_drill(options: argparse.Namespace, target: Path | None) -> int:
    drill, hand = chosen(options.drill), whose(options.hand, options.school)
    given = passage_of(drill, Keep(options.keep or Keep.FRETS))
    found = sought(given, hand, options)
    if isinstance(found, Found) and target is not None:
        _write(target, credited(drill, found.best, given, "as in the drill"), options)
    return report(drill.title, found, options, hand.said)


def _finger_score(path: Path, options: argparse.Namespace, target: Path | None) -> int:
    from trainer.scores import hands

    source, hand = bars_of(path, options), whose(options.hand, options.school)
    if not source.excerpt.tones:
        return _finger_diagrams(source, str(path), hand, options, target)
    keep = Keep(options.keep or Keep.FINGERS)
    if keep is not Keep.FINGERS:
        source = replace(source, excerpt=hands.unprinted(source.excerpt, strings=keep is Keep.FRETS))
    newest: list[Found] = []

    def finger(passage: Passage) -> Fingering:
        found = sought(passage, hand, options)
        if isinstance(found, Impossible):
            raise hands.NoFingeringError(found)
        newest.append(found)
        return found.best

    title = _title(source)
    try:
        _, placed = hands.fingered(source.excerpt, str(path), finger)
    except hands.NoFingeringError as error:
        return report(title, error.found, options)
    if target is not None:
        from trainer.scores.drilling import drill_as_taken

        owned = with_pins(placed, newest[-1].best, options.pin)
        _write(target, drill_as_taken(source.score, source.excerpt, owned, str(path)).drill, options)
    said = (*hand.said, *source.score.said, source.choice, *source.excerpt.said, *placed.said)
    return report(title, newest[-1], options, tuple(dict.fromkeys(plain(text) for text in said if text)))


def _finger_diagrams(source: Source, file: str, hand: Whose, options: argparse.Namespace, target: Path | None) -> int:
    """Finger the chord diagrams of bars without notes, each struck once."""
    from trainer.scores.drilling import drill_as_drawn

    made, excerpt = drill_as_drawn(source.score, source.excerpt, file), source.excerpt
    keep = Keep(options.keep or Keep.FINGERS)
    bars = [excerpt.numbers[excerpt.bar_at(run.onset)[1]] for run in made.runs]
    spans = spans_of(made.drill)

    def printed(onset: Fraction) -> str:
        return next(number for number, (_, end) in zip(bars, spans, strict=True) if onset < end)

    def bar(onset: Fraction) -> int | None:
        number = printed(onset)
        return int(number) if number.isascii() and number.isdecimal() else None

    given = passage_of(made.drill, keep)
    given = replace(given, notes=tuple(replace(note, bar=bar(note.onset)) for note in given.notes))
    said = [*hand.said, *source.score.said, source.choice, *made.said]
    title = _title(source)
    while isinstance(found := sought(given, hand, options), Impossible):
        struck = given.slices[found.index].struck
        if not any(given.notes[index].finger for index in struck):
            return report(title, found, options)
        given = replace(given, notes=tuple(_let_go(note, at in struck) for at, note in enumerate(given.notes)))
        said.append(f"bar {printed(found.onset)}: the diagram's fingers are let go, for they cannot be held together")
    if target is not None:
        places = [step.note.removesuffix(".") for step in made.drill.steps]
        _write(target, credited(made.drill, found.best, given, "as printed", places), options)
    return report(title, found, options, tuple(dict.fromkeys(plain(text) for text in said if text)))


def _let_go(note: Note, free: bool) -> Note:
    return replace(note, finger=None) if free and note.finger else note


def _title(source: Source) -> str:
    return plain(f"{source.score.title or 'A score'}, {source.excerpt.name}")


def _write(target: Path, drill: Drill, options: argparse.Namespace) -> None:
    from trainer.files.drill_text import save

    save(target, drill, force=options.force)


def sought(passage: Passage, hand: Whose, options: argparse.Namespace) -> Found | Impossible:
    """Finger `passage`, wherever it came from, for `hand` and as the command's options say."""
    if len(passage.notes) > MOST_NOTES:
        raise wrong(f"{len(passage.notes)} notes", hint=f"up to {MOST_NOTES} at a time; take it in parts")
    return work_out(
        pinned(passage, options.pin),
        hand.hand,
        hand.weights,
        worst=AIMS[options.aim],
        alternatives=options.alternatives,
        habit=1.0,
    )


def report(title: str, found: Found | Impossible, options: argparse.Namespace, said: tuple[str, ...] = ()) -> int:
    """Print what was found, and what was `said` on the way; 1 where nothing was found."""
    if isinstance(found, Impossible):
        sys.stderr.write(f"changeover: {title}: {told(found)}\n")
        return 1
    if options.json:
        print_json(document(title, found, said))
    else:
        sys.stdout.write("\n".join(lines(title, found, said)) + "\n")
    return 0
