"""How soon the app is there: first frame, beside a bare Textual app in the same terminal; landings shown; the way out.

Run `python tests/bench/bench_app.py`; it needs jackd (JACK 2). Each program gets a terminal of its own (a pty of 80 by
24). The first frame is there when its last words have been written; runs alternate, so that both meet the same
machine. A landing is shown when what names it has been written, which comes after its commit: from its key, and from
the last note of a shape struck by a guitar in a process of its own (JACK's dummy driver, 64 frames at 48 kHz). All is
measured in one run on one machine, so the ratios mean more than the milliseconds.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import statistics
import struct
import sys
import tempfile
import termios
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.listen.building import AM, C, Playing
from tests.listen.jack import ScriptedGuitar, environment, running_jack
from tests.listen.sending import sent
from trainer.files.guitars import Guitar, save
from trainer.practice.wiring import Wiring, in_order

ROUNDS = 15
LANDINGS = 20
PATIENCE_S = 20.0
ROOT = Path(__file__).parents[2]

BARE = """
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("bare")
Bare().run()
"""
BARE_SHOWS = b"bare"
HOME_SHOWS = b"starts "
"""What the prompt says: with it, all that the first screen has to say is there."""
LANDED = (b"run over", b"change 2 of", b"change 3 of", b"change 4 of")
"""What names each landing by ear of a run of four, in a ring."""


class Program:
    """A program in a terminal of its own."""

    def __init__(self, words: list[str], home: str) -> None:
        self.started = time.perf_counter()
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            given = {"CHANGEOVER_HOME": home, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
            # Installed modules are compiled already; in a checkout the first round compiles them, away from the tree.
            environment = os.environ | given | {"PYTHONPYCACHEPREFIX": f"{home}/compiled"}
            environment.pop("PYTHONDONTWRITEBYTECODE", None)
            os.chdir(ROOT)
            os.execve(words[0], words, environment)
        fcntl.ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))

    def until(self, shown: bytes) -> float:
        """Return when `shown` had been written, on the performance counter."""
        seen = b""
        give_up = time.perf_counter() + PATIENCE_S
        while shown not in seen:
            ready, _, _ = select.select([self.terminal], [], [], 0.5)
            if ready:
                seen = seen[-len(shown) :] + os.read(self.terminal, 1 << 16)
            if time.perf_counter() > give_up:
                raise TimeoutError(f"never written: {shown!r}")
        return time.perf_counter()

    def press(self, key: bytes) -> float:
        """Press a key and return when."""
        os.write(self.terminal, key)
        return time.perf_counter()

    def end(self, key: bytes) -> float:
        """Press the key that ends it; return how long that took in seconds."""
        asked = self.press(key)
        try:
            while os.read(self.terminal, 1 << 16):
                pass
        except OSError:  # what a terminal says on Linux whose program has gone
            pass
        os.waitpid(self.pid, 0)
        os.close(self.terminal)
        return time.perf_counter() - asked


def main() -> None:
    """Measure and print."""
    bare: list[float] = []
    ours: list[float] = []
    ways_out: list[float] = []
    with tempfile.TemporaryDirectory() as home:
        for round_ in range(ROUNDS + 1):
            for words, shows, key, times in (
                ([sys.executable, "-c", BARE], BARE_SHOWS, b"\x11", bare),
                ([sys.executable, "-m", "trainer.cli"], HOME_SHOWS, b"q", ours),
            ):
                program = Program(words, home)
                took = program.until(shows) - program.started
                left = program.end(key)
                if round_:  # the first round fills caches
                    times.append(took)
                    if times is ours:
                        ways_out.append(left)
        landings = shown_landings(home)
        heard = heard_landings(home)
    yardstick, first = statistics.median(bare), statistics.median(ours)
    print(f"first frame, bare Textual app    {1000 * yardstick:7.0f} ms")
    print(f"first frame, home screen         {1000 * first:7.0f} ms   {first / yardstick:.2f} x")
    print(f"way out, from key to process end {1000 * statistics.median(ways_out):7.0f} ms")
    for what, times in (("key", landings), ("note", heard)):
        longest = f"longest {1000 * max(times):.1f}"
        print(f"{f'landing, from {what} to its frame':<32} {1000 * statistics.median(times):7.1f} ms   {longest}")


def shown_landings(home: str) -> list[float]:
    """Return how long each landing took from its key to the frame that shows it, in seconds."""
    program = Program([sys.executable, "-m", "trainer.cli", "drill", "C", "F", "--mode", "presses"], home)
    program.until(b"quit")
    times = []
    for _ in range(LANDINGS):
        program.press(b"j")
        program.until(b"stops")
        time.sleep(0.1)
        landed = program.press(b"k")
        times.append(program.until(b"now") - landed)  # the caption that takes the place of `changing`
        time.sleep(0.1)
        program.press(b"c")  # begin anew, so that a run never ends
        program.until(b"Now:")
    program.end(b"q")
    return times


def heard_landings(home: str) -> list[float]:
    """Return how long each landing took from the last note of its shape to the frame that shows it, in seconds."""
    save(Path(home) / "guitars.toml", "Demo guitar:strings", Guitar(Wiring(strings=in_order(1))))
    times = []
    with running_jack() as server:
        os.environ.update(environment(server))
        with ScriptedGuitar("Demo guitar") as guitar:
            program = Program([sys.executable, "-m", "trainer.cli", "drill", "Am", "C", "--mode", "heard"], home)
            program.until(b"Demo guitar")
            time.sleep(1)
            for number in range(LANDINGS + 1):
                notes = sent(Playing().shape(0, (AM, C)[number % 2], off=0.2, apart=0.003).events)
                guitar.start((at, 0, data) for at, data in notes)
                shown = program.until(LANDED[number % len(LANDED)]) if number else 0.0
                struck = [at for at, (_, data) in zip(guitar.wait(), notes, strict=True) if data[0] & 0xF0 == 0x90]
                if number:
                    times.append(shown - struck[-1])
                time.sleep(0.1)
            program.end(b"q")
    return times


if __name__ == "__main__":
    main()
