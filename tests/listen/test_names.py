"""Keys of ports: without what changes from one session to the next, each port its own, none can steer a terminal.

How RtMidi 5.0 writes names is taken from its source (RtMidi.cpp); only JACK's are also met for real.
"""

from __future__ import annotations

import pytest

from trainer.listen.names import ports, steady


@pytest.mark.parametrize(
    ("api", "name", "key"),
    [
        ("LINUX_ALSA", "Nylon MIDI:Nylon MIDI MIDI 1 24:0", "Nylon MIDI:Nylon MIDI MIDI 1"),
        ("UNIX_JACK", "Nylon:strings", "Nylon:strings"),
        ("UNIX_JACK", "Nylon-01:strings", "Nylon:strings"),
        ("UNIX_JACK", "bridge:Nylon [24] (capture): MIDI 1", "bridge:Nylon (capture): MIDI 1"),
        ("WINDOWS_MM", "Nylon MIDI 3", "Nylon MIDI"),
        ("MACOSX_CORE", "Nylon MIDI 3", "Nylon MIDI 3"),
        ("LINUX_ALSA", " 24:0", "port"),
        ("MACOSX_CORE", "\x1b[31mred\n", "·[31mred·"),
    ],
)
def test_a_key_has_no_numbers_that_change(api: str, name: str, key: str) -> None:
    assert steady(name, api) == key


def test_guitars_of_one_name_are_told_apart() -> None:
    found = ports(["Nylon 20:0", "Steel 24:0", "Nylon 28:0"], "LINUX_ALSA")
    assert [port.key for port in found] == ["Nylon", "Steel", "Nylon #2"]


def test_a_guitar_in_use_keeps_its_key_when_its_twin_goes_and_comes_back() -> None:
    held = {"Nylon 28:0": "Nylon #2"}
    assert [port.key for port in ports(["Nylon 28:0"], "LINUX_ALSA", held)] == ["Nylon #2"]
    found = ports(["Nylon 28:0", "Nylon 32:0"], "LINUX_ALSA", held)
    assert [port.key for port in found] == ["Nylon #2", "Nylon"]


def test_names_that_are_quite_the_same_are_told_apart_too() -> None:
    assert [port.key for port in ports(["Nylon"] * 3, "MACOSX_CORE")] == ["Nylon", "Nylon #2", "Nylon #3"]


def test_our_own_click_is_known_among_the_ports_whatever_the_system_puts_around_its_name() -> None:
    names = ["RtMidiOut Client:Changeover click 129:0", "Ours:strings 20:0"]
    assert [port.own for port in ports(names, "LINUX_ALSA")] == [True, False]
