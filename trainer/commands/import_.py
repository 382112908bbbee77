"""`changeover import`: a drill from some bars of a score, with what of the score was understood and what was not."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trainer.commands.bars import add_bars, bars_of
from trainer.commands.output import FORCE_HINT, add_force, print_json
from trainer.errors import plain
from trainer.fretboard.text import print_barres, print_shape

if TYPE_CHECKING:
    from trainer.practice.drill import Step
    from trainer.scores.hands import PlacedTone
    from trainer.scores.importing import Imported
    from trainer.scores.shapes import Run

_SHOWN = 12
"""Kinds of things not understood that are listed in text; `--json` has them all."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("score", metavar="SCORE", help="a MusicXML (.musicxml, .mxl, .xml) or MIDI file (.mid)")
    add_bars(parser)
    parser.add_argument("--split", action="append", default=[], metavar="BAR:BEAT", help="begin a shape here")
    parser.add_argument("--join", action="append", default=[], metavar="BAR:BEAT", help="begin no shape here")
    parser.add_argument("-o", "--output", metavar="DRILL", help="write the drill to this file")
    add_force(parser)
    parser.add_argument("--json", action="store_true", help="one JSON document")


def run(options: argparse.Namespace) -> int:
    """Import, print what was understood, and write the drill where a file is given."""
    from trainer.scores.importing import drill_of_bars

    target = None if options.output is None else Path(options.output)
    if target is not None and not options.force:
        from trainer.files.atomic import check_free

        check_free(target, hint=FORCE_HINT)
    path = Path(options.score)
    imported = drill_of_bars(bars_of(path, options), str(path), split=options.split, join=options.join)
    if target is not None:
        from trainer.files.drill_text import save

        save(target, imported.drill, force=options.force)
    if options.json:
        print_json(document(imported, target))
    else:
        sys.stdout.writelines(plain(line) + "\n" for line in lines(imported, target))
    return 0


def lines(imported: Imported, target: Path | None) -> Iterator[str]:
    """Yield what was understood, what was not, and the shapes, as plain lines."""
    from trainer.scores.told import understood_line, unread_lines

    score, drill = imported.score, imported.drill
    yield drill.title
    yield understood_line(score)
    kinds = unread_lines(score.unread)
    yield from kinds[:_SHOWN]
    if len(kinds) > _SHOWN:
        yield f"not understood: {len(kinds) - _SHOWN} other kinds of things; --json lists them all"
    yield from (f"note: {text}" for text in imported.said)
    yield f"tuning {' '.join(drill.instrument.tuning_names)}" + (
        f", capo {drill.instrument.capo}" if drill.instrument.capo else ""
    )
    yield f"{len(drill.steps)} shapes. {drill.about}"
    width = max(len(print_shape(step.shape)) for step in drill.steps)
    for number, step in enumerate(drill.steps, start=1):
        barres = print_barres(step.shape)
        extra = f"  barre {barres}" if barres else ""
        yield f"{number:>4}  {print_shape(step.shape):<{width}}  {step.label:<8} {step.note}{extra}".rstrip()
    yield f"written to {target}" if target is not None else "nothing written: -o FILE.toml keeps it"


def document(imported: Imported, target: Path | None) -> dict[str, Any]:
    """Return what was imported as JSON."""
    score, drill, taken = imported.score, imported.drill, imported.excerpt
    return {
        "title": plain(score.title),
        "composer": plain(score.composer),
        "parts": [{"id": plain(part.id), "name": plain(part.name), "notes": len(part.notes)} for part in score.parts],
        "part": score.parts.index(imported.part) + 1,
        "bars": [plain(score.bars[index].number) for _, index in taken.bars],
        "meter": "/".join(map(str, drill.meter)),
        "tempo": drill.tempo,
        "tuning": list(drill.instrument.tuning_names),
        "capo": drill.instrument.capo,
        "understood": dict(score.understood),
        "not_understood": [
            {"bar": each.bar or None, "what": each.what, "count": each.count, "line": each.line}
            for each in score.unread
        ],
        "notes": [plain(text) for text in imported.said],
        "notes_struck": [
            _note(each, score.bars[each.tone.bar].number) for run_ in imported.made.runs for each in run_.taken
        ],
        "shapes": [_shape(run_, step) for run_, step in zip(imported.made.runs, drill.steps, strict=True)],
        "drill": None if target is None else plain(str(target)),
    }


def _note(taken: PlacedTone, bar: str) -> dict[str, Any]:
    return {
        "bar": plain(bar),
        "onset": str(taken.tone.onset),
        "duration": str(taken.tone.duration),
        "midi": taken.tone.midi,
        "string": taken.string,
        "fret": taken.fret,
        "finger": taken.finger if taken.fret else 0,
        "ours": taken.ours,
    }


def _shape(run_: Run, step: Step) -> dict[str, Any]:
    return {
        "onset": str(run_.onset),
        "beats": str(step.beats),
        "shape": print_shape(step.shape),
        "barre": print_barres(step.shape),
        "label": plain(step.label),
        "melody": step.melody,
        "ours": list(run_.ours),
    }
