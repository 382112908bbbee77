"""What holds of every change between any two shapes on any instrument."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import instruments, shapes, steps
from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Plucked
from trainer.fretboard.shape import Shape
from trainer.hand.analysis import analyse
from trainer.hand.change import Action, BarreAction, Change
from trainer.hand.frame import contracted
from trainer.hand.hold import trouble
from trainer.hand.reach import HANDS, Hand
from trainer.hand.words import describe

ADULT = HANDS["adult"]
some_hand = st.sampled_from(list(HANDS.values()))
Pair = tuple[Shape, Shape, Instrument]


def _mixed(before: Shape, after: Shape, kept: int) -> Shape:
    """Return `after` with the first `kept` strings of `before`, where that makes a shape; so fingers often stay."""
    try:
        return Shape((*before.stops[:kept], *after.stops[kept:]))
    except ChangeoverError:
        return after


@st.composite
def pairs(draw: st.DrawFn, *, fingered: bool = False) -> Pair:
    """Two shapes for an instrument of four to ten strings."""
    instrument = draw(instruments())
    before, after = (draw(shapes(instrument.strings, fingered=fingered)) for _ in range(2))
    return before, _mixed(before, after, draw(st.integers(0, instrument.strings))), instrument


@st.composite
def played_changes(draw: st.DrawFn) -> tuple[Change, Plucked]:
    """Changes between two steps of a drill, with how the first is played."""
    instrument = draw(instruments())
    before, after = (draw(steps(instrument.strings)) for _ in range(2))
    plucked = before.plucked, after.plucked
    return analyse(before.shape, after.shape, instrument, draw(some_hand), plucked), before.plucked


@given(played_changes())
def test_a_change_can_always_be_said_in_one_printable_line(played: tuple[Change, Plucked]) -> None:
    done, plucked = played
    assert describe(done).isprintable()
    assert describe(done, plucked).isprintable()
    assert describe(done)


@given(played_changes())
def test_every_string_that_sounded_rings_through_or_stops(played: tuple[Change, Plucked]) -> None:
    done, plucked = played
    stopped = [string for string, _ in done.stops]
    assert sorted([*done.rings, *stopped]) == sorted(plucked.strings & set(done.before.sounding))


@given(played_changes())
def test_a_note_taken_over_rings_through(played: tuple[Change, Plucked]) -> None:
    done, _ = played
    for move in done.doing(Action.SWAP):
        assert move.end is not None
        assert move.end[0] in done.rings


@given(played_changes())
def test_beats_lie_within_the_shape(played: tuple[Change, Plucked]) -> None:
    done, plucked = played
    for move in done.moves:
        assert move.free_from is None or 1 <= move.free_from <= plucked.end
        assert move.needed_by is None or move.needed_by >= 1
        assert move.free_from is None or move.start is not None
        assert move.needed_by is None or move.end is not None


@given(pairs(fingered=True))
def test_every_action_is_what_it_says(pair: Pair) -> None:
    before, after, instrument = pair
    for move in analyse(before, after, instrument, ADULT).moves:
        start, end = before.placings.get(move.finger), after.placings.get(move.finger)
        assert move.start == (start.place if start else None)
        assert move.end == (end.place if end else None)
        if move.action is Action.KEPT:
            assert start is not None
            assert end is not None
            assert start.fret == end.fret
            assert set(start.strings) & set(end.strings)
            assert move.mm == 0
        elif move.action is Action.GUIDE:
            assert move.start is not None
            assert move.end is not None
            assert move.start[0] == move.end[0]
            assert move.start[1] != move.end[1]
            assert move.mm is not None
            assert (move.mm > 0) == (move.end[1] > move.start[1])
        elif move.action is Action.CROSS:
            assert move.start is not None
            assert move.end is not None
            assert move.start[0] != move.end[0]
        elif move.action is Action.SWAP:
            assert move.end is not None
            string, fret = move.end
            taken = before[string]
            assert taken is not None
            assert taken.fret == fret
            assert taken.finger != move.finger
            assert string not in after.sounding, "it goes on unstruck"
        else:
            assert (move.start is not None, move.end is not None) == {
                Action.PLACE: (False, True),
                Action.LIFT: (True, False),
                Action.FREE: (False, False),
            }[move.action]


@given(pairs())
def test_what_is_not_fingered_is_unknown_and_nothing_is_watched(pair: Pair) -> None:
    before, after, instrument = pair
    done = analyse(before, after, instrument, ADULT)
    unknown = done.doing(Action.UNKNOWN)
    if before.fingered and after.fingered:
        assert not unknown
    else:
        on_both_sides = set(before.placings) & set(after.placings)
        assert {move.finger for move in unknown} == {1, 2, 3, 4} - on_both_sides
    if unknown:
        assert done.watch is None
    assert (done.spans[0] is None, done.spans[1] is None) == (not before.fingered, not after.fingered)


@given(pairs())
def test_the_hand_shifts_by_the_difference_of_its_positions(pair: Pair) -> None:
    before, after, instrument = pair
    done = analyse(before, after, instrument, ADULT)
    old, new = done.positions
    assert all(place is None or place >= 1 for place in done.positions)
    assert (done.shift is None) == (old is None or new is None)
    if done.shift is not None and old is not None and new is not None:
        assert done.shift.frets == new - old
        assert done.shift.mm == pytest.approx(instrument.fret_mm(new) - instrument.fret_mm(old))


@given(pairs(fingered=True))
def test_the_hand_does_not_shift_while_a_fingertip_stays(pair: Pair) -> None:
    before, after, instrument = pair
    done = analyse(before, after, instrument, ADULT)
    tips = [
        move
        for move in done.doing(Action.KEPT)
        if not before.placings[move.finger].is_barre and not after.placings[move.finger].is_barre
    ]
    if tips:
        assert done.shift is not None
        assert done.shift.frets == 0
        assert done.buys_time == ()


@given(pairs(fingered=True))
def test_the_watched_finger_goes_somewhere(pair: Pair) -> None:
    done = analyse(*pair, ADULT)
    laid = {barre.end.finger for barre in done.barres if BarreAction.LAID in barre.actions and barre.end}
    arriving = laid | {move.finger for move in done.moves if move.action in {"place", "cross", "guide", "swap"}}
    assert done.watch in arriving if arriving else done.watch is None
    if laid:
        assert done.watch in laid


@given(st.integers(4, 10).flatmap(lambda strings: shapes(strings, fingered=True)))
def test_staying_in_a_shape_is_no_change(shape: Shape) -> None:
    instrument = Instrument(tuning=tuple(range(40, 40 + shape.strings)))
    done = analyse(shape, shape, instrument, ADULT)
    assert {move.action for move in done.moves} <= {Action.KEPT, Action.FREE}
    assert done.rings == tuple(sorted(shape.sounding, reverse=True))
    assert (done.stops, done.squeaks, done.buys_time, done.watch) == ((), (), (), None)
    assert {action for barre in done.barres for action in barre.actions} <= {BarreAction.KEPT}


MIRRORED = {
    Action.KEPT: Action.KEPT,
    Action.GUIDE: Action.GUIDE,
    Action.CROSS: Action.CROSS,
    Action.PLACE: Action.LIFT,
    Action.LIFT: Action.PLACE,
    Action.FREE: Action.FREE,
    Action.UNKNOWN: Action.UNKNOWN,
}
"""What a finger does on the way back. A swap has no mirror: it depends on which of the two notes is struck."""

BARRES_MIRRORED = {
    BarreAction.LAID: BarreAction.RAISED,
    BarreAction.RAISED: BarreAction.LAID,
    BarreAction.WIDENED: BarreAction.NARROWED,
    BarreAction.NARROWED: BarreAction.WIDENED,
    BarreAction.KEPT: BarreAction.KEPT,
    BarreAction.SLID: BarreAction.SLID,
    BarreAction.HINGED: BarreAction.HINGED,
}


@given(pairs())
@settings(max_examples=200)
def test_the_way_back_mirrors_the_way_there(pair: Pair) -> None:
    """Fingers, barres, frame, spans and squeaks mirror; what is watched, stops or buys time does not."""
    before, after, instrument = pair
    there, back = analyse(before, after, instrument, ADULT), analyse(after, before, instrument, ADULT)
    for out, home in zip(there.moves, back.moves, strict=True):
        assert (out.start, out.end) == (home.end, home.start)
        if Action.SWAP not in {out.action, home.action}:
            assert home.action is MIRRORED[out.action]
        same_fret = out.start is not None and out.end is not None and out.start[1] == out.end[1]
        assert home.mm == (out.mm if same_fret or out.mm is None else -out.mm)
    assert _barres(back) == {
        (end, start, frozenset(BARRES_MIRRORED[action] for action in barre_actions))
        for start, end, barre_actions in _barres(there)
    }
    assert back.positions == there.positions[::-1]
    assert back.spans == there.spans[::-1]
    assert back.squeaks == there.squeaks
    if there.shift is not None:
        assert back.shift is not None
        assert back.shift.frets == -there.shift.frets
        assert back.shift.mm == pytest.approx(-there.shift.mm)


def _barres(change: Change) -> set[tuple[object, object, frozenset[BarreAction]]]:
    return {(barre.start, barre.end, frozenset(barre.actions)) for barre in change.barres}


@given(pairs())
def test_what_rings_through_there_rings_through_back(pair: Pair) -> None:
    """Where all is struck; a string that sounds on one side only cannot ring on the other way."""
    before, after, instrument = pair
    there, back = analyse(before, after, instrument, ADULT), analyse(after, before, instrument, ADULT)
    both = set(before.sounding) & set(after.sounding)
    assert set(there.rings) & both == set(back.rings) & both


@given(pairs(), st.floats(0.6, 1.6))
def test_a_larger_guitar_in_a_larger_hand_changes_nothing(pair: Pair, factor: float) -> None:
    before, after, _ = pair
    strings = tuple(range(40, 40 + before.strings))
    normal = Instrument(tuning=strings, nut_mm=50, saddle_mm=60)
    larger = Instrument(tuning=strings, nut_mm=50 * factor, saddle_mm=60 * factor, scale_mm=650 * factor)
    small, large = analyse(before, after, normal, ADULT), analyse(before, after, larger, ADULT.scaled(factor))
    for one, other in zip(small.moves, large.moves, strict=True):
        assert other == replace(one, mm=other.mm)
        assert other.mm == (None if one.mm is None else pytest.approx(one.mm * factor))
    assert small.shift is None or large.shift is not None
    assert large == replace(small, moves=large.moves, shift=large.shift, spans=large.spans)
    for narrow, wide in zip(small.spans, large.spans, strict=True):
        assert wide == (None if narrow is None else pytest.approx(narrow * factor))


@given(pairs(), st.integers(1, 7))
def test_a_capo_changes_distances_and_reaches_only(pair: Pair, capo: int) -> None:
    before, after, _ = pair
    strings = tuple(range(40, 40 + before.strings))
    bare, capoed = Instrument(tuning=strings), Instrument(tuning=strings, capo=capo)
    without, with_it = analyse(before, after, bare, ADULT), analyse(before, after, capoed, ADULT)
    for one, other in zip(without.moves, with_it.moves, strict=True):
        assert other == replace(one, mm=other.mm, reach=other.reach)
        assert other.reach is None or one.reach is other.reach, "frets are narrower, so no reach is added"
        assert one.mm is None or abs(other.mm or 0) <= abs(one.mm) + 6, "the strings' fan adds a little"
    assert (with_it.barres, with_it.positions) == (without.barres, without.positions)
    assert (with_it.rings, with_it.stops, with_it.squeaks) == (without.rings, without.stops, without.squeaks)
    assert with_it.buys_time == without.buys_time


@given(pairs(), some_hand)
def test_any_shape_that_fits_the_instrument_can_be_judged(pair: Pair, hand: Hand) -> None:
    before, _, instrument = pair
    assert all(problem.warning and str(problem).isprintable() for problem in trouble(before, instrument, hand))
    # Closer than one finger to a fret takes at least two fingers at different frets.
    assert not contracted(before) or len(before.frets) > 1
