"""A class with two guitars at a real terminal: heard and graded apart, one found by playing it, a pedal leads the room.

The guitars and the pedal are processes of their own on JACK's dummy driver, 64 frames at 48 kHz.
"""

from __future__ import annotations

import json
from pathlib import Path

from tests.listen.building import AM, C, Playing
from tests.listen.jack import ScriptedGuitar, environment
from tests.listen.sending import sent
from tests.terminal.person import Terminal
from tests.terminal.test_class_lesson import changeover
from trainer.files.guitars import Guitar, save
from trainer.practice.wiring import Wiring, in_order

NAME = "Class guitar"
PORTS = (f"{NAME}:strings", f"{NAME}:strings #2")
TEMPO = 120
SHAPE_S = 4 * 60 / TEMPO
LATE_S = 1.2
"""More than half a beat after the count, even where a busy app begins the best part of a second after the pedal."""
DOWN, UP = bytes((0xBF, 64, 127)), bytes((0xBF, 64, 0))


def round_of(guitars: ScriptedGuitar, pedal: ScriptedGuitar, late_s: tuple[float, float]) -> None:
    """Tread the pedal, and play a round: each guitar changes so many seconds late."""
    (began,) = pedal.play_on([(0.0, 0, DOWN)])
    notes = []
    for port, late in enumerate(late_s):
        over = 2 * SHAPE_S + late
        playing = Playing().shape(SHAPE_S, AM, off=over - 0.05).shape(over, C, off=over + 0.5)
        notes += [(at, port, data) for at, data in sent(playing.events)]
    pedal.play_on([(0.1, 0, UP)])
    guitars.start(sorted(notes, key=lambda note: note[0]), began)
    guitars.wait()


def test_two_guitars_of_a_class(tmp_path: Path, jack: str) -> None:
    home = tmp_path / "home"
    home.mkdir()
    wiring = Wiring(strings=in_order(1), latency_ms=dict.fromkeys(range(1, 7), 0.0))
    for port in PORTS:
        save(home / "guitars.toml", port, Guitar(wiring))
    changeover(home, "class", "new", "Fridays", "--seats", "3")
    changeover(home, "class", "add", "fridays", "--port", PORTS[0])
    with ScriptedGuitar(NAME, ports=2) as guitars, ScriptedGuitar("Pedals") as pedal, Terminal(home, (200, 60)) as seen:
        words = ("drill", AM, C, "--room", "--class", "fridays", "--tempo", str(TEMPO))
        seen.run(*words, **environment(jack))
        seen.until(lambda rows: "guitars: 1" in " ".join(" ".join(rows).split()), "a guitar")
        round_of(guitars, pedal, (LATE_S, 0.0))
        rows = seen.shows("3 of 4 had it: a key marks who missed", "ms late")
        assert sum("late" in row for row in rows) == 1
        # The other one's seat is found by playing, and that is kept.
        seen.key("F3")
        seen.shows("whose guitar?")
        seen.type("2")
        seen.shows("seat 2: play a string")
        guitars.play([(0.0, bytes((0x92, 60, 90))), (0.1, bytes((0x82, 60, 0)))], 1)
        seen.shows(f"seat 2 plays on {PORTS[1]}")
        pedal.play([(0.0, DOWN), (0.1, UP)])
        # 120 exp(0.5 (3/4 - 4/5)) = 117.04
        seen.shows("3 of 4 had it at 120.", "Next: 117, slower.")
        seen.key("q")
        assert seen.ended() == 0
    shown = json.loads(changeover(home, "class", "show", "fridays", "--json"))
    assert [seat["port"] for seat in shown["seats"]] == [None, PORTS[1], None, PORTS[0]]
    told = json.loads(changeover(home, "class", "results", "fridays", "--json"))
    assert [(seat["rounds"], seat["had"]) for seat in told["seats"]] == [(1, 1)] * 3 + [(1, 0)]
