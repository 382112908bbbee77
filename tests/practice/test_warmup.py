"""The warm-up: to the second, from light to less light, and capped, whatever it is made of."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.text import parse_shape
from trainer.hand.analysis import analyse
from trainer.hand.reach import HANDS
from trainer.practice.load import Strain, heaviest, of_change
from trainer.practice.minutes import LONGEST, SHORTEST
from trainer.practice.playing import breaks
from trainer.practice.warmup import (
    CAUTION,
    EASY_RISE,
    MOST_REPETITIONS,
    REST_EVERY_S,
    RISE,
    SHORTEST_S,
    SPELL_S,
    Kind,
    Material,
    Part,
    plan,
)

LIGHT = Material("light", "Light", 4, 4.0, 40.0, Strain(30.0, 0.0, False))
WIDER = Material("wider", "Wider", 6, 4.0, 60.0, Strain(70.0, 0.0, False))
BARRE = Material("barre", "Barre", 4, 4.0, 50.0, Strain(60.0, 1.0, False))
STRETCH = Material("stretch", "Stretch", 4, 4.0, 50.0, Strain(130.0, 0.0, True))
HALF = Material("half", "Half", 4, 4.0, 50.0, Strain(60.0, 0.5, False))
ALL = (LIGHT, WIDER, HALF, BARRE, STRETCH)

strains = st.builds(Strain, st.floats(0, 150), st.sampled_from([0.0, 0.5, 1.0]), st.booleans())
materials = st.lists(
    st.builds(
        Material,
        st.uuids().map(str),
        st.just("Drill"),
        st.integers(1, 12),
        st.floats(1, 8),
        st.floats(20, 240),
        strains,
    ),
    min_size=1,
    max_size=8,
)


def spells(parts: tuple[Part, ...]) -> list[Part]:
    return [part for part in parts if part.kind is Kind.PLAY]


@given(materials, st.floats(SHORTEST, LONGEST), st.integers(0, 400))
def test_every_warm_up_keeps_its_time_its_rise_and_its_caps(
    made_of: list[Material], minutes: float, days_off: int
) -> None:
    parts = plan(made_of, minutes, days_off=days_off)
    # To the second, where within five of them would do.
    assert sum(part.seconds for part in parts) == round(minutes * 60)
    assert all(part.seconds > 0 for part in parts)
    loads = [part.load for part in spells(parts)]
    assert all(before <= after + 1e-9 for before, after in pairwise(loads)), "the load never falls back"
    assert all(after - before <= RISE + 1e-9 for before, after in pairwise(loads)), "and never jumps"
    played: Counter[str] = Counter()
    since_rest = 0
    for part in parts:
        if part.kind is Kind.PLAY:
            assert part.material is not None
            assert part.tempo is not None
            assert part.tempo <= part.material.tempo, "never faster than was clean lately"
            assert part.seconds <= SPELL_S + SHORTEST_S
            played[part.material.name] += part.repetitions  # type: ignore[assignment]  # a Counter of parts of a round
            since_rest += part.seconds
            assert since_rest <= REST_EVERY_S + SPELL_S + SHORTEST_S
        elif part.kind is Kind.REST:
            since_rest = 0
    assert all(times <= MOST_REPETITIONS + 1e-9 for times in played.values())


@given(materials, st.floats(SHORTEST, LONGEST), st.integers(0, 400))
def test_the_longer_the_absence_the_lower_the_ceiling(made_of: list[Material], minutes: float, days_off: int) -> None:
    part = 0.5 if days_off >= 14 else 0.75 if days_off >= 4 else 1.0
    lightest = min(one.strain.load(max(int(one.tempo * 0.6), 1) / one.beats) for one in made_of)
    heaviest_at_all = max(one.strain.load(one.tempo / one.beats) for one in made_of)
    top = max((part.load for part in spells(plan(made_of, minutes, days_off=days_off))), default=0.0)
    assert top <= lightest + part * (heaviest_at_all - lightest) + 1e-9


def test_ten_minutes_begin_away_from_the_guitar_and_rise() -> None:
    parts = plan(ALL, 10)
    assert [part.kind for part in parts[:4]] == [Kind.AWAY, Kind.AWAY, Kind.AWAY, Kind.PLAY]
    assert sum(part.seconds for part in parts if part.kind is Kind.AWAY) == 60
    played = spells(parts)
    assert played[0].material == LIGHT
    assert played[0].tempo == 24  # six tenths of what was clean lately
    assert played[-1].load > played[0].load + RISE
    assert sum(part.kind is Kind.REST for part in parts) >= 3
    assert played[0].words == "Light, at 24"


def test_two_minutes_keep_a_quarter_away_from_the_guitar() -> None:
    parts = plan(ALL, 2)
    assert sum(part.seconds for part in parts if part.kind is Kind.AWAY) == 30
    assert len(spells(parts)) >= 1


def test_a_sore_day_has_no_barre_and_no_stretch_and_hardly_rises() -> None:
    played = spells(plan(ALL, 20, easy=True))
    assert {part.material for part in played} <= {LIGHT, WIDER}
    assert played[-1].load - played[0].load <= EASY_RISE
    with pytest.raises(ChangeoverError, match="no drill to warm up with"):
        plan([HALF, BARRE, STRETCH], 10, easy=True)


def test_days_off_keep_the_heaviest_out() -> None:
    tops = [spells(plan(ALL, 20, days_off=days))[-1].load for days in (0, 5, 30)]
    assert tops[0] > tops[1] > tops[2]


@pytest.mark.parametrize("minutes", [0, 1.9, 30.1, float("nan")])
def test_a_warm_up_out_of_its_limits_is_refused(minutes: float) -> None:
    with pytest.raises(ChangeoverError, match="from 2 to 30"):
        plan(ALL, minutes)


def test_what_is_said_first_defers_to_licensed_practice() -> None:
    assert "stop, and see a doctor or physiotherapist" in CAUTION[0]


@pytest.mark.parametrize(
    ("before", "now", "minutes"),
    [(0, 1499, None), (1499, 1500, 25), (1500, 1600, None), (2900, 3000, 50), (0, 9000, 50)],
)
def test_breaks_come_due_once(before: float, now: float, minutes: int | None) -> None:
    words = breaks(before, now)
    assert (words is None) if minutes is None else (words is not None and words.startswith(f"{minutes} minutes"))


# The load of a change


def strain(before: str, after: str) -> Strain:
    return of_change(analyse(parse_shape(before), parse_shape(after), Instrument(), HANDS["adult"]))


def test_load_is_span_barre_and_work() -> None:
    assert Strain(80.0, 0.5, False).load(30) == pytest.approx(0.8 + 0.5 + 0.25)
    assert heaviest([Strain(80.0, 0.0, False), Strain(20.0, 1.0, True)]) == Strain(80.0, 1.0, True)
    assert heaviest([]) == Strain(0.0, 0.0, False)


def test_barres_weigh_by_their_width_and_one_finger_has_no_span() -> None:
    assert strain("x 0 2/1 0 0 0", "0 0 0 0 0 0") == Strain(0.0, 0.0, False)
    assert strain("x 0 2/2 2/3 1/1 0", "1/1 3/3 3/4 2/2 1/1 1/1").barre == 1.0
    assert strain("x x 0 2/1 2/1 2/1", "0 0 0 0 0 0").barre == 0.5
    assert strain("x 0 x x 5/1 8/4", "x 0 x x 5/1 9/4").stretch


def test_tendon_load_of_open_chords_is_in_the_measured_order() -> None:
    # Sung et al., Proceedings of the Human Factors and Ergonomics Society 2013: C and E pull less than G7. Am, which
    # they measured among the heavier two, has the fingers of E one string on, so a rule of spans cannot tell it from E.
    spans = {
        name: strain(shape, shape).span_mm
        for name, shape in {
            "C": "x 3/3 2/2 0 1/1 0",
            "E": "0 2/2 2/3 1/1 0 0",
            "G7": "3/3 2/2 0 0 0 1/1",
        }.items()
    }
    assert spans["E"] < spans["G7"]
    assert spans["C"] < spans["G7"]
