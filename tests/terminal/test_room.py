"""A person before a class at a real terminal: three rounds of twelve seats, the room led by keys and by a pedal."""

from __future__ import annotations

from pathlib import Path

from tests.terminal.person import Terminal

FAST = "240"


def play(terminal: Terminal, key: str = "NPage") -> None:
    """Play a round to its end, after which it is to be marked."""
    terminal.key(key)
    terminal.shows("a key marks who missed")


def test_a_lesson_of_twelve_seats(tmp_path: Path) -> None:
    with Terminal(tmp_path / "home", (200, 60)) as terminal:
        terminal.run("drill", "group-four-chords", "--room", "--seats", "12", "--tempo", FAST)
        terminal.shows("change 1 of", "space play", "240 a minute")
        # Round one: three missed. Every letter marks, q and n among them.
        play(terminal)
        terminal.type("3nb9")
        terminal.shows("9 of 12 had it")
        terminal.key("Enter")
        # 240 exp(0.5 (9/12 - 4/5)) = 234.1
        terminal.shows("9 of 12 had it at 240.", "Next: 234, slower.")
        # Round two, by the pedal alone: all had it. The step is halved, for the class crossed four in five.
        play(terminal)
        terminal.key("NPage")
        # 234.1 exp(0.25 (1 - 4/5)) is beyond the fastest.
        terminal.shows("12 of 12 had it at 234.", "Next: 240, faster.")
        # Round three, resized in the middle, marked the other way.
        terminal.key("Space")
        terminal.shows("count-in")
        terminal.resize(80, 24)
        terminal.shows("a key marks who missed")
        terminal.key("Tab")
        terminal.type("12345")
        terminal.shows("5 of 12 had it: a key marks who had it")
        terminal.resize(200, 60)
        terminal.key("Enter")
        # 240 exp(0.5 / 3 (5/12 - 4/5)) = 225.1
        terminal.shows("5 of 12 had it at 240.", "Next: 225, slower.")
        # Freeze, hide, both hands, on to the next change.
        terminal.key("Space")
        terminal.shows("count-in")
        terminal.key("f")
        terminal.shows("frozen", "f go on")
        terminal.key("h")
        terminal.until(lambda rows: not any(mark in row for row in rows for mark in "[]●"), "no finger")
        terminal.key("h")
        terminal.key("l")
        terminal.until(lambda rows: any(row.count("╫") == 2 for row in rows), "two necks")
        terminal.key("l")
        terminal.key("n")
        terminal.shows("change 2 of")
        terminal.key("q")
        assert terminal.ended() == 0
        assert not terminal.modes()["alternate screen"]


def test_quitting_while_a_round_is_marked_ends_in_order(tmp_path: Path) -> None:
    with Terminal(tmp_path / "home") as terminal:
        terminal.run("drill", "first-change", "--room", "--seats", "30", "--tempo", FAST)
        terminal.shows("space play")
        play(terminal, "Space")
        terminal.type("q")
        terminal.shows("29 of 30 had it")
        terminal.key("C-q")
        assert terminal.ended() == 0
        assert not terminal.modes()["alternate screen"]


def test_a_window_that_is_too_small_says_what_it_needs(tmp_path: Path) -> None:
    with Terminal(tmp_path / "home", (59, 20)) as terminal:
        terminal.run("drill", "first-change", "--room")
        terminal.shows("Too small: 59 x 20", "needed: 60 x 20")
        terminal.resize(60, 20)
        terminal.shows("change 1 of", "┼")
        terminal.key("q")
        assert terminal.ended() == 0
