"""From memory: what is shown of each shape, what is logged as recalled, and in which order it goes on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from tests.ui.app_fakes import app, running_text, services, shows, until, written
from tests.ui.drilling_fakes import Stage, stage
from trainer.files import kept as kept_file
from trainer.files import paths
from trainer.log.writer import Log
from trainer.practice import events
from trainer.practice.course import back_and_forth, one_change
from trainer.practice.drill import Drill
from trainer.practice.phases import Mode, Phase
from trainer.practice.quick import from_shapes
from trainer.practice.recall import Memory, Recall, unread
from trainer.practice.recall import Stage as Shown
from trainer.practice.record import How
from trainer.ui.drilling.memory import ByHeart
from trainer.ui.drilling.view import View, view
from trainer.ui.screens.drill import DrillScreen

DRILL = from_shapes(["C", "F", "G"])


def hearts(
    drill: Drill = DRILL, kept: Memory | None = None, draws: tuple[float, ...] = ()
) -> tuple[ByHeart, list[Memory]]:
    handed: list[Memory] = []
    numbers = iter(draws)
    return ByHeart(drill, kept, handed.append, lambda: next(numbers)), handed


def at(*stages: Shown) -> Memory:
    return Memory(tuple(Recall(one) for one in stages))


def seen(on: Stage) -> View:
    return view(on.conductor, "all of it")


def sighted(path: Path, memory: Memory, drill: Drill = DRILL) -> Stage:
    """Return a session in which the shapes stand at these stages, before its first change."""
    on = stage(path, drill=drill, by_heart=hearts(drill, memory)[0])
    on.conductor.recall()
    return on


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


class TestSight:
    @pytest.mark.parametrize(
        ("left", "reached", "board", "names"),
        [
            (Shown.BOARD, Shown.BOARD, (0, 1), ("C", "F")),
            (Shown.BOARD, Shown.HIDDEN, (0, 0), ("C", "F")),
            (Shown.HIDDEN, Shown.NAME, (0, 0), ("C", "F")),
            (Shown.NAME, Shown.BOARD, (1, 1), ("C", "F")),
            (Shown.NAME, Shown.NAME, None, ("C", "F")),
            (Shown.BAR, Shown.BLANK, None, ("bar 1", "?")),
            (Shown.BLANK, Shown.BAR, None, ("?", "bar 2")),
        ],
    )
    def test_each_stage_shows_less(
        self, path: Path, left: Shown, reached: Shown, board: tuple[int, int] | None, names: tuple[str, str]
    ) -> None:
        now = seen(sighted(path, at(left, reached, Shown.BOARD)))
        assert (now.board, now.names) == (board, names)
        assert now.words.startswith("From memory: ") is (reached is not Shown.BOARD)
        assert (now.watch == "") is (reached is not Shown.BOARD)

    def test_no_text_tells_the_name_of_a_shape_that_is_not_to_be_seen(self, path: Path) -> None:
        labelled = replace(DRILL, steps=tuple(replace(step, label=f"Zz{n}") for n, step in enumerate(DRILL.steps)))
        on = sighted(path, at(*[Shown.BLANK] * 3), labelled)
        for _ in range(7):
            assert "Zz" not in repr(replace(seen(on), title=""))
            on.press()

    def test_a_shape_without_a_label_is_not_called_by_what_gives_it_away(self, path: Path) -> None:
        bare = replace(DRILL, steps=tuple(replace(step, label="") for step in DRILL.steps))
        assert seen(sighted(path, at(*[Shown.NAME] * 3), bare)).names == ("shape 1", "shape 2")

    def test_the_bar_is_counted_in_the_drills_meter(self, path: Path) -> None:
        halves = replace(DRILL, steps=tuple(replace(step, beats=Fraction(2)) for step in DRILL.steps))
        now = seen(sighted(path, at(*[Shown.BAR] * 3), halves))
        assert (now.names, now.then[0]) == (("bar 1", "bar 1"), "bar 2")

    def test_the_shape_after_is_not_drawn_where_it_is_to_be_recalled(self, path: Path) -> None:
        assert seen(sighted(path, at(Shown.BOARD, Shown.BOARD, Shown.HIDDEN))).after is None
        assert seen(sighted(path, at(Shown.BOARD, Shown.BOARD, Shown.BOARD))).after == (1, 2)

    def test_a_walk_shows_everything(self, path: Path) -> None:
        on = sighted(path, at(*[Shown.BLANK] * 3))
        on.conductor.send(events.SetMode(on.clock.now, Mode.WALK))
        assert (seen(on).board, seen(on).names) == ((0, 1), ("C", "F"))


def two(path: Path, kept: Memory | None = None) -> tuple[Stage, ByHeart, list[Memory]]:
    drill = from_shapes(["C", "F"])
    heart, handed = hearts(drill, kept)
    on = stage(path, drill=drill, course=back_and_forth(drill, 0, 1, rounds=9), by_heart=heart)
    on.conductor.recall()
    return on, heart, handed


def land(on: Stage) -> None:
    on.press()
    on.press()


class TestStages:
    def test_three_clean_on_a_miss_and_an_unclean_one_back(self, path: Path) -> None:
        on, heart, _ = two(path)

        def stages() -> list[int]:
            return [shape.stage for shape in heart.known(on.conductor.session).shapes]

        for _ in range(6):
            land(on)
        assert stages() == [Shown.HIDDEN, Shown.HIDDEN]
        on.press()
        on.conductor.send(events.Missed(on.clock.now))
        assert stages() == [Shown.HIDDEN, Shown.BOARD]
        land(on) if on.conductor.session.phase is Phase.HOLD else on.press()
        on.conductor.send(events.MarkUnclean(on.clock.now))
        assert stages() == [Shown.BOARD, Shown.BOARD]
        on.conductor.send(events.MarkUnclean(on.clock.now))
        assert stages() == [Shown.HIDDEN, Shown.BOARD]

    def test_what_is_taken_back_was_not_remembered(self, path: Path) -> None:
        on, heart, _ = two(path, at(Shown.BOARD, Shown.NAME))
        before = heart.known(on.conductor.session)
        land(on)
        assert heart.known(on.conductor.session) != before
        on.conductor.send(events.TakeBack(on.clock.now))
        assert heart.known(on.conductor.session) == before

    def test_each_is_logged_as_it_was_asked_for_and_times_are_not_pooled(self, path: Path) -> None:
        on, _, _ = two(path)
        for _ in range(10):
            land(on)
        hows = [attempt.how for attempt in on.log.attempts()]
        assert hows == [How.READ] * 6 + [How.RECALLED] * 4
        on.conductor.recall()
        land(on)
        assert on.log.attempts()[-1].how is How.READ
        standing = on.conductor.logbook.standings
        counts = [standing.of(replace(on.log.attempts()[0].series, how=how)).count for how in (How.READ, How.RECALLED)]
        assert counts == [4, 2]  # into F: three before it was hidden, one at the end

    def test_it_is_kept_when_it_ends_and_when_another_course_begins(self, path: Path) -> None:
        on, heart, handed = two(path)
        for _ in range(6):
            land(on)
        on.conductor.begin_anew(back_and_forth(DRILL, 0, 1), on.clock.now)
        assert [shape.stage for shape in handed[-1].shapes] == [Shown.HIDDEN, Shown.HIDDEN]
        assert heart.known(on.conductor.session) == handed[-1]
        land(on)
        on.conductor.recall()
        assert handed[-1].shapes[1] == Recall(Shown.HIDDEN, 1)

    def test_it_is_kept_at_the_end_of_each_run_and_again_when_its_last_landing_is_called_unclean(
        self, path: Path
    ) -> None:
        drill = from_shapes(["C", "F"])
        heart, handed = hearts(drill)
        on = stage(path, drill=drill, course=back_and_forth(drill, 0, 1, rounds=3), by_heart=heart)
        on.conductor.recall()
        while on.conductor.session.phase is not Phase.ENDED:
            assert handed == []
            land(on)
        assert [shape.stage for shape in handed[-1].shapes] == [Shown.HIDDEN, Shown.HIDDEN]
        on.conductor.send(events.MarkUnclean(on.clock.now))
        assert len(handed) == 2
        assert sorted(shape.stage for shape in handed[-1].shapes) == [Shown.BOARD, Shown.HIDDEN]

    def test_a_memory_of_another_drill_is_not_this_ones(self, path: Path) -> None:
        on, heart, _ = two(path, unread(7))
        assert heart.known(on.conductor.session) == unread(2)

    @pytest.mark.parametrize(("landed", "stages"), [(8, [0, 2]), (7, [0, 0])])
    def test_to_the_beat_the_answer_tells_where_one_shape_is_asked_for(
        self, path: Path, landed: int, stages: list[int]
    ) -> None:
        drill = from_shapes(["C", "F"])
        heart, _ = hearts(drill)
        on = stage(path, Mode.PACED, drill=drill, course=one_change(drill, 0, 1), tempo=240, by_heart=heart)
        on.conductor.recall()
        on.press()
        while on.conductor.session.phase is not Phase.ASK:
            on.clock.turn(0.5)
        on.conductor.send(events.Said(on.clock.now, landed))
        assert [shape.stage for shape in heart.known(on.conductor.session).shapes] == stages

    def test_a_run_to_the_beat_that_nobody_heard_says_how_it_was_played(self, path: Path) -> None:
        drill = from_shapes(["C", "F"])
        heart, _ = hearts(drill)
        on = stage(path, Mode.PACED, drill=drill, course=one_change(drill, 0, 1), tempo=240, by_heart=heart)
        on.conductor.recall()
        for _ in range(2):
            on.press()
            while on.conductor.session.phase is not Phase.ASK:
                on.clock.turn(0.5)
            on.conductor.send(events.Said(on.clock.now, 8))
            on.clock.turn(1)
        # F was in sight in the first run, and landed in all of it; from there on it had to be remembered.
        assert [entry[1].how for entry in on.log.entries if entry[0] == "begin"] == [How.READ, How.RECALLED]
        assert view(on.conductor, "").facts[-1][-1] == "1 run"  # the other kind says nothing of this one


class TestOrder:
    def test_joins_are_shuffled_once_all_are_known_and_no_sooner(self, path: Path) -> None:
        for stages, pairs in (
            (at(Shown.NAME, Shown.NAME, Shown.NAME), [(2, 0), (1, 2), (0, 1)]),
            (at(Shown.NAME, Shown.BOARD, Shown.NAME), [(0, 1), (1, 2), (2, 0)]),
        ):
            heart, _ = hearts(DRILL, stages, (0.9, 0.5, 0.1))
            on = stage(path, drill=DRILL, by_heart=heart)
            on.conductor.recall()
            while on.conductor.session.phase is not Phase.ENDED:
                on.press()
            shown = seen(on).pair
            assert shown == pairs[0]
            on.press()
            assert [leg.pair for leg in on.conductor.session.route[:3]] == pairs
            assert on.conductor.session.pair == shown

    def test_a_landing_taken_back_at_the_end_of_a_run_is_of_the_order_that_was_played(self, path: Path) -> None:
        heart, _ = hearts(DRILL, at(*[Shown.NAME] * 3), (0.9, 0.5, 0.1))
        on = stage(path, drill=DRILL, by_heart=heart)
        on.conductor.recall()
        while on.conductor.session.phase is not Phase.ENDED:
            on.press()
        on.conductor.send(events.TakeBack(on.clock.now))
        assert (on.conductor.session.phase, on.conductor.session.pair) == (Phase.HOLD, (2, 0))


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Log]:
    monkeypatch.setenv(paths.HOME, str(tmp_path))
    with Log.open(paths.log_file()) as log:
        yield log


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_on_the_screen_a_shape_is_hidden_until_it_has_landed_and_known_again_next_time(
    log: Log, size: tuple[int, int]
) -> None:
    drill = from_shapes(["C", "F"])
    given = services(log, mode=Mode.PRESSES)
    given.keep_memory(drill.title, at(Shown.BOARD, Shown.HIDDEN))
    async with app(given, "drill", drill=drill).run_test(size=size) as pilot:
        await until(pilot, lambda: shows(pilot, "change 1 of"))
        open_text = running_text(pilot)
        await pilot.press("h")
        await until(pilot, lambda: shows(pilot, "hidden until landed"))
        screen = pilot.app.screen
        assert isinstance(screen, DrillScreen)
        assert running_text(pilot) != open_text
        await pilot.press("pagedown")
        await until(pilot, lambda: screen.conductor.shown.phase is Phase.CHANGING)
        await pilot.pause(0.15)
        await pilot.press("pagedown")
        await until(pilot, lambda: len(screen.conductor.shown.tries) == 1)
        await until(pilot, lambda: not shows(pilot, "hidden until landed"))
        await pilot.press("h")
        await until(pilot, lambda: "Known by heart: 0 of 2." in running_text(pilot))
    assert kept_file.load(paths.kept_file())[0].memory[drill.title].text == "0:0 1:1"
    with written(log) as history:
        assert [one.series.how for one in history.summaries()] == [How.RECALLED]
