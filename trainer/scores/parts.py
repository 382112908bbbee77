"""Which part of a score is taken: the one that was asked for, or the one most like a guitar's."""

from __future__ import annotations

from collections.abc import Iterable

from trainer.errors import plain, wrong
from trainer.scores.score import Part, Score

_BOWED = ("violin", "viola", "cello", "contrabass", "double bass", "strings.", "geige", "bratsche", "violon")
_BOWED_PROGRAMS = range(41, 45)
_GUITARS = ("guitar", "gitar", "guitare", "chitarra", "guitarra", "violão", "pluck.guitar")
_GUITAR_PROGRAMS = range(25, 33)


def chosen_part(score: Score, wanted: str | None, file: str) -> tuple[Part, str]:
    """Return the part to take and a sentence on the choice, empty where there was none to make.

    `wanted` is a part's number from 1, its name or its id. Without it: the part with the most strings and frets,
    else the one named as a guitar, else the first.
    """
    if wanted is not None:
        word = wanted.strip().casefold()
        for number, part in enumerate(score.parts, start=1):
            if word in {str(number), part.id.casefold(), part.name.casefold()}:
                return part, ""
        names = ", ".join(f"{number} {part.name or part.id}" for number, part in enumerate(score.parts[:12], start=1))
        raise wrong(f"no part is called '{plain(wanted[:40])}'", file=file, key="--part", hint=f"there are {names}")
    fit = [part for part in score.parts if not is_bowed(part)] or list(score.parts)
    best = max(fit, key=_guitarness)
    if len(score.parts) == 1:
        return best, ""
    return (
        best,
        f"part {score.parts.index(best) + 1}, {best.name or best.id}, of {len(score.parts)}: choose with --part",
    )


def _guitarness(part: Part) -> tuple[int, int, int]:
    stringed = sum(note.printed.fret is not None for note in part.notes)
    named = _named(part, _GUITARS) or part.program in _GUITAR_PROGRAMS
    return stringed, int(named), len(part.notes) > 0


def _named(part: Part, words: Iterable[str]) -> bool:
    text = f"{part.name} {part.sound}".casefold()
    return any(word in text for word in words)


def is_bowed(part: Part) -> bool:
    """Tell whether a part is for a bowed instrument, whose fingers are not a guitarist's."""
    return _named(part, _BOWED) or part.program in _BOWED_PROGRAMS
