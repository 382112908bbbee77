"""Drill files written: the text form of strokes, new files, changes that keep comments."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings

from tests.files.test_drills import BY_HAND, good, with_shape
from tests.strategies import drills
from trainer.errors import ChangeoverError, Problem
from trainer.files.drill_text import print_drill, save, update
from trainer.files.drills import load, parse
from trainer.files.pluck import parse_beat, parse_meter, parse_strokes, print_beat, print_strokes
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.text import parse_shape
from trainer.practice.drill import Drill

# The text form of strokes


def test_strokes_of_a_figure_are_read() -> None:
    assert parse_strokes("1: 5p, 2: 3i 2m, 3.5: 1a, 13/3: 2") == (
        Stroke(Fraction(1), (5,), ("p",)),
        Stroke(Fraction(2), (3, 2), ("i", "m")),
        Stroke(Fraction(7, 2), (1,), ("a",)),
        Stroke(Fraction(13, 3), (2,)),
    )
    assert print_strokes(parse_strokes("1:5p,2.50 : 3 2m")) == "1: 5p, 2.5: 3 2m"


@pytest.mark.parametrize(
    ("beat", "text"), [(Fraction(3), "3"), (Fraction(7, 2), "3.5"), (Fraction(17, 8), "2.125"), (Fraction(4, 3), "4/3")]
)
def test_beats_are_written_as_players_count(beat: Fraction, text: str) -> None:
    assert print_beat(beat) == text
    assert parse_beat(text) == beat


def test_a_meter_is_two_numbers() -> None:
    assert (parse_meter("6/8"), parse_meter(" 12 / 8 ")) == ((6, 8), (12, 8))
    for text in ("", "4", "0/4", "4/0", "x/4", "4/3"):
        with pytest.raises(ChangeoverError, match="is no meter"):
            parse_meter(text)


# Writing


@settings(max_examples=60)
@given(drills())
def test_what_is_printed_reads_as_the_same_drill(drill: Drill) -> None:
    again, problems = parse(print_drill(drill), "a.toml")
    assert [problem for problem in problems if not problem.warning] == []
    assert again == drill


def test_a_new_file_explains_itself_and_leaves_out_the_usual(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    save(path, good(BY_HAND))
    text = path.read_text(encoding="utf-8")
    assert load(path) == (good(BY_HAND), ())
    assert text.startswith("# A drill")
    assert 'shape = "C"\n' in text
    assert "capo" not in text


def test_a_new_file_never_takes_the_place_of_an_old_one(tmp_path: Path) -> None:
    path = tmp_path / "old.toml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(ChangeoverError, match="is there already"):
        save(path, good(BY_HAND))
    (tmp_path / "link.toml").symlink_to(tmp_path / "nowhere.toml")
    with pytest.raises(ChangeoverError, match="is there already"):
        save(tmp_path / "link.toml", good(BY_HAND))
    assert path.read_text(encoding="utf-8") == "mine"
    assert not (tmp_path / "nowhere.toml").exists()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"title": ""}, "title: is empty"),
        ({"title": " blank ahead"}, "would not be the same"),
        ({"title": "two\nlines"}, "would not be the same"),
        ({"tempo": float("inf")}, "tempo: must be a number from 10 to 400, not infinity"),
        ({"about": "x" * 500}, "about: is too long"),
    ],
)
def test_what_a_file_could_not_hold_is_not_written(tmp_path: Path, change: dict[str, object], told: str) -> None:
    path = tmp_path / "new.toml"
    with pytest.raises(ChangeoverError, match=told):
        save(path, replace(good(BY_HAND), **change))  # type: ignore[arg-type]  # the field is a parameter here
    assert not path.exists()


def test_changing_values_keeps_comments_and_layout(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(BY_HAND, encoding="utf-8")
    update(path, {"tempo": 72, ("shapes", 0, "shape"): "x 0 2/2 2/3 1/1 x", ("shapes", 1, "label"): None})
    text = path.read_text(encoding="utf-8")
    assert "# written by hand\n" in text
    assert "# the first" in text
    drill = good(text)
    assert (drill.tempo, drill.steps[0].shape) == (72.0, parse_shape("x 0 2/2 2/3 1/1 x"))
    assert [step.label for step in drill.steps] == ["", ""]


@pytest.mark.parametrize(
    ("change", "key"),
    [({"tempo": 9000}, "tempo"), ({("shapes", 0, "shape"): "Hm"}, "shapes[1].shape"), ({"titel": "x"}, "titel")],
)
def test_a_change_that_would_spoil_the_file_is_refused(tmp_path: Path, change: dict[str, object], key: str) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(BY_HAND, encoding="utf-8")
    with pytest.raises(ChangeoverError) as caught:
        update(path, change)  # type: ignore[arg-type]  # the mapping's keys are of both kinds
    assert [problem.key for problem in caught.value.problems] == [key]
    assert path.read_text(encoding="utf-8") == BY_HAND


def test_a_problem_prints_as_one_line_with_file_line_key_and_hint() -> None:
    _, problems = parse(with_shape(shape='"Am"', melody="6"), "mine.toml")
    assert [str(problem) for problem in problems] == [
        "mine.toml:6: shapes[2].melody: string 6 is not plucked (strings 1, 2, 3, 4, 5 can be)"
    ]
    assert isinstance(problems[0], Problem)
