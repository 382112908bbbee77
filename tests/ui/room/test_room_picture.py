"""The room view as cells: literal at the sizes of a projector and a laptop, and what holds at every size."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.ui.room.scenes import SHAPES, draw, scene, symbol
from trainer.practice.room import Show
from trainer.ui.board import blocks
from trainer.ui.board.canvas import Picture, lines
from trainer.ui.board.marks import ASCII
from trainer.ui.board.picture import Look
from trainer.ui.room.neck import SCALES, mark_size
from trainer.ui.room.picture import LEAST
from trainer.ui.room.scene import Scene

DATA = Path(__file__).parents[2] / "data" / "room"
"""Pictures as text. They were looked at, drawn by this program: they hold what was found good, no more."""
LOOK = Look()


def blocks_of(picture: Picture) -> set[str]:
    """Return the fingers whose number, cut out of a solid block or filled, stands whole in the picture."""
    rows = lines(picture)
    found = set()
    for digit in "1234":
        for scale in SCALES:
            for cut_out in (False, True):
                first, *others = blocks.block(digit, scale, cut_out=cut_out)
                found |= {digit for at in _places(rows, first) if _stands(rows, at, others)}
    return found


def _places(rows: list[str], first: str) -> list[tuple[int, int]]:
    return [(x, y) for y, row in enumerate(rows) for x in range(len(row)) if row.startswith(first, x)]


def _stands(rows: list[str], at: tuple[int, int], others: list[str]) -> bool:
    x, y = at
    below = rows[y + 1 : y + 1 + len(others)]
    return len(below) == len(others) and all(
        row[x : x + len(part)] == part for row, part in zip(below, others, strict=True)
    )


@pytest.mark.parametrize(
    ("name", "size", "seen"),
    [
        ("120x40 Am to C", (120, 39), scene("Am", "C", beat=3, said="change 2 of 4")),
        ("200x60 C to F", (200, 59), scene("C", "F", beat=2, counting=True, said="change 2 of 4")),
        ("200x60 both hands", (200, 59), scene("Am", "C", both_hands=True, said="change 1 of 4")),
        ("80x24 Am to C", (80, 23), scene("Am", "C", beat=4, said="segment: the first two")),
        ("60x21 Am to C", (60, 20), scene("Am", "C", beat=4, said="frozen")),
    ],
)
def test_it_looks_as_it_was_found_good(name: str, size: tuple[int, int], seen: Scene) -> None:
    drawn = "\n".join(lines(draw(seen, LOOK, *size))) + "\n"
    assert drawn == (DATA / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("size", "mark", "number"),
    [((120, 39), (10, 5), (6, 5)), ((200, 59), (15, 8), (9, 8)), ((80, 23), (5, 3), None), ((60, 20), (5, 1), None)],
)
def test_cells_of_a_mark_and_of_the_number_in_it(
    size: tuple[int, int], mark: tuple[int, int], number: tuple[int, int] | None
) -> None:
    assert symbol(scene("Am", "C"), LOOK, *size) == mark
    if number is not None:
        scale = next(scale for scale in SCALES if mark_size(scale) == mark)
        assert blocks.size(scale) == number


@pytest.mark.parametrize(
    ("pair", "size"),
    [
        *(
            (pair, size)
            for pair in (("Am", "C"), ("C", "F"), ("F", "G"))
            for size in ((120, 39), (160, 48), (200, 59), (260, 80))
        ),
        # Five frets; 120 columns have blocks for four.
        (("G at III", "A at V"), (160, 48)),
        (("G at III", "A at V"), (200, 59)),
    ],
)
def test_every_finger_that_will_be_there_stands_whole(pair: tuple[str, str], size: tuple[int, int]) -> None:
    seen = scene(*pair)
    fingers = {str(finger) for finger in seen.change.after.placings}
    assert fingers <= blocks_of(draw(seen, LOOK, *size))
    left = draw(seen, replace(LOOK, left_handed=True), *size)
    assert fingers <= blocks_of(left)


@given(
    st.sampled_from(sorted(SHAPES)),
    st.sampled_from(sorted(SHAPES)),
    st.integers(LEAST[0], 320),
    st.integers(LEAST[1], 100),
    st.sampled_from(Show),
    st.booleans(),
    st.booleans(),
    st.booleans(),
)
def test_it_fills_any_room(
    before: str, after: str, width: int, height: int, show: Show, hidden: bool, both: bool, fine: bool
) -> None:
    look = LOOK if fine else Look(glyphs=ASCII)
    seen = scene(before, after, show=show, hidden=hidden, both_hands=both, beat=1, said="from memory")
    picture = draw(seen, look, width, height)
    assert (picture.width, picture.height) == (width, height)
    assert all(sum(len(run.text) for run in row) == width for row in picture.rows)
    text = "\n".join(lines(picture))
    assert fine or text.replace("½", "").isascii()


@given(st.integers(LEAST[0], 320), st.integers(LEAST[1], 100), st.booleans())
def test_a_bar_that_is_counted_in_says_so_in_any_room(width: int, height: int, counting: bool) -> None:
    picture = draw(scene("Am", "C", beat=2, counting=counting, said="segment: change 12 of 14"), LOOK, width, height)
    words = {word for row in lines(picture) for word in row.split()}
    assert ("count-in" in words, "beat" in words) == (counting, not counting)


@given(st.sampled_from(sorted(SHAPES)), st.sampled_from(sorted(SHAPES)), st.integers(80, 240), st.integers(24, 80))
def test_more_room_never_makes_marks_smaller(before: str, after: str, width: int, height: int) -> None:
    seen = scene(before, after)
    here = symbol(seen, LOOK, width, height)[1]
    assert symbol(seen, LOOK, width, height + 4)[1] >= here
    assert symbol(seen, LOOK, width + 24, height)[1] >= here


def test_shape_only_shows_what_is_held_and_movement_only_what_moves() -> None:
    assert blocks_of(draw(scene("Am", "C", show=Show.BOTH), LOOK, 120, 39)) == {"1", "2", "3"}
    assert blocks_of(draw(scene("Am", "C", show=Show.MOVEMENT), LOOK, 120, 39)) == {"3"}
    shape = draw(scene("Am", "C", show=Show.SHAPE), LOOK, 120, 39)
    assert blocks_of(shape) == {"1", "2", "3"}
    assert not any("(" in row[:90] or "●" in row for row in lines(shape))


def test_once_the_last_shape_is_held_it_stands_without_movement() -> None:
    held = draw(scene("Am", "C", arrived=True), LOOK, 120, 39)
    assert not any("●" in row for row in lines(held))
    # Finger 3 is at the fret and string that it came to: the third fret's space, string 5.
    where = draw(scene("Am", "C"), LOOK, 120, 39)
    row = blocks.block("3", 2)[0]
    at = {x for line in lines(where) for x in range(len(line)) if line.startswith(row, x) and x > 50}
    assert at & {x for line in lines(held) for x in range(len(line)) if line.startswith(row, x)}


def test_hidden_it_shows_names_and_beat_and_no_finger() -> None:
    hidden = draw(scene("Am", "C", hidden=True, beat=3), LOOK, 120, 39)
    assert not any(mark in row for row in lines(hidden) for mark in "[](●")
    assert [row[95:] for row in lines(hidden)[:6]] == [
        row[95:] for row in lines(draw(scene("Am", "C", beat=3), LOOK, 120, 39))[:6]
    ]


def test_the_view_for_left_hands_is_the_other_one_in_a_mirror() -> None:
    rows = lines(draw(scene("Am", "C", both_hands=True, show=Show.SHAPE), LOOK, 200, 59))
    strings = [row for row in rows if row.count("╫") == 2]
    assert len(strings) == 6
    for row in strings:
        nut, other_nut = row.index("╫"), row.rindex("╫")
        right_handed, left_handed = row[nut:99], row[99 : other_nut + 1]
        # Numbers read the same way round in both, so only where anything stands is compared.
        drawn = [cell not in "─┼" for cell in right_handed.rstrip()]
        assert drawn == [cell not in "─┼" for cell in reversed(left_handed.lstrip())]
