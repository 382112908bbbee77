"""Geometry against published fret tables; strings, capo and what an instrument refuses."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given

from tests.strategies import instruments
from trainer.errors import ChangeoverError
from trainer.fretboard.instrument import Instrument, fret_distance

# Where frets 1 to 24 lie as shares of the scale (noah.org, fret positioning table, six places).
FRACTIONS = (
    *(0.056126, 0.109101, 0.159104, 0.206291, 0.250847, 0.292893, 0.33258, 0.370039, 0.405396, 0.438769, 0.470268, 0.5),
    *(0.528063, 0.554551, 0.579552, 0.60315, 0.625423, 0.646447, 0.66629, 0.68502, 0.702698, 0.719385, 0.735134, 0.75),
)
# Scale 635 mm, distance from the saddle in mm (stuphi.co.uk, fret table).
FROM_SADDLE_635 = {1: 599.360, 2: 565.721, 3: 533.969, 4: 504.000, 5: 475.712, 10: 356.382}
# Scale 650 mm, frets 1 to 12 from the nut in mm (computed from L(1 - 2^(-n/12)) to two places).
FROM_NUT_650 = (36.48, 70.92, 103.42, 134.09, 163.05, 190.38, 216.18, 240.53, 263.51, 285.20, 305.67, 325.00)


@pytest.mark.parametrize(("fret", "share"), list(enumerate(FRACTIONS, start=1)))
def test_frets_as_shares_of_the_scale(fret: int, share: float) -> None:
    """The table's fret 4 is misprinted by 0.000008: 1 - 2^(-4/12) is 0.206299."""
    printed_well = fret != 4
    assert fret_distance(fret, 1.0) == pytest.approx(share, abs=1e-6 if printed_well else 1e-5)


@pytest.mark.parametrize(("fret", "mm"), FROM_SADDLE_635.items())
def test_frets_of_a_635_mm_scale_from_the_saddle(fret: int, mm: float) -> None:
    assert 635 - Instrument(scale_mm=635).fret_mm(fret) == pytest.approx(mm, abs=0.0005)


@pytest.mark.parametrize(("fret", "mm"), list(enumerate(FROM_NUT_650, start=1)))
def test_frets_of_a_650_mm_scale_from_the_nut(fret: int, mm: float) -> None:
    assert Instrument().fret_mm(fret) == pytest.approx(mm, abs=0.005)


def test_the_nut_is_where_counting_starts() -> None:
    assert Instrument().fret_mm(0) == 0.0


@given(instruments())
def test_every_string_and_fret_has_a_contact_point(instrument: Instrument) -> None:
    for string in range(1, instrument.strings + 1):
        for fret in range(instrument.top_fret + 1):
            assert instrument.point(string, fret)[0] == instrument.fret_mm(fret)


def test_there_is_nothing_beyond_the_last_fret_and_string() -> None:
    instrument = Instrument(capo=2)
    assert set(instrument.points) == {(string, fret) for string in range(1, 7) for fret in range(18)}


def test_outer_strings_are_43_mm_apart_at_the_nut_and_fan_out_to_58_at_the_saddle() -> None:
    """Common readings of a 650 mm classical guitar, from memory; straight strings make every spacing linear."""
    instrument = Instrument(frets=24)
    assert instrument.distance((1, 0), (6, 0)) == pytest.approx(43)
    # The octave lies half-way between nut and saddle, fret 24 three quarters of the way.
    assert instrument.distance((1, 12), (6, 12)) == pytest.approx((43 + 58) / 2)
    assert instrument.distance((1, 24), (6, 24)) == pytest.approx(43 + 0.75 * 15)


def test_strings_are_equally_spaced_about_the_centre_line() -> None:
    instrument = Instrument()
    across = [instrument.point(string, 5)[1] for string in range(1, 7)]
    assert across == sorted(across), "the bass side is positive"
    assert across == pytest.approx([-mm for mm in reversed(across)])
    gaps = [high - low for low, high in pairwise(across)]
    assert gaps == pytest.approx([gaps[0]] * 5)


@pytest.mark.parametrize("strings", range(4, 11))
def test_neighbouring_strings_keep_their_spacing_whatever_their_number(strings: int) -> None:
    instrument = Instrument(tuning=tuple(range(40, 40 + strings)))
    assert instrument.strings == strings
    assert instrument.distance((1, 0), (2, 0)) == pytest.approx(43 / 5)
    assert instrument.distance((1, 0), (strings, 0)) == pytest.approx(43 / 5 * (strings - 1))


def test_stated_widths_are_taken() -> None:
    instrument = Instrument(nut_mm=52, saddle_mm=60)
    assert instrument.distance((1, 0), (6, 0)) == pytest.approx(52)
    assert instrument.distance((1, 12), (6, 12)) == pytest.approx(56)


def test_distance_is_the_straight_line_along_and_across() -> None:
    instrument = Instrument(nut_mm=50, saddle_mm=50)
    along = instrument.fret_mm(5) - instrument.fret_mm(2)
    assert instrument.distance((4, 2), (1, 5)) == pytest.approx(math.hypot(along, 30))


def test_a_capo_shortens_the_neck_from_the_nut() -> None:
    capoed, bare = Instrument(capo=3), Instrument()
    assert capoed.top_fret == bare.top_fret - 3
    assert capoed.fret_mm(2) == bare.fret_mm(5)
    assert capoed.point(4, 2) == bare.point(4, 5)
    assert capoed.pitch(6, 0) == 43
    assert capoed.pitch(6, 2) == bare.pitch(6, 5)


def test_pitches_of_standard_tuning() -> None:
    instrument = Instrument()
    assert [instrument.pitch(string, 0) for string in range(6, 0, -1)] == [40, 45, 50, 55, 59, 64]
    # Unisons that players tune by: string 3 at fret 4 sounds as the open string 2, the others at fret 5.
    for string in (6, 5, 4, 2):
        assert instrument.pitch(string, 5) == instrument.pitch(string - 1, 0)
    assert instrument.pitch(3, 4) == instrument.pitch(2, 0)


def test_tunings_are_named_low_to_high() -> None:
    drop = Instrument.tuned("D2 A2 D3 G3 B3 E4", capo=2)
    assert drop.tuning_names == ("D2", "A2", "D3", "G3", "B3", "E4")
    assert drop.pitch(6, 0) == 40, "the capo raises the open string"
    assert Instrument.tuned(["G3", "C4", "E4", "A4"]).strings == 4, "a list of names serves as well"


def test_strings_4_and_beyond_are_wound_on_a_nylon_string_guitar() -> None:
    assert [string for string in range(1, 7) if Instrument().is_wound(string)] == [4, 5, 6]
    assert [string for string in range(1, 8) if Instrument(tuning=(35, *Instrument().tuning)).is_wound(string)] == [
        4,
        5,
        6,
        7,
    ]


def test_wound_strings_are_the_instruments_own() -> None:
    steel = Instrument(wound=frozenset({3, 4, 5, 6}))
    assert [string for string in range(1, 7) if steel.is_wound(string)] == [3, 4, 5, 6]
    assert not any(Instrument(wound=frozenset()).is_wound(string) for string in range(1, 7))


def test_equal_instruments_are_equal_and_hash_alike() -> None:
    assert Instrument() == Instrument.tuned("E2 A2 D3 G3 B3 E4")
    assert hash(Instrument()) == hash(Instrument.tuned("E2 A2 D3 G3 B3 E4"))
    assert Instrument() != Instrument(scale_mm=640)


@pytest.mark.parametrize(
    ("values", "line"),
    [
        ({"tuning": ()}, "tuning: strings: 0 (from 4 to 10)"),
        ({"tuning": (40, 45, 50)}, "tuning: strings: 3 (from 4 to 10)"),
        ({"tuning": tuple(range(40, 51))}, "tuning: strings: 11 (from 4 to 10)"),
        ({"tuning": (-1, 45, 50, 55, 59, 64)}, "tuning: lowest open string as MIDI note: -1 (from 0 to 127)"),
        (
            {"tuning": (40, 45, 50, 55, 59, 109)},
            "tuning: highest open string as MIDI note: 109 (from 0 to 108)",
        ),
        ({"capo": -1}, "capo: capo at fret: -1 (from 0 to 18)"),
        ({"capo": 19}, "capo: capo at fret: 19 (from 0 to 18)"),
        ({"frets": 0}, "frets: frets: 0 (from 1 to 36)"),
        ({"frets": 37}, "frets: frets: 37 (from 1 to 36)"),
        ({"scale_mm": 199.9}, "scale_mm: scale in mm: 199.9 (from 200 to 1200)"),
        ({"scale_mm": math.nan}, "scale_mm: scale in mm: nan (from 200 to 1200)"),
        ({"scale_mm": math.inf}, "scale_mm: scale in mm: inf (from 200 to 1200)"),
        ({"nut_mm": 9}, "nut_mm: outer strings at the nut in mm: 9 (from 10 to 200)"),
        ({"saddle_mm": 201}, "saddle_mm: outer strings at the saddle in mm: 201 (from 10 to 200)"),
        ({"wound": frozenset({0, 4})}, "wound: lowest wound string: 0 (from 1 to 6)"),
        ({"wound": frozenset({4, 7})}, "wound: highest wound string: 7 (from 1 to 6)"),
    ],
)
def test_impossible_instruments_are_refused_with_the_limits(values: dict[str, object], line: str) -> None:
    with pytest.raises(ChangeoverError) as caught:
        Instrument(**values)  # type: ignore[arg-type]  # each case gives one field a value of its own type
    assert str(caught.value) == line


@pytest.mark.parametrize(
    "values",
    [
        {"tuning": (0, 12, 24, 36)},
        {"tuning": (40, 45, 50, 55, 59, 108)},
        {"capo": 18},
        {"frets": 1},
        {"frets": 36},
        {"scale_mm": 200},
        {"scale_mm": 1200},
        {"nut_mm": 10, "saddle_mm": 200},
        {"wound": frozenset({1, 6})},
    ],
)
def test_the_limits_themselves_are_possible(values: dict[str, object]) -> None:
    instrument = Instrument(**values)  # type: ignore[arg-type]  # each case gives one field a value of its own type
    assert instrument.top_fret >= 1
    assert instrument.point(instrument.strings, instrument.top_fret)[1] > 0
