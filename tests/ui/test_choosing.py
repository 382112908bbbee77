"""Choosing bars of a score without a screen: folders, values, cuts, who works and which outcome counts."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.scores.building import DATA, HEAD, document, measure, note
from tests.ui.drilling_fakes import HandClock
from trainer.errors import Problem
from trainer.ui.choosing.asked import MOST_BARS, Choosing, Field, choosing
from trainer.ui.choosing.folders import first_folder, listed, named
from trainer.ui.choosing.found import Found, opened, worked_out
from trainer.ui.choosing.words import field_texts, in_app, notes, shape_lines, strokes_of_bar, whose
from trainer.ui.working_out import CALM_S, WorkingOut

FIGURE = (("C3", 5, 3, 3), ("E3", 4, 2, 2), ("G3", 3, 0, 0), ("C4", 2, 1, 1))
"""The four strings of an open C, printed in full: pitch, string, fret, finger."""


def figure() -> str:
    return "".join(note(pitch, 4, string=string, fret=fret, finger=finger) for pitch, string, fret, finger in FIGURE)


def score_file(folder: Path, bars: int = 6) -> Path:
    path = folder / "figure.musicxml"
    other = note("F2", 16, string=6, fret=1, finger=1)
    texts = [measure(figure() if n % 2 else other, n, HEAD if n == 1 else "") for n in range(1, bars + 1)]
    path.write_text(document(*texts), encoding="utf-8")
    return path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return score_file(tmp_path)


@pytest.fixture
def chosen(path: Path) -> Choosing:
    return ready(path)


def ready(path: Path) -> Choosing:
    outcome = opened(path)
    assert isinstance(outcome, Choosing)
    return outcome


def test_a_folder_shows_the_way_up_then_folders_then_scores(tmp_path: Path) -> None:
    for name in ("b.MID", "a.musicxml", "notes.txt", ".hidden.xml"):
        (tmp_path / name).write_text("")
    (tmp_path / "Études").mkdir()
    shelf = listed(tmp_path)
    assert [item.name for item in shelf.items] == ["..", "Études/", "a.musicxml", "b.MID"]
    assert (shelf.scores, shelf.said) == (2, "")
    assert [item.name for item in shelf.fitting("MU a")] == ["a.musicxml"]
    assert listed(Path("/")).items[:1] != (("..", Path("/"), True),)


def test_names_that_would_steer_the_terminal_are_made_plain(tmp_path: Path) -> None:
    (tmp_path / "evil\x1b[2J.mid").write_text("")
    assert listed(tmp_path).items[-1].name == "evil·[2J.mid"


def test_a_folder_that_is_gone_is_told_and_leads_up(tmp_path: Path) -> None:
    shelf = listed(tmp_path / "gone")
    assert "no such file" in shelf.said
    assert [item.path for item in shelf.items] == [tmp_path]


def test_looking_begins_where_it_ended_else_with_the_music_else_at_home(tmp_path: Path) -> None:
    assert first_folder("", tmp_path) == tmp_path
    (tmp_path / "Music").mkdir()
    assert first_folder(str(tmp_path / "gone"), tmp_path) == tmp_path / "Music"
    assert first_folder(str(tmp_path), tmp_path / "other") == tmp_path


def test_only_a_whole_path_is_taken_for_one() -> None:
    assert (named("/tmp/a.mid"), named("a.mid"), named(" "), named("/a\0b")) == (Path("/tmp/a.mid"), None, None, None)
    assert named("~/x.mid") == Path(os.path.expanduser("~")) / "x.mid"


def test_the_first_bars_are_asked_for_and_the_ends_push_each_other(chosen: Choosing) -> None:
    assert chosen.bars == "bars 1 to 4"
    assert [text for text, _ in field_texts(chosen)] == ["from bar 1", "to bar 4"]
    late = chosen
    for _ in range(9):
        late = late.turned(1)
    assert late.bars == "bar 6"
    assert late.moved(1).turned(-1).turned(-1).bars == "bar 4"


def test_a_number_is_typed_digit_by_digit(tmp_path: Path) -> None:
    chosen = ready(score_file(tmp_path, 45))
    assert chosen.with_digit("4").with_digit("2").bars == "bar 42"
    assert chosen.with_digit("4").with_digit("9").bars == "bar 9"
    wide = chosen.moved(1).with_digit("4").with_digit("5")
    assert wide.asked.last - wide.asked.first == MOST_BARS - 1
    assert wide.bars == "bars 14 to 45"


def test_bars_whose_numbers_say_nothing_are_counted(path: Path) -> None:
    score = ready(path).score
    twice = replace(score, bars=tuple(replace(bar, number="1") for bar in score.bars))
    found = choosing(twice, "x")
    assert [bar.number for bar in found.score.bars] == ["1", "2", "3", "4", "5", "6"]
    assert any("counted from 1" in line for line in notes(None, found))


def test_parts_and_voices_are_offered_where_there_are_several() -> None:
    tabs = ready(DATA / "lilypond-suite" / "71e-TabStaves.xml")
    assert tabs.fields == (Field.FIRST, Field.LAST, Field.PART)
    second = tabs.moved(-1).turned(1)
    assert (second.field, second.asked.part) == (Field.PART, (tabs.asked.part + 1) % 8)
    both = ready(DATA / "lilypond-suite" / "71d-ChordsFrets-Multistaff.xml")
    assert Field.VOICE in both.fields


def test_printed_fingers_and_ours_are_told_apart(chosen: Choosing, path: Path, tmp_path: Path) -> None:
    found = worked_out(path, chosen)
    assert found.made is not None
    assert whose(found.made.runs[0]) == "1 2 3 printed"
    (mark, _, parts), *others = shape_lines(found, 0, 3)
    assert (mark, parts[0], parts[2].strip()) == (">", "  1  x 3/3 2/2 0 1/1 x", "1 2 3 printed")
    assert [line[0] for line in others] == [" ", " "]
    bare = tmp_path / "bare.musicxml"
    unfingered = [note("C3", 16) + note("E4", 16, chord=True), note("D3", 16) + note("F4", 16, chord=True)]
    bare.write_text(document(measure(unfingered[0], 1, HEAD), measure(unfingered[1], 2)), encoding="utf-8")
    ours = worked_out(bare, ready(bare))
    assert ours.made is not None
    assert all(whose(run).endswith("ours") for run in ours.made.runs)


def test_a_shape_is_split_at_a_stroke_and_joined_again(chosen: Choosing, path: Path) -> None:
    whole = worked_out(path, chosen)
    third = whole.strokes[2]
    assert third not in whole.begins
    bar, texts = strokes_of_bar(whole, third, fine=True)
    assert (bar, texts[0], texts[2]) == ("bar 1", ("●1", False), ("·3", True))
    cut = chosen.cut(whole.place(third), begins=True)
    split = worked_out(path, cut)
    assert split.begins == whole.begins | {third}
    assert (split.shape_at(third), split.shape_at(third - Fraction(1, 2))) == (1, 0)
    # The cut is a place in the score: it holds when other bars are taken.
    later = replace(cut, asked=replace(cut.asked, last=5))
    assert third in worked_out(path, later).begins
    joined = cut.cut(split.place(third), begins=False)
    assert worked_out(path, joined).begins == whole.begins
    assert joined.uncut().asked == chosen.asked


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"no score at all", "score.xml: is neither MusicXML nor a MIDI file"),
        (b"PK\x03\x04 no archive", "score.xml: "),
        (b"<score-partwise>", "score.xml:"),
        (b"MThd\0\0\0\6", "score.xml: "),
    ],
)
def test_a_bad_file_is_one_line(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "score.xml"
    path.write_bytes(content)
    outcome = opened(path)
    assert isinstance(outcome, Problem)
    line = in_app(outcome)
    assert line.startswith(said)
    assert "\n" not in line


def test_too_few_shapes_is_a_line_without_words_of_the_command_line(chosen: Choosing, path: Path) -> None:
    found = worked_out(path, chosen.moved(1).with_digit("1"))
    assert found.problem is not None
    assert in_app(found.problem) == "figure.musicxml: bar 1: only one shape (a drill needs two shapes: take more bars)"
    assert len(found.strokes) == 4


class Waiting(HandClock):
    """Works are done when the test says so."""

    def __init__(self) -> None:
        super().__init__()
        self.works: list[tuple[Callable[[], Any], Callable[[Any], None]]] = []

    def aside(self, work: Callable[[], Any], then: Callable[[Any], None]) -> None:
        self.works.append((work, then))

    def finish(self, index: int) -> None:
        work, then = self.works[index]
        then(work())


def test_only_the_newest_wish_is_answered_and_no_more_than_two_works_run(chosen: Choosing) -> None:
    clock, shown = Waiting(), list[Found]()
    desk = WorkingOut[Choosing, Found](clock, lambda: clock.now, lambda wish: Found(wish.asked), shown.append)
    wishes = [chosen, chosen.turned(1), chosen.turned(1).turned(1), chosen.moved(1).turned(1)]
    desk.ask(wishes[0])
    clock.turn(CALM_S / 2)
    desk.ask(wishes[1])
    clock.turn(CALM_S)
    assert len(clock.works) == 1
    for wish in wishes[2:]:
        desk.ask(wish)
        clock.turn(CALM_S)
    assert len(clock.works) == 2
    assert desk.waited == pytest.approx(CALM_S)
    clock.finish(0)
    assert (shown, len(clock.works)) == ([], 3)
    clock.finish(2)
    clock.finish(1)
    assert shown == [Found(wishes[3].asked)]
    assert desk.waited is None


def test_nobody_is_told_once_the_desk_is_left(chosen: Choosing) -> None:
    clock, shown = Waiting(), list[Found]()
    desk = WorkingOut[Choosing, Found](clock, lambda: clock.now, lambda wish: Found(wish.asked), shown.append)
    desk.ask(chosen)
    clock.turn(CALM_S)
    desk.leave()
    clock.finish(0)
    assert shown == []
