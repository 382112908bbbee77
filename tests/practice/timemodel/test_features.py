"""What a change has that costs time: literal changes, the source of each formula, and the first beliefs."""

from __future__ import annotations

import math

import pytest

from trainer.fretboard.instrument import Instrument
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import parse_shape
from trainer.hand.reach import HANDS, Hand
from trainer.hand.search.weights import TERMS
from trainer.practice.timemodel.features import COEFFICIENTS, DOUBT, FEATURES, FIRST, UNIT, features

GUITAR, HAND = Instrument(), Hand()


def of(before: str, after: str, hand: Hand = HAND) -> dict[str, float]:
    shapes = (parse_shape(STOCK.get(text, text)) for text in (before, after))
    found = features(*shapes, GUITAR, hand)
    assert found is not None
    return {name: amount for name, amount in zip(FEATURES, found, strict=True) if amount}


LITERAL = (
    ("Am", "C", {"kept": 2, "cross": 1}),
    ("G", "D", {"cross": 3}),
    ("Em", "Am", {"kept": 1, "cross": 1, "place": 1}),
    ("C", "F", {"kept": 2, "cross": 1, "place": 1, "laid": 1}),
    ("F", "Am", {"kept": 1, "cross": 2, "raised": 1}),
    # One finger slides from fret 2 to fret 4 of string 3, which is not wound: two frets of shift.
    ("x x x 2/1 x x", "x x x 4/1 x x", {"guide": 1, "shift": math.log2((4 - 2) / 1 + 1)}),
    # The same on a wound string.
    ("x x 2/1 x x x", "x x 4/1 x x x", {"guide": 1, "squeak": 1, "shift": math.log2((4 - 2) / 1 + 1)}),
)


@pytest.mark.parametrize(("before", "after", "has"), LITERAL)
def test_what_changes_have(before: str, after: str, has: dict[str, float]) -> None:
    assert of(before, after) == pytest.approx(has, rel=0.03)  # frets grow narrower, so two of them are not quite two


def test_a_shift_is_fitts_index_of_difficulty() -> None:
    # log2(D/W + 1) (MacKenzie 1992), both from frets at L(1 - 2^(-n/12)).
    def fret(number: int) -> float:
        return float(650 * (1 - 2 ** (-number / 12)))

    for start, end in ((1, 5), (9, 2), (3, 4)):
        found = of(f"x x x {start}/1 x x", f"x x x {end}/1 x x")
        index = math.log2(abs(fret(end) - fret(start)) / (fret(end) - fret(end - 1)) + 1)
        assert found["shift"] == pytest.approx(index)


def test_a_stretch_counts_beyond_the_comfort_of_this_hand() -> None:
    wide = "1/1 x x x 4/3 5/4"
    apart = 650 * (2 ** (-1 / 12) - 2 ** (-4 / 12)), 650 * (2 ** (-1 / 12) - 2 ** (-5 / 12))
    for hand in (HAND, HANDS["small"]):
        beyond = [max(mm - hand.comfort(1, finger), 0) for mm, finger in zip(apart, (3, 4), strict=True)]
        assert of("0 x x x 0 0", wide, hand)["stretch"] == pytest.approx(
            10 * sum(beyond) / hand.comfort(1, 4), rel=0.02
        )


def test_a_change_without_fingers_has_no_features() -> None:
    assert features(parse_shape("x32010"), parse_shape("x02210"), GUITAR, HAND) is None


def test_the_first_beliefs_are_the_plain_weights() -> None:
    for name, feature in FEATURES.items():
        assert feature.cost == pytest.approx(sum(TERMS[term].plain * share for term, share in feature.terms.items())), (
            name
        )
        assert FIRST[COEFFICIENTS.index(name)] == pytest.approx(feature.cost * UNIT)
    assert len(COEFFICIENTS) == len(FIRST) == len(DOUBT)
