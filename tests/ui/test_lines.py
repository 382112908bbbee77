"""Line mode: what it reads, what it says, and whole sessions without a screen, with their entries in the log."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from dataclasses import replace
from io import StringIO
from pathlib import Path
from threading import Condition, Thread

import pytest

from tests.listen.building import AM, C, drill, step
from trainer.files.settings import Settings
from trainer.log.history import reading
from trainer.practice.drill import Drill, Order
from trainer.practice.measures import HeardChange, summarise
from trainer.practice.phases import Mode
from trainer.practice.record import Texture
from trainer.ui.command import Command, Place
from trainer.ui.commands import commands_of, keymap
from trainer.ui.drilling.asked import EVENTS
from trainer.ui.lines.console import Console
from trainer.ui.lines.grades import line, summary
from trainer.ui.lines.loop import LineLoop
from trainer.ui.lines.practice import _HANDLERS, LinePractice
from trainer.ui.lines.telling import in_words
from trainer.ui.lines.typed import ELSEWHERE, elsewhere, guide, read, words
from trainer.ui.services import Services

WAIT_S = 60
F = "1/1 3/3 3/4 2/2 1/1 1/1"


class TestTyped:
    @pytest.mark.parametrize(
        ("typed", "command", "rest"),
        [
            ("\n", "press", ""), ("  ", "press", ""), ("u\n", "unclean", ""), ("undo", "undo", ""),
            ("7", "answer", "7"), ("12", "answer", "12"), ("s", "shape", ""), ("?", "help", ""), ("-", "slower", ""),
            ("w a good one ", "remark", "a good one"), ("+", "faster", ""), ("Q", "quit", ""), ("again", "again", ""),
        ],
    )  # fmt: skip
    def test_keys_and_names(self, typed: str, command: str, rest: str) -> None:
        asked = read(typed, 3.0, {})
        assert asked is not None
        assert (asked.command.id, asked.at, asked.rest) == (command, 3.0, rest)

    @pytest.mark.parametrize("typed", ["zz", "123", "é", "\x1b[A", "close"])
    def test_what_is_no_command(self, typed: str) -> None:
        assert read(typed, 0, {}) is None

    def test_keys_are_those_of_the_screen_rebinding_included(self) -> None:
        rebound = {"unclean": ("y",)}
        asked = read("y", 0, rebound)
        assert asked is not None
        assert asked.command.id == "unclean"
        assert read("u", 0, rebound) is None
        by_key = keymap(Place.DRILL, {})
        assert all(words({})[key] is by_key[key] for key in "jkuxnbarpmctwqol")

    @pytest.mark.parametrize("command", commands_of(Place.DRILL), ids=lambda command: command.id)
    def test_every_command_of_a_drill_is_here_by_its_name_or_there_is_a_reason(self, command: Command) -> None:
        asked = read("3" if command.id == "answer" else command.id, 0, {})
        if command.id in ELSEWHERE:
            assert asked is None
            assert len(ELSEWHERE[command.id].split()) > 4
            return
        assert asked is not None
        assert asked.command.id == command.id
        assert command.id in {*EVENTS, *_HANDLERS}, "and something is done with it"
        told = "\n".join(guide({}, {*EVENTS, *_HANDLERS}))
        assert command.does in told or command.id in {"press", "answer"}, "and it is among those that ? tells"

    @pytest.mark.parametrize("line", ["\u00b2", "\u0663", "123", "answer", "answer x", "0 x", "answer \u00b2"])
    def test_an_answer_is_a_number_of_one_or_two_digits(self, line: str) -> None:
        assert read(line, 0, {}) is None

    def test_an_answer_may_be_named(self) -> None:
        assert read("answer 12", 0, {}) is not None

    def test_what_is_elsewhere_is_known_by_its_name_and_by_its_key(self) -> None:
        assert elsewhere("bench", {}) == elsewhere("f", {}) == elsewhere("d", {"bench": ("d",)}) == ELSEWHERE["bench"]
        assert elsewhere("f", {"bench": ("d",)}) is None

    def test_there_is_a_reason_for_nothing_that_is_no_command(self) -> None:
        assert set(ELSEWHERE) <= {command.id for command in commands_of(Place.DRILL)}


class TestWords:
    def test_a_shape_string_by_string(self) -> None:
        assert in_words(step("x (3/3) 2/2 0 1 x", label="C")) == (
            "C: string 6 not played, string 5 fret 3 finger 3, silent, string 4 fret 2 finger 2, string 3 open, "
            "string 2 fret 1, string 1 not played."
        )

    @pytest.mark.parametrize(
        ("more", "said"),
        [
            ({"landed_s": 2.0, "change_ms": 312.4, "clean": True}, "312 ms; clean."),
            ({"landed_s": 2.0, "change_ms": 312.4, "gap_ms": 41.0}, "312 ms, gap 41 ms."),
            ({"landed_s": 2.0, "strike_ms": 900.0}, "landed, 900 ms after the stroke before."),
            ({"landed_s": 2.0}, "landed."),
            ({"landed_s": 2.0, "texture": Texture.FIGURE, "delay_ms": -12.0}, "landed, 12 ms ahead of the beat."),
            ({"landed_s": 2.0, "texture": Texture.FIGURE}, "landed."),
            ({"expected": False}, "not landed, not the next one."),
        ],
    )
    def test_a_change_in_one_line(self, more: dict[str, object], said: str) -> None:
        change = HeardChange(3, 0, 1, True, Texture.BLOCK, 1.0)
        played = drill(step(AM, label="Am"), step(C, label="C"))
        assert line(played, replace(change, **more)) == f"4. Am to C: {said}"  # type: ignore[arg-type]  # fields as named

    def test_a_summary(self) -> None:
        change = HeardChange(0, 0, 1, True, Texture.BLOCK, 1.0, landed_s=2.0, change_ms=300.0, gap_ms=-20.0, clean=True)
        assert summary(summarise([])) == "No change was heard."
        assert summary(summarise([change, replace(change, landed_s=None, change_ms=None, clean=False)])) == (
            "1 of 2 changes landed, 1 clean, median change 300 ms, median gap -20 ms."
        )


class TestLoop:
    def test_in_order_of_time_and_called_off(self) -> None:
        now = 0.0
        loop = LineLoop(lambda: now)
        ran: list[str] = []
        loop.at(-1, lambda: ran.append("second"))
        loop.at(-2, lambda: ran.append("first"))
        cancel = loop.at(-1.5, lambda: ran.append("never"))
        loop.at(0, loop.end)
        cancel()
        loop.run()
        assert ran == ["first", "second"]

    def test_from_another_thread(self) -> None:
        loop = LineLoop(lambda: 0.0)
        ran: list[str] = []

        def told(result: str) -> None:
            ran.append(result)
            loop.end()

        loop.aside(lambda: "aside", told)
        Thread(target=lambda: loop.soon(lambda: ran.append("soon"))).start()
        loop.run()
        assert "aside" in ran

    def test_what_goes_wrong_is_raised(self) -> None:
        loop = LineLoop(lambda: 0.0)
        loop.soon(lambda: 1 / 0)  # type: ignore[arg-type]  # it fails before it returns anything
        with pytest.raises(ZeroDivisionError):
            loop.run()


class Player(Console):
    """Types a line as soon as something has been said since the line before."""

    def __init__(self, *script: tuple[str, str]) -> None:
        super().__init__(StringIO())
        self.lines: list[str] = []
        self.stuck = ""
        self._script = script
        self._said = Condition()

    def say(self, text: str) -> None:
        with self._said:
            self.lines.append(text)
            self._said.notify_all()

    def type(self) -> Iterator[str]:
        seen = 0
        for text, typed in self._script:
            with self._said:
                if not self._said.wait_for(lambda text=text, seen=seen: self._said_since(seen, text), WAIT_S):  # type: ignore[misc]  # bound for each
                    self.stuck = text
                    return
                seen = self._said_since(seen, text)
            if typed == "late":
                time.sleep(0.12)
            yield typed.removesuffix("late")

    def _said_since(self, seen: int, text: str) -> int:
        """Return the number of lines up to the first one from `seen` on that has `text` in it, 0 where none has."""
        return next((n for n, said in enumerate(self.lines, start=1) if n > seen and text in said), 0)


def practised(home: Path, player: Player, played: Drill, mode: Mode, tempo: float | None = None) -> list[str]:
    services = Services(Settings(repeat_ms=0, click="none"), home / "settings.toml", home / "practice.sqlite3")
    services.wait = lambda low, high: 0.01
    practice = LinePractice(services, played, mode, tempo, player)
    try:
        practice.run(player.type())
    finally:
        services.close()
    assert not player.stuck, f"never said {player.stuck!r}: {player.lines}"
    return player.lines


ONE_BEAT = drill(
    step(AM, label="Am", beats=1), step(C, label="C", beats=1), step(F, label="F", beats=1), order=Order.ONCE
)


class TestSessions:
    def test_two_presses(self, tmp_path: Path) -> None:
        player = Player(
            ("leave Am", ""), ("when C is down", ""), ("leave C", "u"), ("not clean", ""), ("F is down", "x"),
            ("missed", "w well \x1b[2J"), ("Remark kept", "?"), ("Each followed by enter", "s"), ("Watch", "t"),
            ("A4 = 440 Hz", "zz"), ("No such key", ""), ("C is down", "k"), ("Am to C", "undo"), ("Taken back", "q"),
        )  # fmt: skip
        lines = practised(tmp_path, player, ONE_BEAT, Mode.PRESSES)
        assert lines[0].startswith("test. Two presses")
        assert any(re.fullmatch(r"Am to C: \d\.\d\d seconds\.", said) for said in lines)
        assert "C to F: missed." in lines
        assert lines[-1] == "Ended: 1 of 2 changes landed."
        assert not any("\x1b" in said for said in lines)
        with reading(tmp_path / "practice.sqlite3") as history:
            (series,) = history.summaries()
            assert (series.series.timing, series.series.source, series.count) == ("leave", "keys", 1)
            (attempt,) = history.attempts(series.series)
            assert attempt.clean is False
            (run,) = history.runs(newest=5)
            assert run.remark == "well ·[2J"

    def test_a_run_is_summed_up(self, tmp_path: Path) -> None:
        changes = [("leave", ""), ("is down", "")] * 4
        lines = practised(tmp_path, Player(*changes, ("Run over", "q")), ONE_BEAT, Mode.PRESSES)
        assert any(said.startswith("Run over: 4 of 4 landed, best 0.0") for said in lines)

    def test_on_cue(self, tmp_path: Path) -> None:
        # Nobody lands within 100 ms of the cue, so the second press is late by 120.
        player = Player(("when you hold Am", ""), ("when C is down", "late"), ("Am to C", "q"))
        lines = practised(tmp_path, player, ONE_BEAT, Mode.CUED)
        assert lines.index("GO") < lines.index("Enter when C is down.")

    def test_to_the_beat(self, tmp_path: Path) -> None:
        player = Player(
            ("Enter starts", ""), ("How many of", ""), ("Type a number", "9"), ("From 0 to", "3"), ("3 of", "q")
        )
        lines = practised(tmp_path, player, ONE_BEAT, Mode.PACED, 240)
        begun = lines.index("Hold Am. 4 beats are counted, then play.")
        assert lines[begun + 1 : begun + 7] == ["Am.", "C.", "F.", "Am.", "C.", "F."]
        assert lines[-1] == "Ended: 3 of 4 changes landed."

    def test_walk_pause_ways_and_courses(self, tmp_path: Path) -> None:
        player = Player(
            ("Am to C", "n"), ("C to F", "m"), ("To the beat", "p"), ("Paused", "p"), ("starts", "c"), ("Now:", "q")
        )
        practised(tmp_path, player, ONE_BEAT, Mode.WALK)

    def test_the_ways_go_round_and_none_of_them_listens(self, tmp_path: Path) -> None:
        ways = ("Two presses", "On cue", "Walk through", "To the beat", "Two presses")
        player = Player(("To the beat", "m"), *((way, "m") for way in ways[:-1]), (ways[-1], "q"))
        lines = practised(tmp_path, player, ONE_BEAT, Mode.PACED)
        assert not any("MIDI guitar" in said for said in lines)

    def test_a_step_of_the_join_plan_and_a_target_by_lines(self, tmp_path: Path) -> None:
        four = drill(*(step(shape, label=name) for shape, name in ((AM, "Am"), (C, "C"), (F, "F"), (AM, "A"))))
        player = Player(
            ("Enter starts", "o"), ("Type o, a space", "o 1"), ("Now: join 1", "l"), ("Target: 60", "l"),
            ("No target any more", "memory"), ("Not in line mode: no shape is shown", "q"),
        )  # fmt: skip
        lines = practised(tmp_path, player, four, Mode.PACED)
        assert "1. whole 1 to 4: now." in lines

    def test_a_short_drill_has_no_join_plan(self, tmp_path: Path) -> None:
        practised(tmp_path, Player(("leave Am", "o"), ("a plan begins at four shapes", "q")), ONE_BEAT, Mode.PRESSES)

    def test_when_there_is_no_more_to_read_it_ends(self, tmp_path: Path) -> None:
        assert practised(tmp_path, Player(), ONE_BEAT, Mode.PRESSES)[-1] == "Ended."

    def test_a_title_steers_nothing(self, tmp_path: Path) -> None:
        lines = practised(tmp_path, Player(), replace(ONE_BEAT, title="\x1b[2J[b]x"), Mode.WALK)
        assert lines[0].startswith("·[2J[b]x. ")
