"""Drill files: what is read, what is refused and where."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

import pytest

from trainer.files.drills import load, parse
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.plucked import Stroke
from trainer.fretboard.shape import Barre
from trainer.fretboard.stock import stock_shape
from trainer.fretboard.text import parse_shape
from trainer.hand.reach import HANDS
from trainer.practice.drill import Drill, Order, Segment, Step
from trainer.practice.record import Texture

BY_HAND = """\
# written by hand
title = "Two chords"

[[shapes]]
shape = "Am"   # the first

[[shapes]]
shape = "x 3/3 2/2 0 1/1 0"
label = "C"
"""


def good(text: str) -> Drill:
    drill, problems = parse(text, "a.toml")
    assert problems == ()
    assert drill is not None
    return drill


def bad(text: str) -> list[tuple[int | None, str | None, str, str | None]]:
    drill, problems = parse(text, "a.toml")
    assert drill is None
    assert {(problem.file, problem.warning) for problem in problems} == {("a.toml", False)}
    return [(problem.line, problem.key, problem.what, problem.hint) for problem in problems]


def with_shape(**keys: str) -> str:
    """A good drill whose second shape, from line 4, has `keys` given as TOML."""
    lines = "\n".join(f"{key} = {value}" for key, value in keys.items())
    return f'title = "T"\n[[shapes]]\nshape = "Am"\n[[shapes]]\n{lines}\n'


# Reading


def test_the_least_a_drill_needs_is_a_title_and_two_shapes() -> None:
    drill = good(BY_HAND)
    assert drill == Drill("Two chords", (Step(stock_shape("Am"), "Am"), Step(stock_shape("C"), "C")))


def test_every_key_is_read() -> None:
    drill = good(
        """\
        format = 1
        title = "All"
        about = "For a test."
        trains = ["kept fingers", "open string"]
        tuning = "D2 A2 D3 G3 B3 E4"
        capo = 2
        scale_mm = 640
        nut_mm = 42.5
        saddle_mm = 57
        frets = 18
        wound = [4, 5, 6]
        meter = "6/8"
        tempo = 72.5
        order = "once"
        credits = "Us"
        caution = "Mind the wrist"

        [[shapes]]
        shape = "1/1 3/3 (3/4) 2/2 1/1 x"
        barre = "1/1 6-1"
        label = "F"
        pluck = "1: 6p, 2.5: 3i 2m, 14/3: 2"
        melody = 2
        sounding_slide = true
        note = "gently"

        [[shapes]]
        shape = "x 0 2 2 1 0"
        beats = "7/2"
        texture = "rolled"

        [[segments]]
        name = "whole"
        from = 1
        to = 2
        """
    )
    assert drill == Drill(
        title="All",
        about="For a test.",
        trains=("kept fingers", "open string"),
        instrument=Instrument(
            tuning=(38, 45, 50, 55, 59, 64),
            capo=2,
            scale_mm=640.0,
            nut_mm=42.5,
            saddle_mm=57.0,
            frets=18,
            wound=frozenset({4, 5, 6}),
        ),
        meter=(6, 8),
        tempo=72.5,
        order=Order.ONCE,
        credits="Us",
        caution="Mind the wrist",
        steps=(
            Step(
                shape=parse_shape("1/1 3/3 (3/4) 2/2 1/1 x", "1/1 6-1"),
                label="F",
                beats=Fraction(6),
                strokes=(
                    Stroke(Fraction(1), (6,), ("p",)),
                    Stroke(Fraction(5, 2), (3, 2), ("i", "m")),
                    Stroke(Fraction(14, 3), (2,)),
                ),
                texture=Texture.FIGURE,
                melody=2,
                sounding_slide=True,
                note="gently",
            ),
            Step(parse_shape("x 0 2 2 1 0"), beats=Fraction(7, 2), texture=Texture.ROLLED),
        ),
        segments=(Segment("whole", 1, 2),),
    )
    assert drill.steps[0].shape.declared == (Barre(1, 1, 6, 1),)


def test_a_shape_lasts_a_bar_where_the_file_does_not_say() -> None:
    assert [step.beats for step in good('meter = "3/4"\n' + BY_HAND).steps] == [3, 3]


def test_texture_follows_the_number_of_strokes() -> None:
    one = good(with_shape(shape='"Am"', pluck='"1: 5 4"')).steps[1]
    two = good(with_shape(shape='"Am"', pluck='"1: 5, 2: 4"')).steps[1]
    assert (one.texture, two.texture) == (Texture.BLOCK, Texture.FIGURE)


def test_a_named_shape_takes_a_barre_and_another_label() -> None:
    step = good(with_shape(shape='"Dm7"', barre='"1/1 3-1"', label='"II"')).steps[1]
    assert (step.label, step.shape.barres) == ("II", (Barre(1, 1, 3, 1),))


@pytest.mark.parametrize(
    ("title", "read"),
    [
        (r'"\u001b[31mred"', "·[31mred"),
        (r'"[red]Red[/red]"', "[red]Red[/red]"),
        (r'"a\u202eb"', "a·b"),
        ('"""\nTwo\nlines\n"""', "Two lines"),
        (r'"\u0007"', "·"),
    ],
)
def test_texts_are_data_and_made_plain(title: str, read: str) -> None:
    assert good(BY_HAND.replace('"Two chords"', title)).title == read


# What is refused, and where


@pytest.mark.parametrize(
    ("keys", "key", "what", "hint"),
    [
        ({"shape": '"Amm"'}, "shape", "no shape is named 'Amm'", "did you mean Am?"),
        ({"shape": '"x 0 2 2 1"'}, "shape", "a shape of 5 strings on an instrument of 6", "one token for each"),
        ({"shape": '"x 0 2 2 1 20"'}, "shape", "fret 20 is off the neck", "highest is 19"),
        ({"shape": '"x 0 2/5 2 1 0"'}, "shape", "string 4 by finger 5", "from 1"),
        ({"shape": '"x 0 2y 2 1 0"'}, "shape", "'2y' is no string", "FRET/FINGER"),
        ({"shape": '"x x x x x x"'}, "shape", "no string of it is played", "one string at least"),
        ({"shape": "7"}, "shape", "must be text of at most 200 characters, not 7", "quotes"),
        ({"label": '"X"'}, "shape", "is missing", "Am"),
        ({"shape": '"F"', "barre": '"1/1 7-1"'}, "barre", "a barre from string 7 to 1", "within strings 6 to 1"),
        ({"shape": '"F"', "barre": '"all"'}, "barre", "'all' is no barre", "1/1 6-1"),
        ({"shape": '"Am"', "barre": '"1/1 5-1"'}, "barre", "string 1 is open under finger 1", "mute it"),
        ({"shape": '"Am"', "beats": "0"}, "beats", "must be more than 0", None),
        ({"shape": '"Am"', "beats": "-1"}, "beats", "'-1' is no number of beats", "4/3"),
        ({"shape": '"Am"', "beats": "1.333"}, "beats", "1.333 beats cannot be counted", "did you mean 4/3?"),
        ({"shape": '"Am"', "beats": "nan"}, "beats", "'nan' is no number of beats", "4/3"),
        ({"shape": '"Am"', "beats": "1e300"}, "beats", "'1e+300' is no number of beats", "4/3"),
        ({"shape": '"Am"', "beats": '"4/0"'}, "beats", "'4/0' is no number of beats", "4/3"),
        ({"shape": '"Am"', "beats": "true"}, "beats", "must be a number of beats, not true", None),
        ({"shape": '"Am"', "pluck": '"1: 6"'}, "pluck", "string 6 on beat 1 is muted (x)", "strings 1, 2, 3, 4, 5 can"),
        ({"shape": '"x 0 (2/2) 0 0 0"', "pluck": '"1: 4"'}, "pluck", "string 4 on beat 1 is held but silent", "can be"),
        ({"shape": '"Am"', "pluck": '"1: 9"'}, "pluck", "string 9 on beat 1 is not there", "can be"),
        ({"shape": '"Am"', "pluck": '"5: 4"'}, "pluck", "beat 5 lies outside the shape", "before beat 5"),
        ({"shape": '"Am"', "pluck": '"0.5: 4"'}, "pluck", "beat 0.5 lies outside the shape", "from beat 1"),
        ({"shape": '"Am"', "pluck": '"2: 4, 1: 5"'}, "pluck", "beat 1 comes after beat 2", "in order"),
        ({"shape": '"Am"', "pluck": '"1: 4 4"'}, "pluck", "string 4 is plucked twice on beat 1", "once"),
        ({"shape": '"Am"', "pluck": '"1: 4z"'}, "pluck", "'4z' is no plucked string", "p, i, m, a"),
        ({"shape": '"Am"', "pluck": '"1 4"'}, "pluck", "'1 4' is no stroke", "colon"),
        ({"shape": '"Am"', "pluck": '""'}, "pluck", "is empty", None),
        ({"shape": '"Am"', "melody": "6"}, "melody", "string 6 is not plucked", "strings 1, 2, 3, 4, 5 can be"),
        ({"shape": '"Am"', "melody": "11"}, "melody", "must be a whole number from 1 to 10, not 11", None),
        ({"shape": '"Am"', "texture": '"blok"'}, "texture", "must be 'block'", "did you mean 'block'?"),
        ({"shape": '"Am"', "sounding_slide": "1"}, "sounding_slide", "must be true or false, not 1", None),
        ({"shape": '"Am"', "beat": "3"}, "beat", "is not a key known here", "did you mean 'beats'?"),
        ({"shape": '"Am"', "label": f'"{"a" * 25}"'}, "label", "is too long: 25 characters of 24", None),
    ],
)
def test_a_slip_in_a_shape_is_told_at_its_line(keys: dict[str, str], key: str, what: str, hint: str | None) -> None:
    slip = key if key in keys else next(iter(keys))
    line = 5 + list(keys).index(slip)
    found = bad(with_shape(**keys))
    assert len(found) == 1
    told_line, told_key, told_what, told_hint = found[0]
    assert told_key == f"shapes[2].{key}"
    assert what in told_what
    assert told_line == (line if key in keys else 4)
    assert (hint or "") in (told_hint or "")


@pytest.mark.parametrize(
    ("line", "key", "what", "hint"),
    [
        ('tittle = "x"', "tittle", "is not a key known here", "did you mean 'title'?"),
        ("tempo = 0", "tempo", "must be a number from 10 to 400, not 0", None),
        ('tempo = "fast"', "tempo", "must be a number from 10 to 400, not the text 'fast'", None),
        ('meter = "4-4"', "meter", "'4-4' is no meter", "6/8"),
        ('meter = "4/5"', "meter", "'4/5' is no meter", "6/8"),
        ('order = "rings"', "order", "must be 'ring' or 'once'", "did you mean 'ring'?"),
        ('trains = ["guides"]', "trains[1]", "must be ", "did you mean 'guide'?"),
        ('tuning = "E2 A2 H3 G3 B3 E4"', "tuning", "'H3' is no note", "a letter"),
        ('tuning = "E2 A2 D3"', "tuning", "strings: 3", "from 4 to 10"),
        ("capo = 19", "capo", "capo at fret: 19", "from 0 to 18"),
        ("scale_mm = 65", "scale_mm", "must be a number from 200 to 1200, not 65", None),
        ("wound = [4, 7]", "wound", "highest wound string: 7", "from 1 to 6"),
        ("wound = [4, true]", "wound[2]", "must be a whole number from 1 to 10, not true", None),
        ("format = true", "format", "must be a whole number", None),
        ("segments = 3", "segments", "must be a list of tables, not 3", "[[segments]]"),
    ],
)
def test_a_slip_at_the_top_is_told_at_its_line(line: str, key: str, what: str, hint: str | None) -> None:
    found = bad(line + "\n" + BY_HAND)
    assert len(found) == 1
    assert found[0][:2] == (1, key)
    assert what in found[0][2]
    assert (hint or "") in (found[0][3] or "")


@pytest.mark.parametrize(
    ("keys", "key", "what"),
    [
        ('name = "a"\nfrom = 1\nto = 3', "to", "there is no shape 3"),
        ('name = "a"\nfrom = 2\nto = 2', "to", "shape 2 does not come after shape 2"),
        ('name = "a"\nfrom = 0\nto = 2', "from", "must be a whole number from 1"),
        ("from = 1\nto = 2", "name", "is missing"),
        ('name = "a"\nto = 2', "from", "is missing"),
    ],
)
def test_a_segment_lies_inside_the_drill(keys: str, key: str, what: str) -> None:
    found = bad(f"{BY_HAND}[[segments]]\n{keys}\n")
    assert len(found) == 1
    assert found[0][1] == f"segments[1].{key}"
    assert what in found[0][2]


def test_two_segments_have_two_names() -> None:
    segment = '[[segments]]\nname = "a"\nfrom = 1\nto = 2\n'
    assert [(line, key) for line, key, _, _ in bad(BY_HAND + segment * 2)] == [(15, "segments[2].name")]


def test_all_that_is_wrong_is_told_at_once_in_the_order_of_the_file() -> None:
    found = bad("""\
format = 1
tempos = 80
capo = "two"
[[shapes]]
shape = "Am"
beats = -2
pluck = "9: 4"
[[shapes]]
shape = "x 0 9"
melody = 0
[[segments]]
name = "a"
from = 1
to = 9
""")
    assert [(line, key) for line, key, _, _ in found] == [
        (None, "title"),
        (2, "tempos"),
        (3, "capo"),
        (6, "shapes[1].beats"),
        (9, "shapes[2].shape"),
        (10, "shapes[2].melody"),
        (14, "segments[1].to"),
    ]


def test_a_wrong_instrument_is_not_held_against_the_shapes() -> None:
    assert [key for _, key, _, _ in bad('tuning = "E2 A2 D3 G3"\ncapo = 40\n' + BY_HAND)] == ["capo"]


def test_named_shapes_are_for_strings_tuned_as_usual() -> None:
    em = BY_HAND.replace('"Am"', '"Em"')
    dropped = 'tuning = "D2 A2 D3 G3 B3 E4"\n'
    assert bad(dropped + em) == [
        (
            6,
            "shapes[1].shape",
            "the named shapes are for standard tuning",
            "write it string by string, as x 3/3 2/2 0 1/1 0",
        )
    ]
    assert good(dropped + BY_HAND).steps[0].label == "Am", "Am does not touch the string that is tuned down"
    assert good('tuning = "D2 G2 C3 F3 A3 D4"\n' + em).steps[0].label == "Em", "all strings a tone down"


@pytest.mark.parametrize(("shapes", "told"), [("", "0 shapes"), ('[[shapes]]\nshape = "Am"\n', "1 shape,")])
def test_a_change_needs_two_shapes(shapes: str, told: str) -> None:
    found = bad(f'title = "T"\n{shapes}')
    assert len(found) == 1
    assert found[0][2].startswith(told)


def test_a_newer_format_is_named_and_nothing_else_is_held_against_it() -> None:
    found = bad("format = 2\nnew = 1\n" + BY_HAND)
    assert [(line, key) for line, key, _, _ in found] == [(1, "format")]


def test_a_stretch_is_a_warning_and_the_drill_is_there() -> None:
    text = with_shape(shape='"x 1/1 x x x 7/4"')
    drill, problems = parse(text, "a.toml")
    assert drill is not None
    assert [(p.line, p.key, p.warning) for p in problems] == [(5, "shapes[2].shape", True)]
    assert "fingers 1 and 4 would be" in problems[0].what


def test_whose_reach_is_asked_decides_about_a_stretch() -> None:
    text = with_shape(shape='"x 1/1 x x x 5/4"')
    assert parse(text, "a", HANDS["adult"])[1] == ()
    assert [problem.warning for problem in parse(text, "a", HANDS["child"])[1]] == [True]


@pytest.mark.parametrize("name", ["missing.toml", "pipe.toml", "folder", "loop.toml", "huge.toml", "latin.toml"])
def test_what_is_no_readable_file_is_one_problem(tmp_path: Path, name: str) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "folder").mkdir()
    (tmp_path / "loop.toml").symlink_to(tmp_path / "loop.toml")
    (tmp_path / "huge.toml").write_text("#" * (1 << 21), encoding="utf-8")
    (tmp_path / "latin.toml").write_bytes(b'title = "\xe9"\n')
    drill, problems = load(tmp_path / name)
    assert drill is None
    assert [problem.file for problem in problems] == [str(tmp_path / name)]
