"""How well messages are stamped, beside stamping in Python; sixteen guitars; 2,000 messages a second for a minute.

Run `python tests/bench/bench_ports.py` from the top of the repository; it needs jackd (JACK 2) and takes about two
minutes. The script's own send times are the truth: they are taken in another process right before each send, so the
figures hold JACK's period (1.33 ms) and everything the machine does in between. A busy machine shows in them.
"""

from __future__ import annotations

import importlib
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.listen.jack import PERIOD_S, ScriptedGuitar, environment, running_jack
from trainer.listen.arrival import Arrival, Found, Report, Trouble
from trainer.listen.ports import Listener

AIM_MEDIAN_S, AIM_P99_S = 0.003, PERIOD_S + 0.003
CHORDS = 300
FLOOD_S = 60


class Collector:
    """What a listener delivered, and beside each arrival the moment when Python had it."""

    def __init__(self) -> None:
        self.arrivals: list[Arrival] = []
        self.had: list[float] = []
        self.found = 0
        self.troubles: list[str] = []

    def put(self, reports: tuple[Report, ...]) -> None:
        now = time.monotonic()
        for report in reports:
            if isinstance(report, Arrival):
                self.arrivals.append(report)
                self.had.append(now)
            elif isinstance(report, Found):
                self.found += 1
            elif isinstance(report, Trouble):
                self.troubles.append(report.what)


@contextmanager
def listening(ports: int) -> Iterator[Collector]:
    collector = Collector()
    listener = Listener(None, collector.put)
    listener.start()
    wait(lambda: collector.found == ports)
    try:
        yield collector
    finally:
        listener.close()


def wait(until: Callable[[], bool], patience_s: float = 20) -> None:
    deadline = time.monotonic() + patience_s
    while not until() and time.monotonic() < deadline:
        time.sleep(0.01)


def wait_for(taken: Sequence[object], count: int) -> None:
    wait(lambda: len(taken) >= count)


@contextmanager
def burning() -> Iterator[None]:
    """Another thread of this interpreter that never waits."""
    over = threading.Event()

    def burn() -> None:
        while not over.is_set():
            sum(range(1000))

    thread = threading.Thread(target=burn, daemon=True)
    thread.start()
    yield
    over.set()
    thread.join()


@contextmanager
def burning_elsewhere() -> Iterator[None]:
    """The same load on the machine and none on this interpreter: what is late here is late without Python."""
    process = subprocess.Popen([sys.executable, "-c", "while True: sum(range(1000))"])
    yield
    process.kill()
    process.wait()


LOADS: dict[str, Callable[[], AbstractContextManager[None]]] = {
    "nothing else": nullcontext,
    "another thread burns": burning,
    "another process burns": burning_elsewhere,
}


def chords(count: int) -> list[tuple[float, int, bytes]]:
    """Six strings within 15 ms, ten times a second, each with its end."""
    script = []
    for chord in range(count):
        for string in range(6):
            at = chord / 10 + string * 0.003
            script.append((at, 0, bytes([0x90 + string, 40 + 5 * string, 90])))
            script.append((at + 0.07, 0, bytes([0x80 + string, 40 + 5 * string, 0])))
    return sorted(script)


def stamping() -> None:
    print(f"{CHORDS} chords of six notes and their ends; ms after the send: median, 99th percentile, most")
    print(f"aim: median {AIM_MEDIAN_S * 1e3:.1f}, 99th percentile {AIM_P99_S * 1e3:.2f} (a period and 3 ms)\n")
    for name, load in LOADS.items():
        script = chords(CHORDS)
        with ScriptedGuitar() as guitar, listening(1) as heard, load():
            sent = guitar.play_on(script)
            wait_for(heard.arrivals, len(script))
        if len(heard.arrivals) != len(script):
            print(f"  {name}: {len(heard.arrivals)} of {len(script)} came in")
            continue
        ours = [one.at - at for one, at in zip(heard.arrivals, sent, strict=True)]
        theirs = [had - at for had, at in zip(heard.had, sent, strict=True)]
        print(f"  {name:22} driver's stamps {_spread(ours)}   stamped in Python {_spread(theirs)}")
        ratio = _percentile(theirs, 0.99) / _percentile(ours, 0.99)
        print(f"  {'':22} at the 99th percentile Python is {ratio:.1f} times as late")


def callback() -> None:
    """The way not taken: RtMidi calls Python in the driver's thread, Python takes the time."""
    rtmidi = importlib.import_module("rtmidi")
    print("\nthe same through a Python callback, which takes the time itself")
    for name, load in LOADS.items():
        times: list[float] = []
        script = chords(CHORDS)
        with ScriptedGuitar() as guitar:
            midi_in = rtmidi.MidiIn(rtmidi.API_UNIX_JACK, name="callback")
            midi_in.open_port(0)
            midi_in.set_callback(lambda _message, _data, times=times: times.append(time.monotonic()))
            with load():
                sent = guitar.play_on(script)
                wait_for(times, len(script))
            midi_in.delete()
        late = [had - at for had, at in zip(times, sent, strict=False)]
        print(f"  {name:22} {len(times)} of {len(script)} came in   {_spread(late)}")


def sixteen() -> None:
    script = [
        (chord / 20, port, bytes([0x90 + string, 40 + string, 1 + chord % 127]))
        for chord in range(200)
        for port in range(16)
        for string in range(6)
    ]
    with ScriptedGuitar(ports=16) as guitar, listening(16) as heard:
        busy = time.process_time()
        start = time.monotonic()
        guitar.play_on(script)
        wait_for(heard.arrivals, len(script))
        share = (time.process_time() - busy) / (time.monotonic() - start)
    print(f"\n16 ports x 6 strings, {len(script)} notes in 10 s: {len(script) - len(heard.arrivals)} lost,", end=" ")
    print(f"{share:.0%} of one core, {len({one.port for one in heard.arrivals})} keys, troubles {heard.troubles}")


def flood() -> None:
    memory: list[int] = []
    counted = 0
    with ScriptedGuitar() as guitar, listening(1) as heard:
        for _ in range(FLOOD_S // 5):
            guitar.play((place / 2000, bytes([0x90, place % 128, 1 + place % 127])) for place in range(10_000))
            wait_for(heard.arrivals, 10_000)
            counted += len(heard.arrivals)
            heard.arrivals.clear()
            heard.had.clear()
            guitar.sent.clear()
            memory.append(_resident_kib())
    print(
        f"2,000 messages a second for {FLOOD_S} s: {2000 * FLOOD_S - counted} lost, troubles {heard.troubles},", end=" "
    )
    print(f"memory {memory[0]} KiB after 5 s, {memory[len(memory) // 2]} half way, {memory[-1]} at the end")


def _resident_kib() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") // 1024


def _percentile(values: Sequence[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def _spread(late: Sequence[float]) -> str:
    return " ".join(f"{1e3 * _percentile(late, share):6.2f}" for share in (0.5, 0.99, 1.0))


if __name__ == "__main__":
    with running_jack() as server:
        os.environ.update(environment(server))
        print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores before it begins")
        stamping()
        callback()
        sixteen()
        flood()
