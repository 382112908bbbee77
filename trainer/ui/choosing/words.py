"""What is said of bars of a score: the values asked for, the strokes of a bar, the shapes found, and what was read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from trainer.errors import Problem, plain
from trainer.fretboard.text import print_barres, print_shape
from trainer.scores.shapes import Run
from trainer.scores.told import understood_line, unread_lines
from trainer.ui.choosing.asked import Choosing, Field
from trainer.ui.choosing.found import Found

Line = tuple[str, str, tuple[str, ...]]
"""A mark, a tone and the parts of a line, as `widgets.sheet` takes them."""


def invitation(
    chosen: Choosing | None, file: str, waited: float | None, keys: tuple[str, str], *, dead: bool, some: bool
) -> tuple[str, str, str]:
    """Return the key to press now, what it does and what others do, and the same in fewer words.

    `file`: what is read while nothing can be `chosen` yet; `waited`: seconds since shapes are worked out; `keys`: those
    that drill and keep; `dead`: nothing can be chosen of this file; `some`: there are shapes to drill.
    """
    drills, keeps = keys
    if dead:
        return "ESC", "goes back to the files.", ""
    if chosen is None:
        return "", f"Reading {file} ... ESC leaves.", ""
    if waited is not None:
        return "", f"Working out {chosen.bars}: {waited:.1f} s so far. ESC leaves.", ""
    if some:
        text = f"drills these shapes; {keeps} keeps them as a drill of yours."
        return drills, text, f"drills these; {keeps} keeps them."
    return "", "Take other bars: UP and DOWN change what is highlighted.", ""


def in_app(problem: Problem) -> str:
    """Return `problem` in one line without what only helps on a command line."""
    hint = None if problem.hint and "--part" in problem.hint else (problem.hint or "").partition(" with --")[0]
    file = None if problem.file is None else Path(problem.file).name
    return str(replace(problem, file=file, key=None, hint=hint))


def field_texts(chosen: Choosing) -> tuple[tuple[str, bool], ...]:
    """Return each value as `to bar 8`, and True for the one that the keys change."""
    values = chosen.values
    return tuple((plain(f"{_caption(field)}{values[field]}"), field is chosen.field) for field in chosen.fields)


def _caption(field: Field) -> str:
    return "" if field is Field.ORDER else f"{field} "


def strokes_of_bar(found: Found, at: Fraction, *, fine: bool) -> tuple[str, tuple[tuple[str, bool], ...]]:
    """Return the bar's name and each of its strokes as `●3`, True for the one at `at`.

    A filled mark begins a shape, a point stays within one.
    """
    taken = found.excerpt
    if taken is None:
        return "", ()
    start, bar = taken.bar_at(at)
    here = [onset for onset in found.strokes if taken.bar_at(onset)[0] == start]
    marks = {True: "●" if fine else "*", False: "·" if fine else "."}
    texts = [f"{marks[onset in found.begins]}{_beat(onset - start, taken.meter[1])}" for onset in here]
    return f"bar {plain(taken.numbers[bar])}", tuple(zip(texts, [onset == at for onset in here], strict=True))


def _beat(offset: Fraction, unit: int) -> str:
    beat = offset * Fraction(unit, 4) + 1
    return f"{float(beat):.4g}"


def shape_lines(found: Found, current: int, room: int) -> tuple[Line, ...]:
    """Return `room` lines of shapes, the current one among them and marked."""
    if found.made is None:
        return ()
    steps, runs = found.made.drill.steps, found.made.runs
    first = min(max(current - room // 2, 0), max(len(steps) - room, 0))
    width = max(len(print_shape(step.shape)) for step in steps)
    lines = []
    for index in range(first, min(first + room, len(steps))):
        step, run = steps[index], runs[index]
        barres = print_barres(step.shape)
        parts = (
            f"{index + 1:>3}  {print_shape(step.shape):<{width}}",
            f"  {step.label:<8}",
            f"  {whose(run):<15}",
            f"  {step.note.split(';')[0].rstrip('.')}",
            f"  barre {barres}" if barres else "",
        )
        lines.append((">" if index == current else " ", "kept", parts))
    return tuple(lines)


def whose(run: Run) -> str:
    """Return which of a shape's fingers are printed and which are the program's."""
    ours = [finger for finger in run.ours if finger in run.shape.placings]
    printed = [finger for finger in run.shape.placings if finger not in ours]
    if not run.shape.placings:
        return "open" if run.shape.fingered else "no fingers"
    groups = ((printed, "printed"), (ours, "ours"))
    return ", ".join(f"{' '.join(map(str, fingers))} {word}" for fingers, word in groups if fingers)


def refused_cut(found: Found, at: Fraction) -> str:
    """Return why a shape begins at `at` although the player joined it to the one before; empty where that is so."""
    if found.made is None or found.excerpt is None or at not in found.begins:
        return ""
    if found.place(at) not in found.asked.join:
        return ""
    return "Not joined: both cannot be held at once, or the first stroke lies too far back."


def summary(found: Found, chosen: Choosing) -> str:
    """Return one sentence on what came of it."""
    if found.made is None:
        return ""
    drill, kinds = found.made.drill, len(unread_lines(chosen.score.unread))
    missed = f" {kinds} kind{'s' if kinds > 1 else ''} of things not understood." if kinds else ""
    return f"{len(drill.steps)} shapes in {chosen.bars}. {drill.about}{missed}"


def notes(found: Found | None, chosen: Choosing) -> Iterator[str]:
    """Yield what was understood, what was not, and what was decided on the way, a plain line each."""
    yield plain(understood_line(chosen.score))
    yield from map(plain, unread_lines(chosen.score.unread))
    said: list[str] = list(chosen.score.said)
    if found is not None:
        said += found.made.said if found.made is not None else () if found.excerpt is None else found.excerpt.said
        if found.excerpt is not None:
            instrument = found.excerpt.instrument
            capo = f", capo {instrument.capo}" if instrument.capo else ""
            yield f"tuning {' '.join(instrument.tuning_names)}{capo}"
    yield from (plain(f"note: {text}") for text in dict.fromkeys(said))
