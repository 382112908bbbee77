"""What must hold of every fingering, on published pieces and on drawn ones."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fit.editions import Piece, read
from tests.hand.search.building import found
from trainer.fretboard.instrument import Instrument
from trainer.hand.hold import trouble
from trainer.hand.reach import Hand
from trainer.hand.search.impossible import Impossible
from trainer.hand.search.passage import Note, Passage
from trainer.hand.search.solve import SLACK, Found, work_out

FOLDER = Path(__file__).parents[2] / "data" / "fingerings"
"""Works in the public domain, typeset in the public domain; the README there names each source."""
LENGTH = 16


def _run(piece: Piece) -> Piece:
    """Return the `LENGTH` slices of a piece with most printed fingers."""
    slices = piece.passage.slices

    def digits(first: int) -> int:
        return sum(1 for part in slices[first : first + LENGTH] for index in part.struck if piece.fingers[index])

    first = max(range(max(1, len(slices) - LENGTH)), key=digits)
    which = [index for part in slices[first : first + LENGTH] for index in part.struck]
    notes = tuple(piece.passage.notes[index] for index in which)
    parts = (tuple(row[index] for index in which) for row in (piece.fingers, piece.strings, piece.certain))
    return Piece(piece.name, piece.edition, Passage(notes, piece.passage.instrument), *parts)


PIECES = [_run(piece) for path in sorted(FOLDER.glob("*.json")) for piece in read(path)[:3]]


def _printed(piece: Piece) -> Passage:
    """Return the passage with its printed fingers set."""
    pairs = zip(piece.passage.notes, piece.fingers, strict=True)
    return replace(piece.passage, notes=tuple(replace(note, finger=finger) for note, finger in pairs))


def test_the_pieces_are_there() -> None:
    assert len(PIECES) >= 9
    assert sum(piece.digits for piece in PIECES) > 80


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.name[:32])
def test_the_best_costs_no_more_than_the_print(piece: Piece) -> None:
    free, printed = found(piece.passage), work_out(_printed(piece))
    if isinstance(printed, Impossible):
        # A slip of the print: the slice is named, and what is set is why.
        assert "set" in printed.why
        return
    kept = [taken.finger for taken in printed.best.notes]
    assert all(finger in {None, own} for finger, own in zip(piece.fingers, kept, strict=True))
    if free.exact:
        assert free.best.cost <= printed.best.cost + SLACK


@pytest.mark.parametrize("piece", PIECES[:4], ids=lambda piece: piece.name[:32])
def test_every_hand_is_one_that_can_be_held(piece: Piece) -> None:
    best = found(piece.passage).best
    for at in range(len(best.moves)):
        problems = trouble(best.shape(at), piece.passage.instrument, Hand())
        assert not [problem for problem in problems if "apart" in problem.what], (at, problems)


@pytest.mark.parametrize("piece", PIECES[:4], ids=lambda piece: piece.name[:32])
def test_fixing_all_of_the_best_way_changes_nothing(piece: Piece) -> None:
    best = found(piece.passage).best
    pins = {
        index: replace(note, string=taken.string, fret=taken.fret, finger=taken.finger)
        for index, (note, taken) in enumerate(zip(piece.passage.notes, best.notes, strict=True))
    }
    again = found(piece.passage.pinned(pins))
    assert again.best.notes == best.notes
    assert again.best.cost == pytest.approx(best.cost)


_LINES = st.lists(st.lists(st.integers(40, 76), min_size=1, max_size=2, unique=True), min_size=2, max_size=5).map(
    lambda slices: Passage.of(
        Note(Fraction(at, 2), Fraction(length, 2), pitch)
        for at, pitches in enumerate(slices)
        for length, pitch in zip((1, 3), pitches, strict=False)
    )
)
"""Short passages of one and two notes, the second of two held on over those that follow."""


@settings(max_examples=25, deadline=None)
@given(_LINES, st.data())
def test_a_pin_never_lowers_the_cost(passage: Passage, data: st.DataObject) -> None:
    free = work_out(passage)
    if not isinstance(free, Found) or not free.exact:
        return
    index = data.draw(st.integers(0, len(passage.notes) - 1))
    finger = data.draw(st.integers(0, 4))
    pinned = work_out(passage.pinned({index: replace(passage.notes[index], finger=finger)}))
    if isinstance(pinned, Found):
        assert pinned.best.notes[index].finger == finger
        assert pinned.best.cost >= free.best.cost - SLACK


@settings(max_examples=25, deadline=None)
@given(_LINES)
def test_a_held_note_keeps_its_string_and_finger_or_the_cost_says_that_it_is_let_go(passage: Passage) -> None:
    result = work_out(passage)
    if not isinstance(result, Found):
        return
    best = result.best
    cut = any(reason.term == "cut" for move in best.moves for reason in move.reasons)
    for at, piece in enumerate(passage.slices):
        assert cut or all(best.still(at, note) for note in piece.held)


@settings(max_examples=15, deadline=None)
@given(_LINES, st.floats(0.6, 1.2))
def test_a_smaller_guitar_under_a_smaller_hand_is_fingered_alike(passage: Passage, size: float) -> None:
    guitar = Instrument()
    small = Instrument(scale_mm=650 * size, nut_mm=43 * size, saddle_mm=58 * size)
    usual = work_out(Passage(passage.notes, guitar))
    smaller = work_out(Passage(passage.notes, small), Hand().scaled(size))
    if isinstance(usual, Impossible):
        assert isinstance(smaller, Impossible)
        return
    assert isinstance(smaller, Found)
    assert smaller.best.cost == pytest.approx(usual.best.cost)
