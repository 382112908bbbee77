"""Fits the weights of the school `editions` and measures them. Run from the top of the repository.

    python tests/fit/fit.py FOLDER table     fit on all pieces, write trainer/hand/search/fitted.py
    python tests/fit/fit.py FOLDER measure   fit without each group of editions in turn and measure on it; a number
                                             after it: only that group, counted from 0

FOLDER holds pieces as described in tests/data/fingerings/README.md. One process; seeds are fixed.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.fit.editions import Piece, pieces
from tests.fit.learn import fit
from tests.fit.measure import COLD, HALF, KINDS, MOST, Share, interval, lowest_fret, measure, pooled
from trainer.hand.search.weights import TERMS, Weights, plain

ROOT = Path(__file__).parents[2]
SEED = 1
ROUNDS = 1
"""Times each chunk is gone through."""
GROUPS = (("SorF__O35",), ("CarcassiM",), ("CarulliF", "BrahmsJ", "FaureG"), ("AguadoD", "KuffnerJ", "SorF__O45"))
"""Editions that are left out together, so that no edition is measured by weights that have seen it."""
_ROW = 8
"""Numbers to a line of the table."""


def table(every: Sequence[Piece]) -> None:
    weights = fit(every, ROUNDS, SEED)
    (ROOT / "trainer/hand/search/fitted.py").write_text(written(weights), "utf-8")


def written(weights: Weights) -> str:
    """Return the weights as a module: terms to three places, the tables' entries in hundredths, zeros left out."""
    lines = [
        '"""Weights fitted on published fingerings by tests/fit/fit.py: numbers only, not for editing by hand."""',
        "",
        "TERMS = {",
        *(f'    "{name}": {weights.terms[name]:.3f},' for name in TERMS),
        "}",
        '"""Weight by term."""',
        "",
        "# fmt: off",
        "HUNDREDTHS: dict[str, tuple[tuple[int, int], ...]] = {",
    ]
    for name, values in weights.tables.items():
        entries = [(at, round(100 * value)) for at, value in enumerate(values.ravel()) if round(100 * value)]
        lines.append(f'    "{name}": (')
        rows = (entries[first : first + _ROW] for first in range(0, len(entries), _ROW))
        lines += ["        " + " ".join(f"({at}, {value})," for at, value in row) for row in rows]
        lines.append("    ),")
    lines += ["}", '"""Entries by table: place in the flattened table, weight in hundredths."""', "# fmt: on", ""]
    return "\n".join(lines)


def measured(every: Sequence[Piece], groups: Sequence[tuple[str, ...]] = GROUPS) -> None:
    results: dict[tuple[str, str], dict[str, list[Share]]] = {}
    simple = [lowest_fret(piece) for piece in every]
    for kind in ("cheapest", "digit 0"):
        print(f"lowest fret, a finger to a fret: {kind} {pooled([shares[kind] for shares in simple]):.1f}", flush=True)
    for group in groups:
        begun = time.perf_counter()
        held_out = [piece for piece in every if piece.edition.startswith(group)]
        weights = fit([piece for piece in every if piece not in held_out], ROUNDS, SEED)
        for school, givens in ((plain(), (COLD,)), (weights, (COLD, HALF, MOST))):
            for given in givens:
                into = results.setdefault((school.name, given.name), {kind: [] for kind in KINDS})
                for piece in held_out:
                    for kind, share in measure(piece, school, given).items():
                        into[kind].append(share)
        print(f"{' '.join(group)}: {len(held_out)} pieces, {time.perf_counter() - begun:.0f} s", flush=True)
        told(results)


def told(results: dict[tuple[str, str], dict[str, list[Share]]]) -> None:
    for (school, given), shares in results.items():
        cells = []
        for kind in KINDS:
            low, high = interval(shares[kind])
            count = sum(share.of for share in shares[kind])
            cells.append(f"{kind} {pooled(shares[kind]):.1f} [{low:.1f}-{high:.1f}] of {count}")
        print(f"  {school:9} {given:18} " + "; ".join(cells), flush=True)


def main(words: list[str]) -> None:
    every = pieces(Path(words[0]))
    print(f"{len(every)} pieces, {sum(piece.digits for piece in every)} digits 1 to 4", flush=True)
    if words[1] == "table":
        table(every)
    else:
        measured(every, [GROUPS[int(word)] for word in words[2:]] or GROUPS)


if __name__ == "__main__":
    main(sys.argv[1:])
