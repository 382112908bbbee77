"""Whatever the bytes, reading gives a score or our one error."""

from __future__ import annotations

import random
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.scores.building import DATA, HEAD, document, measure, note, packed
from trainer.errors import ChangeoverError
from trainer.practice.quick import from_shapes
from trainer.scores import smf_writer
from trainer.scores.drilling import drill_of
from trainer.scores.excerpt import excerpt
from trainer.scores.parts import chosen_part
from trainer.scores.source import parse

PLAIN = document(measure(note("E4", 8, string=1, fret=0) + note("C4", 8, string=2, fret=1, finger=1), 1, HEAD)).encode()
SEEDS = (
    PLAIN,
    PLAIN.decode().encode("utf-16"),
    packed("score.xml", PLAIN),
    smf_writer.write(from_shapes(["C", "F"])),
    *(path.read_bytes() for path in sorted(Path(DATA / "lilypond-suite").glob("71*.xml"))),
)
WORDS = (
    b"NaN",
    b"-1",
    b"0",
    b"99999999",
    b"</note>",
    b"<chord/>",
    b"<grace/>",
    b"\xff\xff",
    b"\0",
    b"\x7f\xff\xff\xff",
    b"<",
)


def tried(data: bytes) -> None:
    try:
        score = parse(data, "x")
        part, _ = chosen_part(score, None, "x")
        drill_of(score, excerpt(score, part, "x", as_played=True), "x")
    except ChangeoverError as error:
        said = [str(problem) for problem in error.problems]
    else:
        said = ["read"]
    assert said
    assert all(line.isprintable() for line in said)


@settings(max_examples=60)
@given(st.sampled_from(SEEDS), st.integers(0, 2**32), st.integers(1, 6))
def test_files_with_slips_in_them(seed: bytes, chance: int, slips: int) -> None:
    """Bytes replaced, taken out, doubled, or set to words that numbers and marks are confused by."""
    dice = random.Random(chance)
    data = bytearray(seed)
    for _ in range(slips):
        at = dice.randrange(len(data) + 1)
        length = dice.choice((1, 1, 2, 8, 40))
        new = dice.choice((dice.randbytes(length), b"", bytes(data[at : at + length]) * 2, dice.choice(WORDS)))
        data[at : at + length] = new
    tried(bytes(data))


@settings(max_examples=60)
@given(
    st.binary(max_size=200),
    st.sampled_from([b"", b"MThd\0\0\0\6\0\0\0\1\0\x60MTrk\0\0\0\x40", b"<score-partwise>", b"PK\3\4"]),
)
def test_noise(data: bytes, start: bytes) -> None:
    tried(start + data)
