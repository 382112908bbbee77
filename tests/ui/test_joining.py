"""A join plan as it is practised: each step a course, passed by runs in which every change landed, left and resumed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.ui.app_fakes import app, rows, services, shows, until
from tests.ui.drilling_fakes import Stage, stage
from trainer.errors import ChangeoverError
from trainer.files import kept, paths
from trainer.log.writer import Log
from trainer.practice import events
from trainer.practice.drill import Drill, Segment
from trainer.practice.joins import Plan, State, begin
from trainer.practice.phases import Mode, Phase
from trainer.practice.quick import from_shapes
from trainer.practice.record import Attempt, Timing
from trainer.ui.drilling.courses import Courses
from trainer.ui.drilling.joining import Joining
from trainer.ui.widgets.joins import picture

SIX = replace(
    from_shapes(["C", "G", "Am", "F", "Em", "Dm"]),
    title="Six shapes",
    segments=(Segment("a", 1, 3), Segment("b", 4, 6)),
)


class Keeper:
    """Keeps plans in memory."""

    def __init__(self) -> None:
        self.kept = kept.Kept()

    def keep_plan(self, title: str, plan: Plan) -> None:
        self.kept = kept.Kept({**self.kept.joins, title: plan})


def joined(
    path: Path, mode: Mode = Mode.PRESSES, drill: Drill = SIX, keeper: Keeper | None = None
) -> tuple[Stage, Joining]:
    """Return a stage on which the drill's join plan is practised."""
    on = stage(path, mode, drill=drill)
    courses = Courses(drill, None, keeper or Keeper())
    while courses.joining is None:
        courses.turn(on.conductor, on.clock.now)
    return on, courses.joining


def run(on: Stage, *, missing: int = 0) -> None:
    """Play one run of the step at hand by two presses, `missing` of its changes given up."""
    if on.conductor.session.phase is Phase.ENDED:
        on.press()
    for number in range(on.conductor.session.changes):
        on.press()
        if number < missing:
            on.conductor.send(events.Missed(on.clock.now))
        else:
            on.press()
    assert on.conductor.session.phase is Phase.ENDED


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


def test_the_steps_are_practised_one_after_the_other_each_after_two_good_runs(path: Path) -> None:
    on, joining = joined(path)
    seen = []
    for _ in range(4):
        pairs = on.conductor.session.course.pairs
        seen.append((pairs[0][0] + 1, pairs[-1][1] + 1))
        run(on)
        assert on.conductor.shown.message == "Good, 1 of 2 in a row."
        run(on)
        assert "Passed" in on.conductor.shown.message
        on.press()
    assert seen == [(1, 3), (4, 6), (2, 5), (1, 6)]
    assert joining.plan.step is None


def test_a_step_waits_for_the_player_and_can_be_taken_back_until_then(path: Path) -> None:
    on, joining = joined(path)
    run(on)
    run(on)
    assert on.conductor.shown.message == "Passed; next: alone 4 to 6."
    on.conductor.send(events.MarkUnclean(on.clock.now))
    assert on.conductor.shown.message.startswith("1 to mend")
    on.conductor.send(events.MarkUnclean(on.clock.now))
    on.press()
    assert (on.conductor.session.phase, on.conductor.session.pair) == (Phase.HOLD, (3, 4))
    assert on.conductor.shown.message == "Now: join 2 of 4, alone 4 to 6."
    assert joining.plan.states[0] is State.PASSED


def test_misses_in_a_row_lead_back_to_a_shorter_step(path: Path) -> None:
    on, joining = joined(path)
    joining.change(joining.plan.turned_to(3))
    on.conductor.begin_anew(joining.course, on.clock.now, joining)
    for _ in range(3):
        run(on, missing=1)
    assert on.conductor.shown.message.startswith("Back to a shorter step; next: ")
    on.press()
    assert joining.plan.at == 2


def test_to_the_beat_the_answer_counts_and_all_parts_of_a_long_step_have_to_land(path: Path) -> None:
    twelve = replace(from_shapes(["C", "G"] * 6), title="Twelve", segments=(Segment("all", 1, 12),))
    on, joining = joined(path, Mode.PACED, twelve)
    assert on.conductor.session.course.parts == 2

    def play(landed: int | None = None) -> None:
        on.press()
        on.clock.turn(300)
        session = on.conductor.session
        assert session.phase is Phase.ASK
        on.conductor.send(events.Said(on.clock.now, session.changes if landed is None else landed))

    play()
    assert (joining.plan.good, "row" in on.conductor.shown.message) == (0, False)
    play()
    assert on.conductor.shown.message.endswith("Good, 1 of 2 in a row.")
    on.conductor.send(events.TakeBack(on.clock.now))
    on.conductor.send(events.Said(on.clock.now, 1))
    assert "to mend" in on.conductor.shown.message
    play()
    assert (joining.plan.good, joining.plan.missed) == (0, 1)


def test_a_plan_is_kept_with_every_run_and_resumed(path: Path) -> None:
    keeper = Keeper()
    on, joining = joined(path, keeper=keeper)
    run(on)
    on.conductor.close(on.clock.now)
    assert keeper.kept.joins["Six shapes"].good == 1
    _, again = joined(path, keeper=keeper)
    assert again.plan == joining.plan
    # The plan of a passage that has become longer is no plan of it.
    longer = replace(from_shapes(["C", "G", "Am", "F", "Em", "Dm", "A"]), title="Six shapes")
    assert joined(path, drill=longer, keeper=keeper)[1].plan.segments[-1].last == 7


def test_what_is_good_already_is_skipped_and_the_slowest_change_is_cut(path: Path) -> None:
    plain = replace(SIX, segments=())
    on = stage(path, drill=plain)
    for index in range(5):
        key = on.conductor.logbook.passings[index, index + 1].key
        for n in range(12):
            ms = 2000.0 if index == 2 else 300.0
            on.conductor.logbook.standings.add(Attempt(f"{index} {n}", "run", key, float(n), Timing.LEAVE, "keys", ms))
    joining = Courses(plain, None, Keeper()).plan(on.conductor.logbook)
    assert joining is not None
    assert [(part.first, part.last) for part in joining.plan.segments] == [(1, 3), (4, 6)]
    assert joining.suggested()[0].why[0] == "slow: 2000 ms"
    assert list(joining.plan.states[:3]) == [State.PASSED, State.PASSED, State.NOW]
    assert not joining.is_good((2, 3))


def test_cut_by_hand_and_refused_where_a_segment_would_have_no_change(path: Path) -> None:
    _, joining = joined(path)
    joining.toggle(3)
    assert len(joining.plan.segments) == 1
    joining.toggle(2)
    assert [(part.first, part.last) for part in joining.plan.segments] == [(1, 2), (3, 6)]
    with pytest.raises(ChangeoverError, match="alone"):
        joining.toggle(1)


def test_three_shapes_have_nothing_to_join(path: Path) -> None:
    three = from_shapes(["C", "G", "Am"])
    assert Courses(three, None, Keeper()).plan(stage(path, drill=three).conductor.logbook) is None


# The picture


NAMES = tuple(step.name for step in SIX.steps)


def test_the_picture_has_a_column_a_shape_and_shows_cuts_and_how_far_each_step_is() -> None:
    plan = begin(SIX.segments).skipped().after(2, 2)
    assert picture(plan, NAMES, 3, 60, fine=False) == [
        "                        C    G    Am  |F    Em   Dm",
        "                                      ^",
        "v alone 1 to 3          #### #### #### .... .... ....",
        "> alone 4 to 6, 1 of 2  .... .... .... #### #### ####",
        "  seam 2 to 5           .... #### #### #### #### ....",
        "  whole 1 to 6          #### #### #### #### #### ####",
    ]


def test_where_there_is_little_room_numbers_stand_for_the_shapes() -> None:
    plan = begin(SIX.segments)
    assert picture(plan, NAMES, 3, 30, fine=False)[:3] == ["1 2 3 | 4 5 6", "      ^", "> alone 1 to 3  ###..."]


@pytest.mark.parametrize("width", [30, 58, 118])
@pytest.mark.parametrize("shapes", [8, 40, 400])
def test_a_passage_of_any_length_stays_within_its_room_and_no_step_vanishes(width: int, shapes: int) -> None:
    plan = begin([Segment("", first, first + 3) for first in range(1, shapes, 4)])
    for cursor in (1, shapes // 2, shapes - 1):
        _, pointer, *steps = rows = picture(plan, ["x 3/3 2/2 0 1/1 0"] * shapes, cursor, width)
        assert max(map(len, rows)) <= width
        assert pointer.count("▲") == 1
        assert all("■" in row for row in steps)


# The screens


@pytest.fixture
def log(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv("CHANGEOVER_HOME", str(tmp_path_factory.mktemp("home")))
    with Log.open(paths.log_file()) as opened:
        yield opened


async def test_a_plan_is_cut_on_its_screen_a_step_chosen_left_and_resumed(log: Log) -> None:
    given = services(log)
    async with app(given, "drill", drill=SIX, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("o")
        await until(pilot, lambda: shows(pilot, "Am  │F", "alone 1 to 3", "0 of 4 passed"))
        await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "whole 1 to 6", "0 of 1 passed"))
        await pilot.press("space", "down", "pagedown")
        await until(pilot, lambda: shows(pilot, "join 2 of 4, alone 4 to 6", "change 1 of 4"))
        for _ in range(2):
            await pilot.press(*["space"] * 8)
            await until(pilot, lambda: shows(pilot, "in a row") or shows(pilot, "Passed"))
            await pilot.press("space")
        await until(pilot, lambda: shows(pilot, "join 1 of 4, alone 1 to 3"))
    assert kept.load(paths.kept_file())[0].joins["Six shapes"].passed == {1}
    fresh = services(log)
    fresh.kept = kept.load(paths.kept_file())[0]
    async with app(fresh, "drill", drill=SIX, mode=Mode.PRESSES).run_test(size=(60, 20)) as pilot:
        await pilot.press("o")
        await until(pilot, lambda: shows(pilot, "✓ alone 4 to 6", "▶ alone 1 to 3", "1 of 4 passed"))
        assert max(map(len, rows(pilot))) <= 60


async def test_a_drill_too_short_to_join_says_so(log: Log) -> None:
    async with app(services(log), "drill", drill=from_shapes(["C", "F"])).run_test(size=(80, 24)) as pilot:
        await pilot.press("o", "space", "down", "s")
        await until(pilot, lambda: shows(pilot, "There is nothing to join"))
        await pilot.press("enter")
        await until(pilot, lambda: shows(pilot, "all of it"))


async def test_in_ascii_so_are_the_signs_between_words(log: Log) -> None:
    given = services(log, glyphs="ascii")
    async with app(given, "drill", drill=SIX, mode=Mode.PRESSES).run_test(size=(80, 24)) as pilot:
        await pilot.press("o")
        await until(pilot, lambda: shows(pilot, "Join plan - Six shapes", "0 of 4 passed"))
        assert all(row.isascii() for row in rows(pilot))
