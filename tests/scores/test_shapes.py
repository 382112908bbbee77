"""From notes to shapes: what is gathered, what is one finger's change, what is ours, and what the player cuts."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.scores.building import HEAD, STANDARD_TUNING, measure, note, score
from trainer.errors import ChangeoverError
from trainer.fretboard.text import print_shape
from trainer.hand.search.fingering import Fingering
from trainer.hand.search.passage import Passage
from trainer.practice.drill import Drill
from trainer.practice.record import Texture
from trainer.scores.drilling import Made, drill_of
from trainer.scores.excerpt import excerpt
from trainer.scores.parts import chosen_part
from trainer.scores.score import Score

AM = [("A2", 5, 0, 0), ("E3", 4, 2, 2), ("A3", 3, 2, 3), ("C4", 2, 1, 1)]
DM = [("D3", 4, 0, 0), ("A3", 3, 2, 2), ("D4", 2, 3, 3), ("F4", 1, 1, 1)]
"""(pitch, string, fret, finger)."""


def unasked(passage: Passage) -> Fingering:
    raise AssertionError("nothing is missing, so nothing is to be sought")


def made(read: Score, *, finger: object = None, **chosen: object) -> Made:
    part, _ = chosen_part(read, None, "x")
    taken = excerpt(read, part, "x", **chosen)  # type: ignore[arg-type]  # keywords of the test's own
    return drill_of(read, taken, "x", **({} if finger is None else {"finger": finger}))  # type: ignore[arg-type]


def shapes(drill: Drill) -> list[str]:
    return [print_shape(step.shape) for step in drill.steps]


def figure(chord: list[tuple[str, int, int, int]], each: int = 4) -> str:
    return "".join(note(pitch, each, string=string, fret=fret, finger=finger) for pitch, string, fret, finger in chord)


def block(chord: list[tuple[str, int, int, int]], length: int = 16, more: str = "") -> str:
    return "".join(
        note(pitch, length, string=string, fret=fret, finger=finger, chord=index > 0, more=more)
        for index, (pitch, string, fret, finger) in enumerate(chord)
    )


def test_arpeggios_are_gathered_and_cut_at_the_bar() -> None:
    found = made(score(measure(figure(AM), 1, HEAD), measure(figure(DM), 2)), finger=unasked).drill
    assert shapes(found) == ["x 0 2/2 2/3 1/1 x", "x x 0 2/2 3/3 1/1"]
    assert [[(float(s.beat), s.strings) for s in step.strokes] for step in found.steps] == [
        [(1.0, (5,)), (2.0, (4,)), (3.0, (3,)), (4.0, (2,))],
        [(1.0, (4,)), (2.0, (3,)), (3.0, (2,)), (4.0, (1,))],
    ]
    assert {step.texture for step in found.steps} == {Texture.FIGURE}
    assert found.about == "Fingered as printed."


def test_a_cut_goes_to_the_bar_line_though_the_first_notes_would_fit_the_shape_before() -> None:
    """E bass and its octave could still be had with A minor's fingers down; the harmony changes with the bar."""
    em = [("E2", 6, 0, 0), ("E3", 4, 2, 2), ("G3", 3, 0, 0), ("B3", 2, 0, 0)]
    found = made(score(measure(figure(AM), 1, HEAD), measure(figure(em), 2)), finger=unasked).drill
    assert [step.beats for step in found.steps] == [4, 4]
    assert shapes(found) == ["x 0 2/2 2/3 1/1 x", "0 x 2/2 0 0 x"]


def test_blocks_and_rolled_chords() -> None:
    roll = "<arpeggiate/>"
    found = made(score(measure(block(AM), 1, HEAD), measure(block(DM, more=roll), 2)), finger=unasked).drill
    assert [step.texture for step in found.steps] == [Texture.BLOCK, Texture.ROLLED]
    assert [step.strokes for step in found.steps] == [(), ()]
    assert [step.label for step in found.steps] == ["Am", "Dm"]


def test_a_melody_over_a_held_chord_changes_one_finger_at_a_time() -> None:
    upper = note("E4", 8, string=1, fret=0, finger=0) + note("G4", 8, string=1, fret=3, finger=4)
    lower = block(AM).replace("<voice>1", "<voice>2")
    bar = upper + "<backup><duration>16</duration></backup>" + lower
    found = made(score(measure(bar, 1, HEAD)), finger=unasked).drill
    assert shapes(found) == ["x 0 2/2 2/3 1/1 0", "x 0 2/2 2/3 1/1 3/4"]
    assert [step.melody for step in found.steps] == [1, 1]
    assert [[(s.beat, s.strings) for s in step.plucked.strokes] for step in found.steps] == [
        [(1, (5, 4, 3, 2, 1))],
        [(1, (1,))],
    ]


def test_a_finger_that_comes_back_stays_down() -> None:
    """The inner note is over as written, and struck again the same way two beats later: it is not lifted between."""
    line = (
        note("C4", 4, string=2, fret=1, finger=1) + note("F4", 4, string=1, fret=1, finger=2)
        + note("G4", 4, string=1, fret=3, finger=4) + note("C4", 4, string=2, fret=1, finger=1)
    )  # fmt: skip
    found = made(score(measure(line, 1, HEAD)), finger=unasked).drill
    assert shapes(found) == ["x x x x 1/1 1/2", "x x x x 1/1 3/4"]


def test_one_finger_is_not_asked_to_be_in_two_places() -> None:
    line = note("C4", 8, string=2, fret=1, finger=1) + note("F4", 8, string=1, fret=1, finger=1)
    found = made(score(measure(line, 1, HEAD), measure(line, 2)), finger=unasked).drill
    assert all(len(step.shape.barres) == 0 for step in found.steps)
    assert len(found.steps) == 4


def test_the_player_splits_and_joins() -> None:
    read = score(measure(figure(AM), 1, HEAD), measure(figure(DM), 2))
    part, _ = chosen_part(read, None, "x")
    taken = excerpt(read, part, "x")
    split = drill_of(read, taken, "x", split=frozenset({Fraction(2)})).drill
    assert [step.beats for step in split.steps] == [2, 2, 4]
    em = [("E2", 6, 0, 0), ("E3", 4, 2, 2), ("G3", 3, 0, 0), ("B3", 2, 0, 0)]
    read = score(measure(figure(AM), 1, HEAD), measure(figure(em), 2))
    taken = excerpt(read, part, "x") if (part := read.parts[0]) else taken
    joined = drill_of(read, taken, "x", join=frozenset({Fraction(4)})).drill
    assert [step.beats for step in joined.steps] == [5, 3], "the cut moves to where the next bass is"


def test_missing_fingers_are_sought_and_said_to_be_ours_and_printed_ones_kept() -> None:
    bare = [(pitch, string, fret, None) for pitch, string, fret, _ in AM]
    half = [*bare[:3], ("C4", 2, 1, 1)]
    bars = measure("".join(note(p, 4, string=s, fret=f, finger=g) for p, s, f, g in half), 1, HEAD)
    found = made(score(bars, measure(figure(DM), 2)))
    first = found.drill.steps[0]
    assert first.shape.fingered
    assert first.shape[2] is not None
    assert first.shape[2].finger == 1
    assert first.note == "Bar 1; fingers 2 3 by the program."
    assert found.drill.steps[1].note == "Bar 2."
    assert found.drill.about == "4 of 6 fingers as printed, the others are the program's."


def test_pitches_alone_are_enough() -> None:
    notes = "".join(note(pitch, 16, chord=index > 0) for index, pitch in enumerate(("C3", "E3", "G3", "C4", "E4")))
    again = "".join(
        note(pitch, 16, chord=index > 0) for index, pitch in enumerate(("G2", "B2", "D3", "G3", "B3", "F4"))
    )
    found = made(score(measure(notes, 1, HEAD), measure(again, 2))).drill
    frets = [[None if stop is None else stop.fret for stop in step.shape.stops] for step in found.steps]
    assert frets == [[None, 3, 2, 0, 1, 0], [3, 2, 0, 0, 0, 1]]
    assert all(step.shape.fingered for step in found.steps)
    assert found.about == "All fingers are the program's."
    assert [step.label for step in found.steps] == ["C", "G7"]


def test_a_printed_finger_that_cannot_be_is_let_go_with_a_word() -> None:
    wrong = [("C3", 5, 3, 1), ("E3", 4, 2, 1), ("C4", 2, 1, 1)]
    found = made(score(measure(block(wrong), 1, HEAD), measure(block(DM), 2)))
    assert "bar 1, quarter 1: printed fingers let go, for they cannot be held together" in found.said
    assert found.drill.steps[0].shape.fingered


def test_print_that_is_not_used_is_told_of() -> None:
    """Finger 3 on the lowest open string, string 1 for a note below it, and two fingers one after the other."""
    two = "<technical><fingering>1</fingering><fingering substitution='yes'>2</fingering></technical>"
    bar = note("E2", 8, finger=3) + note("C4", 4, string=1) + note("F4", 4, string=1, fret=1, more=two)
    said = made(score(measure(bar, 1, HEAD), measure(figure(DM), 2))).said
    assert [text for text in said if "first in bar 1" in text] == [
        "1 printed fingers contradict their note and are left out (first in bar 1)",
        "1 printed strings do not have their note and are left out (first in bar 1)",
        "1 notes change finger while they sound: the first finger is taken (first in bar 1)",
    ]


def test_a_note_below_the_instrument_is_refused_with_its_bar() -> None:
    read = score(measure(figure(AM), 1, HEAD), measure(note("C2", 16), 2))
    with pytest.raises(ChangeoverError, match=r"bar 2.*C2.*lower than the lowest string"):
        made(read)


def test_a_bowed_part_is_refused_for_its_fingers_mean_something_else() -> None:
    with pytest.raises(ChangeoverError, match="bowed"):
        made(score(measure(note("E5", 16, string=1, finger=0), 1, HEAD), name="Violin I"))


def linked(shift: int) -> str:
    """Return two staves that say the same: notation `shift` octaves above what the tablature sounds."""
    notation = note("C4", 16).replace("<octave>4", f"<octave>{4 + shift}")
    more = note("E4", 16, voice=2).replace("<octave>4", f"<octave>{4 + shift}")
    back = "<backup><duration>16</duration></backup>"
    tab = note("C4", 16, string=2, fret=1, voice=5, staff=2) + note(
        "E4", 16, string=1, fret=0, chord=True, voice=5, staff=2
    )
    return notation + back + more + back + tab


@pytest.mark.parametrize("shift", [0, 1])
def test_notation_and_linked_tablature_are_counted_once_whatever_octave_the_notation_is_in(shift: int) -> None:
    staves = f"<clef number='2'><sign>TAB</sign></clef><staff-details number='2'>{STANDARD_TUNING}</staff-details>"
    read = score(measure(linked(shift), 1, HEAD + staves))
    part, _ = chosen_part(read, None, "x")
    taken = excerpt(read, part, "x", bars="1")
    assert [(tone.midi, tone.printed.string, tone.printed.fret) for tone in taken.tones] == [(60, 2, 1), (64, 1, 0)]
    assert "2 notes stand in two staves and are counted once" in taken.said


def test_open_strings_say_that_the_notes_are_written_an_octave_up() -> None:
    opened = [("E5", 0), ("B4", 0), ("F5", 1), ("C5", 1)]
    bar = "".join(note(pitch, 4, finger=finger) for pitch, finger in opened)
    read = score(measure(bar, 1, HEAD))
    taken = excerpt(read, read.parts[0], "x")
    assert [tone.midi for tone in taken.tones] == [64, 59, 65, 60]
    assert [tone.midi for tone in excerpt(read, read.parts[0], "x", octave=0).tones] == [76, 71, 77, 72]


def test_ties_join_across_the_bar_and_repeats_are_followed_on_request() -> None:
    start = note("E4", 16, string=1, fret=0).replace("<voice>", "<tie type='start'/><voice>")
    stop = note("E4", 16, string=1, fret=0).replace("<voice>", "<tie type='stop'/><voice>")
    end = "<barline location='right'><repeat direction='backward'/></barline>"
    read = score(measure(start, 1, HEAD), measure(stop + end, 2))
    written = excerpt(read, read.parts[0], "x").tones
    assert [(float(tone.onset), float(tone.duration)) for tone in written] == [(0.0, 8.0)]
    twice = excerpt(read, read.parts[0], "x", as_played=True).tones
    assert [(float(tone.onset), float(tone.duration)) for tone in twice] == [(0.0, 8.0), (8.0, 8.0)]


def test_bars_and_voices_are_chosen_by_their_printed_names() -> None:
    read = score(measure(figure(AM), 1, HEAD), measure(figure(DM), 2), measure(figure(AM), 3))
    assert made(read, bars="2-3", finger=unasked).drill.title == "A score, bars 2 to 3"
    for bars in ("9", "3-2", "1-9", "x y"):
        with pytest.raises(ChangeoverError):
            made(read, bars=bars)
    with pytest.raises(ChangeoverError, match="no voice 7"):
        made(read, voices=["7"])


def test_six_eight_counts_in_eighths() -> None:
    attributes = HEAD.replace("<beats>4</beats><beat-type>4", "<beats>6</beats><beat-type>8")
    tempo = "<direction><sound tempo='60'/></direction>"
    found = made(score(measure(tempo + block(AM, 12), 1, attributes), measure(block(DM, 12), 2)), finger=unasked).drill
    assert (found.meter, found.tempo, [float(step.beats) for step in found.steps]) == ((6, 8), 120.0, [6.0, 6.0])
