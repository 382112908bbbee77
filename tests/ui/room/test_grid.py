"""Seats as tiles: every key is to be read whatever the room, and a seat's round in a few words."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tests.practice.playing import one_heard
from tests.ui.room.scenes import Chair
from trainer.practice.drill import Drill
from trainer.practice.rounds import Mark, Marking, Result, Round
from trainer.ui.board.canvas import Canvas, Fill, Ink, Picture, lines
from trainer.ui.board.marks import ASCII
from trainer.ui.board.picture import Look
from trainer.ui.command import SEAT_KEYS, key_text
from trainer.ui.figures import figures
from trainer.ui.room import grid, seating
from trainer.ui.room.desk import Group
from trainer.ui.room.numbered import numbered


def texts(picture: Picture, fill: Fill) -> Iterator[str]:
    """Yield what stands on cells of this fill."""
    return (run.text.strip() for row in picture.rows for run in row if run.ink.fill is fill and run.text.strip())


@given(st.integers(1, 40), st.integers(60, 300), st.integers(20, 100), st.booleans())
def test_every_seat_has_its_key_and_how_it_stands(count: int, width: int, height: int, fine: bool) -> None:
    group = numbered(count)
    marking = Marking(tuple(seat.id for seat in group.seats)).toggled(group.seats[0].id)
    picture = seating.to_mark(group, marking, Look() if fine else Look(glyphs=ASCII), width, height)
    drawn = "\n".join(lines(picture))
    assert (picture.width, picture.height) == (width, height)
    assert drawn.count("had it") == 1 + count - 1  # once in the sentence above them, and each but the first
    assert sum(text.endswith("missed") for text in texts(picture, Fill.SOLID)) == 1
    for key in SEAT_KEYS[:count]:
        text = key_text(key)
        large = (figures(text.upper(), scale, fine=fine)[-1].strip() for scale in range(1, 34))
        assert f" {text} " in drawn or any(row in drawn for row in large)


def test_no_key_or_number_is_drawn_like_another() -> None:
    drawn = [figures(key_text(key).upper()) for key in SEAT_KEYS]
    assert len(set(drawn)) == len(SEAT_KEYS)


@given(st.text(max_size=60), st.text(max_size=60), st.integers(60, 200), st.integers(20, 60))
def test_a_name_shifts_nothing_whatever_its_letters_are_as_wide_as(first: str, second: str, w: int, h: int) -> None:
    group = Group("A", (Chair("a", 1, first), Chair("b", 2, second), Chair("c", 3, "山田太郎"), Chair("d", 4)), keep)
    picture = seating.to_mark(group, Marking(("a", "b", "c", "d")), Look(), w, h)
    assert {cell_len("".join(run.text for run in row)) for row in picture.rows} == {w}


@pytest.mark.parametrize("text", ["山田", "\u0301abc", "a山", "e\u0301x", "山\u0301b"])
def test_a_letter_two_cells_wide_keeps_its_room_where_it_is_cut(text: str) -> None:
    for x in range(-4, 6):
        canvas = Canvas(4, 1)
        canvas.put(x, 0, text, Ink(), word=True)
        assert cell_len("".join(run.text for run in canvas.picture().rows[0])) == 4


def test_what_was_heard_of_a_seat_takes_the_rows_that_are_free() -> None:
    group = numbered(30)
    late = one_heard("seat1", landed=False, late_ms=240.0, up=3)
    drawn = lines(seating.to_mark(group, Marking(tuple(seat.id for seat in group.seats)).hear([late]), Look(), 80, 23))
    assert any(row.startswith(" 240 ms") for row in drawn)


@pytest.mark.parametrize(
    ("result", "words"),
    [
        (Result("s", Mark.HAD), "had it"),
        (Result("s", Mark.AWAY), "away"),
        (Result("s", Mark.HAD, one_heard("s", landed=True, late_ms=41.6)), "had it, 42 ms late"),
        (Result("s", Mark.HAD, one_heard("s", landed=True, late_ms=-30.0)), "had it, 30 ms early"),
        (Result("s", Mark.HAD, one_heard("s", landed=True, late_ms=0.2)), "had it"),
        (
            Result("s", Mark.MISSED, one_heard("s", landed=False, late_ms=240.0, up=3)),
            "missed, 240 ms late, 3 up",
        ),
    ],
)
def test_a_round_of_a_seat_in_words(result: Result, words: str) -> None:
    assert grid.said(result) == words


def keep(_: Drill, __: Round, ___: float) -> str:
    return ""


def test_what_came_of_a_round_says_how_many_how_fast_next_and_for_each() -> None:
    group = Group("A", (Chair("a", 1, "Ann"), Chair("b", 2), Chair("c", 3)), keep)
    late = one_heard("b", landed=False, late_ms=240.0, up=3)
    done = Round(60.0, ((0, 1),), Marking(("a", "b", "c")).hear([late]).away("c").results())
    drawn = lines(seating.told(group, done, 52.0, "the log is locked", Look(), 120, 38))
    assert any("1 of 2 had it, 1 away at 60." in row for row in drawn)
    assert any("Next: 52, slower." in row for row in drawn)
    assert any("the log is locked" in row for row in drawn)
    assert any("missed, 240 ms late, 3 up" in row for row in drawn)


def test_a_name_brings_no_control_codes_to_the_terminal() -> None:
    group = Group("A", (Chair("a", 1, "An\x1b[2Jn\r\n\x07a"),), keep)
    drawn = lines(seating.to_mark(group, Marking(("a",)), Look(), 80, 22))
    assert all(character.isprintable() for row in drawn for character in row)
    assert any("1 An" in row for row in drawn)


@given(st.integers(1, 40), st.integers(11, 300), st.integers(4, 100))
def test_tiles_fit_the_room_they_are_given(count: int, width: int, height: int) -> None:
    across = grid.columns(count, width, height)
    assert 1 <= across <= min(10, count)
    assert width // across >= 11
