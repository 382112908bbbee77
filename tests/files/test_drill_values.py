"""Whatever values stand in a drill file, reading it tells problems and raises nothing."""

from __future__ import annotations

from typing import Any

import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.files.drills import KEYS, parse

SHAPE_KEYS = ("shape", "label", "barre", "beats", "pluck", "texture", "melody", "sounding_slide", "note")
SEGMENT_KEYS = ("name", "from", "to")
WORDS = st.sampled_from(
    ["Am", "x 0 2/2 2/3 1/1 0", "1/1 6-1", "1: 5p, 2: 3i", "E2 A2 D3 G3 B3 E4", "4/4", "3.5", "ring", "٣/4", "²", ""]
)
VALUES = st.recursive(
    WORDS | st.text(max_size=12) | st.integers(-(2**62), 2**62) | st.floats() | st.booleans() | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(SHAPE_KEYS + SEGMENT_KEYS), inner, max_size=3)
    ),
    max_leaves=6,
)
GOOD: dict[str, Any] = {
    "title": "T",
    "shapes": [{"shape": "Am"}, {"shape": "x 3/3 2/2 0 1/1 0", "pluck": "1: 5p, 2: 1a", "melody": 1}],
    "segments": [{"name": "all", "from": 1, "to": 2}],
}


@st.composite
def one_value_changed(draw: st.DrawFn) -> dict[str, Any]:
    """A good drill with one value of it, or one more key, drawn anew."""
    drill = {**GOOD, "shapes": [dict(shape) for shape in GOOD["shapes"]], "segments": [dict(GOOD["segments"][0])]}
    place, keys = draw(
        st.sampled_from([(drill, sorted(KEYS)), (drill["shapes"][1], SHAPE_KEYS), (drill["segments"][0], SEGMENT_KEYS)])
    )
    place[draw(st.sampled_from(keys))] = draw(VALUES)
    return drill


@settings(max_examples=300)
@given(st.dictionaries(st.sampled_from(sorted(KEYS)), VALUES, max_size=8) | one_value_changed())
def test_any_value_makes_a_drill_or_problems(values: dict[str, Any]) -> None:
    drill, problems = parse(tomlkit.dumps(values), "a.toml")
    assert (drill is None) == any(not problem.warning for problem in problems)
    assert all(problem.file == "a.toml" and "\n" not in str(problem) for problem in problems)


def test_the_drill_that_is_changed_is_good_itself() -> None:
    drill, problems = parse(tomlkit.dumps(GOOD), "a.toml")
    assert drill is not None
    assert problems == ()
