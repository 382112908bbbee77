"""How often fingerings agree with the print: `python tests/bench/bench_agreement.py [FOLDER [fitted]]`.

Three baselines, none fitted on the digits it is measured on, with 95 % intervals over pieces: lowest fret with a finger
to a fret, the commonest finger of each pitch in the other editions, and the plain hand model. FOLDER holds pieces as
described in tests/data/fingerings/README.md; without it, the ones there. With `fitted` the fitted weights are measured
too, each group of editions by weights that have not seen it, cold, with half given, and with 90 % and the strings: it
fits four times, which takes a quarter of an hour.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.fit.editions import Piece, pieces
from tests.fit.fit import measured
from tests.fit.measure import COLD, HALF, Share, interval, lowest_fret, measure, pooled
from trainer.hand.search.weights import plain

DATA = Path(__file__).parents[1] / "data" / "fingerings"


def commonest_finger(piece: Piece, others: Sequence[Piece]) -> Share:
    """Return what agrees where each pitch is taken by the finger 1 to 4 that `others` have most often for it."""
    seen: dict[int, Counter[int]] = {}
    for other in others:
        for note, finger in zip(other.passage.notes, other.fingers, strict=True):
            if finger:
                seen.setdefault(note.midi, Counter())[finger] += 1
    share = Share()
    for note, finger in zip(piece.passage.notes, piece.fingers, strict=True):
        if finger:
            share.add(max(seen.get(note.midi, Counter()).items(), key=lambda had: had[1], default=(1, 0))[0] == finger)
    return share


def told(name: str, shares: Sequence[Share]) -> None:
    low, high = interval(shares)
    count = sum(share.of for share in shares)
    print(f"{name:34} {pooled(shares):5.1f} [{low:.1f}-{high:.1f}] of {count}", flush=True)


def main(words: list[str]) -> None:
    folder = Path(words[0]) if words else DATA
    every = pieces(folder) if folder.is_dir() else []
    if not every:
        raise SystemExit(f"{folder}: no pieces with printed fingers; name a folder of them, or none for {DATA}")
    print(f"{len(every)} pieces; agreement with printed fingers 1 to 4, per cent")
    told("lowest fret, a finger to a fret", [lowest_fret(piece)["cheapest"] for piece in every])
    told(
        "commonest finger of the pitch",
        [commonest_finger(piece, [other for other in every if other.edition != piece.edition]) for piece in every],
    )
    for given in (COLD, HALF):
        found = [measure(piece, plain(), given) for piece in every]
        for kind in ("cheapest", "top two", "digit 0", "string"):
            told(f"hand, {given.name}, {kind}", [shares[kind] for shares in found])
    if words[1:] == ["fitted"]:
        measured(every)


if __name__ == "__main__":
    main(sys.argv[1:])
