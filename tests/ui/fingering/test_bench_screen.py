"""The fingering bench as a player meets it: what stands on the screen in three sizes, and what keys and mouse do."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from threading import Event

import pytest
from textual.pilot import Pilot

from tests.ui.app_fakes import app, rows, running_text, services, shows, until
from trainer.files import paths
from trainer.files.drills import load
from trainer.fretboard.text import print_shape
from trainer.hand.hold import trouble
from trainer.hand.reach import Hand
from trainer.log.writer import Log
from trainer.practice.drill import Drill
from trainer.practice.quick import from_shapes
from trainer.ui.fingering.bench import Bench
from trainer.ui.fingering.ways import OTHERWISE, Outcome, sought
from trainer.ui.screens.bench import BenchScreen
from trainer.ui.widgets.fingerings import Shapes, Ways
from trainer.ui.widgets.prompt import Prompt
from trainer.ui.widgets.words import Words

SIZES = [(80, 24), (120, 40), (60, 20)]
SIZE = pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
NAMES = ["Am", "C", "D7", "G"]
FOUND = "drills this way"


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


@pytest.fixture
def drill() -> Drill:
    drill = from_shapes(NAMES)
    return replace(drill, title="Four chords")


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Event:
    """Return what searches wait at, twenty seconds at most; it stands open."""
    opened = Event()
    opened.set()

    def slow(*given: object) -> Outcome:
        opened.wait(20)
        return sought(*given)  # type: ignore[arg-type]  # passed on as they came

    monkeypatch.setattr("trainer.ui.screens.bench.sought", slow)
    return opened


TOO_WIDE = from_shapes(["C", "1 x x x x 9", "G"])


def screen(pilot: Pilot[None]) -> BenchScreen:
    found = pilot.app.screen
    assert isinstance(found, BenchScreen)
    return found


def bench(pilot: Pilot[None]) -> Bench:
    found = screen(pilot)._bench
    assert found is not None
    return found


def outcome(pilot: Pilot[None]) -> Outcome:
    found = screen(pilot)._outcome
    assert found is not None
    return found


def part(pilot: Pilot[None], kind: type[Shapes | Ways | Words | Prompt]) -> list[str]:
    """Return the rows of one widget."""
    region = screen(pilot).query_one(kind).region
    return [row[region.x : region.right].rstrip() for row in rows(pilot)[region.y : region.bottom]]


def columns(pilot: Pilot[None]) -> list[list[str]]:
    """Return the rows of each way on the screen, found by where the heads begin."""
    lines = part(pilot, Ways)
    starts = [match.start() for match in re.finditer(r"[▸> ]\d (?=written|set|best|other|taken)", lines[0])]
    ends = [*starts[1:], None]
    return [[line[start:end].rstrip() for line in lines] for start, end in zip(starts, ends, strict=True)]


def whole(pilot: Pilot[None]) -> None:
    """Hold that nothing on the screen is cut, lies over another thing or is left without its words."""
    shown = screen(pilot)
    visible = [widget for widget in shown.children if widget.display and widget.region]
    for one, other in combinations(visible, 2):
        assert not one.region.intersection(other.region), (one, other)
    assert all(shown.region.contains_region(widget.region) for widget in visible)
    (prompt,) = part(pilot, Prompt)
    _, text, brief = shown.query_one(Prompt)._said
    assert text
    assert prompt.endswith((text, brief) if brief else text), prompt
    told, message, _, hint = shown.query_one(Words)._said
    said = " ".join(" ".join(part(pilot, Words)).split())
    assert said.endswith(message), said
    head = said.removesuffix(message or hint).strip().removesuffix("; ...")
    assert told.startswith(head)
    assert head or not told or message, said
    if outcome(pilot).columns:
        for name, index in zip(columns(pilot), shown_ways(pilot), strict=True):
            assert name[0].strip("▸> ").startswith(f"{index + 1} {outcome(pilot).columns[index].name}")
        assert not any("..." in line for line in part(pilot, Ways))


def shown_ways(pilot: Pilot[None]) -> list[int]:
    """Return which ways are on the screen, counted from 0."""
    return [int(column[0].strip("▸> ")[0]) - 1 for column in columns(pilot)]


def looked_at(pilot: Pilot[None]) -> int:
    (mark,) = (column for column in columns(pilot) if column[0][0] in "▸>")
    return int(mark[0][1]) - 1


async def found(pilot: Pilot[None]) -> None:
    """Wait until what is asked is answered."""
    await until(pilot, lambda: screen(pilot)._waited is None and screen(pilot)._outcome is not None)
    await until(pilot, lambda: not shows(pilot, "Looking for ways"))


@SIZE
@pytest.mark.parametrize("glyphs", ["unicode", "ascii"])
async def test_the_passage_and_its_ways_stand_side_by_side(
    log: Log, drill: Drill, size: tuple[int, int], glyphs: str
) -> None:
    async with app(services(log, glyphs=glyphs), "bench", drill=drill).run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        for at in range(len(NAMES)):
            whole(pilot)
            names = [f"[{name}]" if index == at else name for index, name in enumerate(NAMES)]
            assert part(pilot, Shapes)[0].split() == names
            assert shows(pilot, f"shape {at + 1} of 4")
            ways = shown_ways(pilot)
            assert len(ways) == (4 if size[0] >= 80 else 3)
            differs = "/" if glyphs == "ascii" else "≠"
            for index, (head, frets, fingers, cost, total) in zip(ways, columns(pilot), strict=True):
                way = outcome(pilot).columns[index]
                shape = way.drill.steps[at].shape
                stops = [shape[string] for string in range(6, 0, -1)]
                assert frets.split() == ["x" if stop is None else str(stop.fret) for stop in stops]
                assert fingers.split() == [str(stop.finger) for stop in stops if stop is not None and stop.finger]
                assert cost.endswith(f" {way.costs[at]:.1f}")
                assert total.endswith(f"{way.total:.1f}, worst {max(way.costs):.1f}")
                # Signs, not colours, tell which ways differ from the first one here.
                first = outcome(pilot).columns[0].drill.steps[at].shape
                assert head.endswith(differs) == (shape != first)
            marks = part(pilot, Shapes)[1]
            assert marks.count(differs) == len(outcome(pilot).apart)
            await pilot.press("right")
            await pilot.pause()


@SIZE
async def test_bars_are_as_long_as_what_they_cost_and_the_words_say_why(
    log: Log, drill: Drill, size: tuple[int, int]
) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        await pilot.press("right")
        await until(pilot, lambda: shows(pilot, "[C]"))
        lines = [column[3] for column in columns(pilot)]
        costs = [outcome(pilot).columns[index].costs[1] for index in shown_ways(pilot)]
        lengths = [sum(line.count(sign) for sign in "▏▎▍▌▋▊▉█") for line in lines]
        assert len(set(costs)) > 1
        ordered = sorted(zip(costs, lengths, strict=True))
        assert [length for _, length in ordered] == sorted(lengths)
        assert lengths[costs.index(max(costs))] > lengths[costs.index(min(costs))]
        clause = outcome(pilot).columns[0].reasons(1)[0]
        assert f"1 written: {clause.words} {clause.cost:+.1f}" in running_text(pilot)


async def test_one_goes_along_the_neck_and_to_where_ways_differ(log: Log, drill: Drill) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        seen = []
        for key in ("right", "space", "l", "pagedown", "left", "h"):
            await pilot.press(key)
            seen.append(bench(pilot).at)
        assert seen == [1, 2, 3, 3, 2, 1]
        apart = sorted(outcome(pilot).apart)
        assert apart
        await pilot.press("n")
        assert bench(pilot).at == next((at for at in apart if at > 1), apart[0])
        for key, way in (("3", 2), ("up", 1), ("down", 2), ("1", 0), ("4", 3), ("down", 3)):
            await pilot.press(key)
            await until(pilot, lambda way=way: looked_at(pilot) == way)  # type: ignore[misc]  # bound to this turn
            whole(pilot)


async def test_in_a_narrow_window_the_way_looked_at_stands_beside_the_first(log: Log, drill: Drill) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(60, 20)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        assert shown_ways(pilot) == [0, 1, 2]
        await pilot.press("4")
        await until(pilot, lambda: shown_ways(pilot) == [0, 2, 3])
        assert looked_at(pilot) == 3
        whole(pilot)


@SIZE
async def test_a_shape_is_set_stays_so_in_every_way_and_is_let_go(
    log: Log, drill: Drill, size: tuple[int, int]
) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        await pilot.press("right", "right", "p")
        await found(pilot)
        whole(pilot)
        assert "■" in part(pilot, Shapes)[1]
        assert all(column[2].count("■") == 4 for column in columns(pilot))
        held = bench(pilot).drill.steps[2].shape
        assert {way.drill.steps[2].shape for way in outcome(pilot).columns} == {held}
        if size != (60, 20):
            assert shows(pilot, "4 notes set ■")
        await pilot.press("p")
        await found(pilot)
        assert not bench(pilot).asked.pins
        await pilot.press("u")
        await found(pilot)
        assert len(bench(pilot).asked.pins) == 4
        await pilot.press("backspace")
        await found(pilot)
        assert not any("■" in row for row in rows(pilot) if "set" not in row)
        await pilot.press("u")
        await until(pilot, lambda: shows(pilot, "Nothing to undo."))


async def test_one_note_gets_another_finger_and_only_what_must_move_moves(log: Log, drill: Drill) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        await pilot.press("f")
        await until(pilot, lambda: shows(pilot, "TAB chooses a note of the shape first."))
        await pilot.press("right", "tab")
        await until(pilot, lambda: shows(pilot, "▸3 2 0 1 0", "P sets this note, F another finger"))
        (before,) = {each.shape for each in bench(pilot).drill.steps[:1]}
        await pilot.press("f")
        await found(pilot)
        whole(pilot)
        assert columns(pilot)[0][2].count("■") == 0  # that is as it was written
        # The way that was looked at is still looked at, with 4 for 3 in C and all else as it was; the best one is not.
        way = outcome(pilot).columns[looked_at(pilot)]
        assert way.name.startswith("set")
        assert [print_shape(step.shape) for step in way.drill.steps] == [
            print_shape(step.shape).replace("3/3 2/2", "3/4 2/2") for step in bench(pilot).drill.steps
        ]
        assert before == way.drill.steps[0].shape
        assert shows(pilot, "1 note set ■")


async def test_a_way_is_taken_over_into_the_drill_and_back_again(log: Log, drill: Drill) -> None:
    async with app(services(log), "drill", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, "Four chords"))
        await pilot.press("f")
        await until(pilot, lambda: shows(pilot, FOUND))
        await pilot.press("2")
        way = outcome(pilot).columns[1]
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, f"Four chords{OTHERWISE}", "change 1 of"))
        await pilot.press("escape")
        await until(pilot, lambda: shows(pilot, "1 taken"))
        await found(pilot)
        assert outcome(pilot).columns[0].drill.steps == way.drill.steps
        whole(pilot)
        await pilot.press("u")
        await until(pilot, lambda: shows(pilot, "1 written"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "Four chords", "change 1 of") and not shows(pilot, OTHERWISE))


async def test_a_way_is_kept_as_a_drill_that_can_be_held(log: Log, drill: Drill) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        way = outcome(pilot).columns[1]
        await pilot.press("2", "w")
        await until(pilot, lambda: shows(pilot, "Kept among your drills as"))
        whole(pilot)
    (path,) = paths.drills_dir().iterdir()
    kept, problems = load(path)
    assert kept is not None
    assert (kept.steps, problems) == (way.drill.steps, ())
    assert not [one for step in kept.steps for one in trouble(step.shape, kept.instrument, Hand())]


@SIZE
async def test_whose_weights_count_is_seen_and_their_word_makes_room_for_reasons(
    log: Log, drill: Drill, size: tuple[int, int]
) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND, "any hand"))
        await pilot.press("right", "s")
        await found(pilot)
        assert shows(pilot, "as editions print")
        whole(pilot)
        await pilot.press("s")
        await found(pilot)
        await until(pilot, lambda: "so these are any hand's weights." in running_text(pilot))
        assert shows(pilot, "your own times")
        whole(pilot)
        await pilot.press("right")
        await until(pilot, lambda: bool(re.search(r"1 written: \w", running_text(pilot))))
        whole(pilot)
        await pilot.press("a", "o")
        await found(pilot)
        whole(pilot)
        assert bench(pilot).asked.aim == "the worst change easy"


@SIZE
async def test_what_no_hand_takes_is_named_and_the_screen_lives_on(log: Log, size: tuple[int, int]) -> None:
    async with app(services(log), "bench", drill=TOO_WIDE).run_test(size=size) as pilot:
        await found(pilot)
        said = "Shape 2, F2 C#5: the fingers would be further apart than this hand reaches; leave out F2."
        assert said in running_text(pilot)
        assert shows(pilot, "shape 2 of 3", "lets other strings be taken, or not; ESC goes back.")
        assert part(pilot, Shapes)[1].strip() == "✗"
        assert part(pilot, Shapes)[1].index("✗") == part(pilot, Shapes)[0].index("[") + 1
        whole(pilot)
        # Nothing that needs a way finds one, and nothing of that is an end.
        await pilot.press(*"1234pfntw", "enter", "down", "up", "tab", "f", "left", "right", "u")
        await pilot.press("s", "a")
        await found(pilot)
        assert said in running_text(pilot)
        assert shows(pilot, "U  goes back to what was asked before.")
        whole(pilot)


async def test_fingers_set_that_no_hand_has_are_told_and_taken_back(log: Log, drill: Drill) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        # Finger 3 holds string 5 of C; set for string 4 too, it would lie at two frets.
        await pilot.press("right", "p")
        await found(pilot)
        await pilot.press("tab", "tab", "f")
        await found(pilot)
        assert "Shape 2, " in running_text(pilot)
        assert shows(pilot, "U  goes back to what was asked before.", "1 written")
        whole(pilot)
        await pilot.press("u")
        await found(pilot)
        assert shows(pilot, "P sets this note, F another finger")
        assert not outcome(pilot).problem


async def test_the_mouse_does_what_keys_do(log: Log, drill: Drill) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        at = part(pilot, Shapes)[0].index("D7") + 1
        await pilot.click(Shapes, offset=(at, 0))
        await until(pilot, lambda: shows(pilot, "[D7]", "shape 3 of 4"))
        await pilot.click(Ways, offset=(part(pilot, Ways)[0].index("3 other") + 2, 1))
        await until(pilot, lambda: looked_at(pilot) == 2)
        for label, holds in (
            ("p set", lambda: bool(bench(pilot).asked.pins)),
            ("u undo", lambda: not bench(pilot).asked.pins),
            ("s weights", lambda: bench(pilot).asked.school == "editions"),
            ("right step", lambda: bench(pilot).at == 3),
        ):
            bar = rows(pilot)[-1]
            await pilot.click(offset=(bar.index(label) + 1, 39))
            await until(pilot, holds)
            await found(pilot)


async def test_it_is_a_key_away_from_the_library(log: Log) -> None:
    async with app(services(log), "library").run_test(size=(80, 24)) as pilot:
        await pilot.press(*"two ways")
        await until(pilot, lambda: shows(pilot, "1 of 27"))
        await pilot.press("f6")
        await until(pilot, lambda: shows(pilot, "Two ways through Cadd9", FOUND))
        await pilot.press("escape")
        await until(pilot, lambda: shows(pilot, "drill it", "1 of"))


@pytest.mark.parametrize("way_out", ["escape", "q", "ctrl+c"])
async def test_it_can_be_left_while_it_looks(
    log: Log, drill: Drill, monkeypatch: pytest.MonkeyPatch, way_out: str
) -> None:
    held, begun, done = Event(), Event(), Event()

    def slow(*given: object) -> Outcome:
        begun.set()
        held.wait(20)
        try:
            return sought(*given)  # type: ignore[arg-type]  # passed on as they came
        finally:
            done.set()

    monkeypatch.setattr("trainer.ui.screens.bench.sought", slow)
    try:
        async with app(services(log), "drill", drill=drill).run_test(size=(60, 20)) as pilot:
            await until(pilot, lambda: shows(pilot, "Four chords"))
            await pilot.press("f")
            await until(pilot, lambda: begun.is_set() and shows(pilot, "Looking for ways through 4 shapes"))
            await pilot.press("right", "down", "p", "n", "tab")  # it goes on meanwhile
            assert shows(pilot, "shape 2 of 4")
            await pilot.press(way_out)
            if way_out == "escape":
                await until(pilot, lambda: shows(pilot, "change 1 of"))
                held.set()
                assert done.wait(20)
                await pilot.pause()
                assert shows(pilot, "change 1 of")
    finally:
        held.set()
    assert done.wait(20)


async def test_a_search_that_was_asked_for_is_stopped_before_the_bench_is_left(
    log: Log, drill: Drill, gate: Event
) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        gate.clear()
        await pilot.press("a")
        await until(pilot, lambda: shows(pilot, "ESC stops."))
        await pilot.press("escape")
        await until(pilot, lambda: shows(pilot, FOUND, "the whole easy"))
        gate.set()


SEVEN = """format = 1
title = "Seven strings, high up, under a title that is longer than most"
tuning = "B1 E2 A2 D3 G3 B3 E4"

[[shapes]]
shape = "x x 12/1 14/3 14/4 13/2 x"
label = "A minor, high up it goes"

[[shapes]]
shape = "x x 10/1 12/3 12/4 11/2 x"
label = "The same, lower"
"""


@SIZE
async def test_seven_strings_two_digits_and_long_names_fit(
    log: Log, tmp_path_factory: pytest.TempPathFactory, size: tuple[int, int]
) -> None:
    path = tmp_path_factory.mktemp("drills") / "seven.toml"
    path.write_text(SEVEN)
    drill, problems = load(path)
    assert drill is not None, problems
    async with app(services(log), "bench", drill=drill).run_test(size=size) as pilot:
        await found(pilot)
        assert outcome(pilot).columns, outcome(pilot)
        whole(pilot)
        await pilot.press("right", "tab", "p")
        await found(pilot)
        whole(pilot)
        assert columns(pilot)[0][1].strip() == "x  x▸10 12 12 11  x"


async def test_who_looks_elsewhere_while_it_looks_stays_there(log: Log, drill: Drill, gate: Event) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        gate.clear()
        await pilot.press("3", "p", "2", "enter")
        await until(pilot, lambda: shows(pilot, "Not yet: the ways are being looked for."))
        gate.set()
        await found(pilot)
        assert (outcome(pilot).set, looked_at(pilot)) != (1, 0)
        assert looked_at(pilot) == 1
        # Who waits sees what came of it: what was looked at, though it now has another number.
        await pilot.press("u")
        await found(pilot)
        way = outcome(pilot).columns[2]
        await pilot.press("3", "p")
        await found(pilot)
        assert outcome(pilot).set == looked_at(pilot)
        assert outcome(pilot).columns[looked_at(pilot)].drill.steps == way.drill.steps


async def test_a_window_made_low_says_whose_weights_count_in_its_top_line(log: Log, drill: Drill) -> None:
    async with app(services(log), "bench", drill=drill).run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: shows(pilot, FOUND))
        await pilot.resize_terminal(60, 20)
        await until(pilot, lambda: "any hand" in rows(pilot)[0])
        whole(pilot)
        await pilot.resize_terminal(120, 40)
        await until(pilot, lambda: "any hand" in rows(pilot)[1] and "any hand" not in rows(pilot)[0])
        whole(pilot)
