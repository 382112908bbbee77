"""Real ports: JACK's server without hardware, RtMidi's JACK API, guitars in processes of their own."""

from __future__ import annotations

import os
import random
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Condition

import pytest

from tests.listen.jack import PERIOD_S, ROOT, ScriptedGuitar, environment, running_jack
from tests.system import require
from trainer.errors import Problem
from trainer.listen.arrival import Arrival, Found, Lost, Report, Trouble
from trainer.listen.decoder import Decoder
from trainer.listen.driver import Driver
from trainer.listen.ports import Listener, missing, port_names
from trainer.practice.notes import NoteOff, NoteOn
from trainer.practice.wiring import Wiring, in_order

PATIENCE_S = 20.0


class Inbox:
    """Everything a listener delivered; a test waits on what it needs."""

    def __init__(self) -> None:
        self.reports: list[Report] = []
        self._news = Condition()

    def put(self, reports: tuple[Report, ...]) -> None:
        with self._news:
            self.reports += reports
            self._news.notify_all()

    @property
    def arrivals(self) -> list[Arrival]:
        return [report for report in self.reports if isinstance(report, Arrival)]

    def of(self, kind: type[Report]) -> list[Report]:
        return [report for report in self.reports if isinstance(report, kind)]

    def wait(self, until: Callable[[], bool]) -> None:
        with self._news:
            assert self._news.wait_for(until, PATIENCE_S), self.reports[-5:]


@contextmanager
def listening(wanted: list[str] | None = None, found: int = 1) -> Iterator[Inbox]:
    """Listen, with `found` ports open before it begins."""
    inbox = Inbox()
    listener = Listener(wanted, inbox.put)
    listener.start()
    try:
        inbox.wait(lambda: len(inbox.of(Found)) >= found)
        yield inbox
    finally:
        listener.close()


@contextmanager
def burning() -> Iterator[None]:
    """Another thread that never waits for anything."""
    over = threading.Event()

    def burn() -> None:
        while not over.is_set():
            sum(range(1000))

    thread = threading.Thread(target=burn, daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def notes(count: int, apart_s: float) -> list[tuple[float, bytes]]:
    return [(place * apart_s, bytes([0x90, place % 128, 1 + place % 127])) for place in range(count)]


def test_ports_have_steady_keys_and_twins_are_told_apart(jack: str) -> None:
    with ScriptedGuitar("Scripted", ports=2):
        assert missing() is None
        assert [(port.name, port.key) for port in port_names()] == [
            ("Scripted:strings", "Scripted:strings"),
            ("Scripted-01:strings", "Scripted:strings #2"),
        ]


def test_only_the_ports_that_are_wanted_are_heard(jack: str) -> None:
    with ScriptedGuitar("Scripted", ports=2) as guitar, listening(["Scripted:strings #2"]) as inbox:
        guitar.send(b"\x90\x40\x01", port=0)
        guitar.send(b"\x90\x41\x02", port=1)
        inbox.wait(lambda: bool(inbox.arrivals))
    assert [(one.port, one.data) for one in inbox.arrivals] == [("Scripted:strings #2", b"\x90\x41\x02")]


def test_stamps_are_those_of_the_driver_while_another_thread_burns(jack: str) -> None:
    script = notes(200, 0.01)
    with ScriptedGuitar() as guitar, listening() as inbox, burning():
        sent = guitar.play(script)
        inbox.wait(lambda: len(inbox.arrivals) == len(script))
    assert [one.data for one in inbox.arrivals] == [data for _, data in script]
    times = [one.at for one in inbox.arrivals]
    assert times == sorted(times)
    late = [at - then for at, then in zip(times, sent, strict=True)]
    # The benchmark measures the bounds; here they are wide, for the machine may be busy with anything.
    assert min(late) > -0.02
    assert statistics.median(late) < 0.003 + 10 * PERIOD_S


def test_sixteen_guitars_of_six_strings_lose_nothing(jack: str) -> None:
    script = [
        (0.02 * chord, port, bytes([0x90 + string, 40 + chord, 1 + port]))
        for chord in range(50)
        for port in range(16)
        for string in range(6)
    ]
    with ScriptedGuitar(ports=16) as guitar, listening(found=16) as inbox:
        guitar.play_on(script)
        inbox.wait(lambda: len(inbox.arrivals) >= len(script))
    keys = ["Scripted guitar:strings", *(f"Scripted guitar:strings #{number}" for number in range(2, 17))]
    by_velocity = {one.port: one.data[2] for one in inbox.arrivals}
    assert sorted(by_velocity) == sorted(keys)
    assert len(set(by_velocity.values())) == 16
    for key, velocity in by_velocity.items():
        heard = [one.data for one in inbox.arrivals if one.port == key]
        assert heard == [data for _, port, data in script if port + 1 == velocity]


def test_two_thousand_messages_a_second_lose_nothing(jack: str) -> None:
    script = notes(6000, 0.0005)
    with ScriptedGuitar() as guitar, listening() as inbox:
        guitar.play(script)
        inbox.wait(lambda: len(inbox.arrivals) >= len(script))
    assert [one.data for one in inbox.arrivals] == [data for _, data in script]
    assert not inbox.of(Trouble)


@pytest.mark.parametrize("pause_s", [0.0, 1.0])
def test_a_port_closed_and_opened_again_is_lost_found_and_heard(jack: str, pause_s: float) -> None:
    """Also where it is back before anybody looked at the list of ports."""
    with ScriptedGuitar("Scripted") as guitar, listening() as inbox:
        guitar.send(b"\x90\x40\x01")
        inbox.wait(lambda: len(inbox.arrivals) == 1)
        closed = time.monotonic()
        guitar.close()
        if pause_s:
            inbox.wait(lambda: len(inbox.of(Lost)) == 1)
            assert inbox.of(Lost)[0].at - closed < 2
        guitar.open()
        inbox.wait(lambda: len(inbox.of(Found)) == 2)
        guitar.send(b"\x90\x41\x02")
        inbox.wait(lambda: len(inbox.arrivals) == 2)
    kinds = [type(report) for report in inbox.reports]
    assert kinds == [Found, Arrival, Lost, Found, Arrival]
    assert {report.port for report in inbox.reports} == {"Scripted:strings"}


def test_a_twin_that_is_lost_comes_back_under_its_own_key(jack: str) -> None:
    with ScriptedGuitar("Scripted", ports=2) as guitar, listening(found=2) as inbox:
        guitar.close(0)
        inbox.wait(lambda: len(inbox.of(Lost)) == 1)
        guitar.send(b"\x90\x41\x02", port=1)
        guitar.open(0)
        inbox.wait(lambda: len(inbox.of(Found)) == 3)
        guitar.send(b"\x90\x40\x01", port=0)
        inbox.wait(lambda: len(inbox.arrivals) == 2)
    assert [(one.port, one.data[1]) for one in inbox.arrivals] == [
        ("Scripted:strings #2", 0x41),
        ("Scripted:strings", 0x40),
    ]


def test_a_server_that_dies_and_comes_back_is_a_port_lost_and_found(monkeypatch: pytest.MonkeyPatch) -> None:
    server = f"changeover-dying-{os.getpid()}"
    for name, value in environment(server).items():
        monkeypatch.setenv(name, value)
    jackd = require("jackd", "jackd2")
    inbox = Inbox()
    listener = Listener(None, inbox.put)
    try:
        with running_jack(jackd, server), ScriptedGuitar("Scripted"):
            listener.start()
            inbox.wait(lambda: len(inbox.of(Found)) == 1)
        inbox.wait(lambda: len(inbox.of(Lost)) == 1 and bool(inbox.of(Trouble)))
        with running_jack(jackd, server), ScriptedGuitar("Scripted") as guitar:
            inbox.wait(lambda: len(inbox.of(Found)) == 2)
            guitar.send(b"\x90\x40\x01")
            inbox.wait(lambda: len(inbox.arrivals) == 1)
            listener.close()
    finally:
        listener.close()
    told = [report.what for report in inbox.reports if isinstance(report, Trouble)]
    assert len(told) == 1
    assert "no JACK server runs" in told[0]


def test_system_exclusive_and_random_bytes_do_no_harm(jack: str) -> None:
    chance = random.Random(5)
    # RtMidi passes no more than 16 KiB on to JACK at a time, so 64 KiB go in pieces; the last one ends the message.
    pieces = [(0.02 * place, b"\xf0" + bytes(range(128)) * 32) for place in range(16)]
    pieces.append((0.4, b"\xf0\xf7"))
    # RtMidi sends nothing longer than this, and takes no more from JACK after a system exclusive message without an
    # end, so each piece has one.
    noise = [
        (0.002 * place, bytes([chance.randrange(256) for _ in range(chance.randrange(1, 3))]) + b"\xf7")
        for place in range(500)
    ]
    wiring = Wiring(strings=in_order(1, 6))
    decoder = Decoder(wiring)
    with ScriptedGuitar() as guitar, listening() as inbox:
        guitar.play(pieces)
        guitar.send(b"\x90\x40\x5a")
        inbox.wait(lambda: bool(inbox.arrivals))
        assert [one.data for one in inbox.arrivals] == [b"\x90\x40\x5a"]
        guitar.play(noise)
        guitar.send(b"\xff")
        before = guitar.send(b"\x91\x3b\x5a")
        inbox.wait(lambda: inbox.arrivals[-1].data == b"\x91\x3b\x5a")
    events = [event for one in inbox.arrivals for event in decoder.feed(one.at, one.data)]
    assert events[-1] == NoteOn(inbox.arrivals[-1].at, 59, 90, 2)
    assert inbox.arrivals[-1].at > before - 0.02


def test_a_stuck_note_ends_when_its_port_is_lost(jack: str) -> None:
    decoder = Decoder(Wiring())
    with ScriptedGuitar() as guitar, listening() as inbox:
        guitar.send(b"\x90\x40\x5a")
        inbox.wait(lambda: bool(inbox.arrivals))
        guitar.close()
        inbox.wait(lambda: bool(inbox.of(Lost)))
    note, lost = inbox.reports[-2:]
    assert isinstance(note, Arrival)
    decoder.feed(note.at, note.data)
    assert decoder.close(lost.at) == (NoteOff(lost.at, 64),)


def test_closing_a_listener_ends_its_thread(jack: str) -> None:
    with ScriptedGuitar(), listening():
        assert any(thread.name == "MIDI ports" for thread in threading.enumerate())
    assert not any(thread.name == "MIDI ports" for thread in threading.enumerate())
    Listener(None, print).close()


def test_a_program_that_never_closes_its_listener_ends_all_the_same(jack: str) -> None:
    code = (
        "from threading import Event\nfrom trainer.listen.ports import Listener\nheard = Event()\n"
        "Listener(None, lambda reports: heard.set()).start()\nassert heard.wait(20)"
    )
    with ScriptedGuitar():
        done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_what_is_missing_is_said_in_one_line_and_libraries_print_nothing() -> None:
    """Without a server, ALSA's and JACK's libraries would both write to the terminal from their own threads."""
    code = (
        "from trainer.listen.ports import Listener, missing\nfrom threading import Event\nprint(missing())\n"
        "told = Event()\nlistener = Listener(None, lambda reports: told.set())\nlistener.start()\n"
        "told.wait(20)\nlistener.close()"
    )
    nowhere = {**os.environ, **environment(f"changeover-nowhere-{os.getpid()}")}
    for env, expected in (
        (nowhere, "no MIDI ports can be had here (no JACK server runs)\n"),
        ({**nowhere, "CHANGEOVER_MIDI_API": "NONE_SUCH"}, "CHANGEOVER_MIDI_API=NONE_SUCH: is no API of MIDI here"),
        ({**nowhere, "CHANGEOVER_MIDI_API": ""}, "no "),
    ):
        command = [sys.executable, "-c", code]
        done = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, timeout=60)
        assert (done.returncode, done.stderr) == (0, "")
        if env["CHANGEOVER_MIDI_API"]:
            assert done.stdout.startswith(expected)
            assert len(done.stdout.splitlines()) == 1


def test_without_the_library_there_is_a_hint(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    problem = Driver.open()
    assert isinstance(problem, Problem)
    assert "python-rtmidi" in problem.what
    assert "extra 'midi'" in str(problem.hint)
    assert port_names() == ()
