"""An ear: what it gives live is what it gives of what it kept, whatever was done to it in between."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.listen.building import AM, BLOCKS, D7, FIGURES, C, G, Playing, drill, step
from tests.listen.player import Habits
from tests.listen.sending import GUITAR, ONE_CHANNEL, played, sent
from trainer.listen.ear import Ear, Heard
from trainer.listen.entries import Broke, Entry, Expected, Message, Waited, on_grid
from trainer.listen.matcher import Grid
from trainer.listen.take import TakeWriter, grade, parse_take
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.wiring import Wiring

DRILL = drill(AM, C, D7, G)
MESSY = Habits(
    calibrated=False, ghosts=0.05, octaves=0.02, dropped_ends=0.05, doubled=0.05, missed=0.1, wrong=0.05, skips=0.05,
    backs=0.05, again=0.2,
)  # fmt: skip


class Kept:
    """A take kept in memory."""

    def __init__(self, wiring: Wiring, title: str = "test") -> None:
        self.entries: list[Entry] = []
        self.file = BytesIO()
        self._writer = TakeWriter(self.file, wiring, title)

    def keep(self, entry: Entry) -> None:
        self.entries.append(entry)
        self._writer.keep(entry)


def session(played_drill: Drill, wiring: Wiring, seed: int, origin: float, kept: Kept) -> list[HeardChange]:
    """Return the finished changes of a session with everything in it that may happen, in whatever order."""
    random = Random(seed)
    grid = Grid(origin + 1, 0.5) if random.random() < 0.5 else None
    ear = Ear(played_drill, wiring, grid=grid, first=random.randrange(2), origin=origin, keep=kept.keep)
    found: list[HeardChange] = []

    def take(heard: Heard) -> None:
        found.extend(heard.changes)

    for at, data in played(played_drill, 30, seed, replace(MESSY, strings=bool(wiring.strings))):
        now = origin + at
        chance = random.random()
        if chance < 0.02:
            take(ear.expect(random.randrange(len(played_drill.steps)), now + random.uniform(-0.2, 0.1)))
        elif chance < 0.03:
            take(ear.lost(now))
        elif chance < 0.04:
            take(ear.pace(Grid(now, random.uniform(0.3, 0.7)), now))
        elif chance < 0.05:
            take(ear.pace(None, now))
        elif chance < 0.3:
            # Up to 0.4 s: a message that was held up so long comes after time was let pass without it.
            take(ear.tick(now + random.uniform(0, 0.05 if random.random() < 0.9 else 0.4)))
        take(ear.hear(now, data))
    take(ear.finish())
    return [change for change in found if change.done]


def from_origin(changes: list[HeardChange], origin: float) -> list[HeardChange]:
    return [
        replace(
            change,
            struck_s=round(change.struck_s - origin, 7),
            landed_s=None if change.landed_s is None else round(change.landed_s - origin, 7),
        )
        for change in changes
    ]


@pytest.mark.parametrize("wiring", [GUITAR, ONE_CHANNEL], ids=["by string", "one channel"])
@pytest.mark.parametrize("played_drill", [BLOCKS, FIGURES], ids=["blocks", "figures"])
@pytest.mark.parametrize("seed", range(25))
def test_a_kept_take_grades_as_the_session_did(wiring: Wiring, played_drill: Drill, seed: int) -> None:
    origin = 0.0 if seed % 2 else 86_400.12345 * seed
    kept = Kept(wiring)
    live = session(played_drill, wiring, seed, origin, kept)
    take = parse_take(kept.file.getvalue(), "x.mid", played_drill)
    assert list(take.entries) == kept.entries
    assert (take.wiring, take.drill, take.remarks) == (wiring, "test", ())
    graded = list(grade(take, played_drill))
    assert len(graded) > 10
    assert from_origin(graded, 0) == from_origin(live, on_grid(origin))
    assert [change.index for change in graded] == list(range(len(graded)))
    if origin == 0:
        assert graded == live


def test_everything_that_may_happen_has_happened_in_these_sessions() -> None:
    kinds: set[type] = set()
    for seed in range(25):
        kept = Kept(GUITAR)
        session(BLOCKS, GUITAR, seed, 0.0, kept)
        kinds |= {type(entry) for entry in kept.entries}
    assert {kind.__name__ for kind in kinds} == {"Message", "Waited", "Expected", "Paced", "Broke"}


@settings(max_examples=60)
@given(st.lists(st.tuples(st.floats(0, 0.5), st.binary(max_size=12)), max_size=60), st.integers(0, 1000))
def test_any_bytes_at_all_are_kept_and_graded_alike(pieces: list[tuple[float, bytes]], seed: int) -> None:
    kept = Kept(GUITAR)
    ear = Ear(DRILL, GUITAR, keep=kept.keep)
    random = Random(seed)
    at = 0.0
    found: list[HeardChange] = []
    for pause, data in pieces:
        at += pause
        shape = sent(Playing().shape(at, random.choice((AM, C, D7, G))).events) if random.random() < 0.5 else []
        for moment, message in [(at, data), *shape]:
            found += ear.hear(moment, message).changes
    found += ear.finish().changes
    take = parse_take(kept.file.getvalue(), "x.mid", DRILL)
    assert list(take.entries) == kept.entries
    assert list(grade(take, DRILL)) == [change for change in found if change.done]


def test_a_stream_in_any_pieces_gives_the_same() -> None:
    stream = played(DRILL, 20, 3)
    whole = Ear(DRILL, GUITAR)
    bytewise = Ear(DRILL, GUITAR)
    changes = [change for at, data in stream for change in whole.hear(at, data).changes]
    assert len(changes) > 20
    assert [c for at, data in stream for byte in data for c in bytewise.hear(at, bytes((byte,))).changes] == changes


def test_what_is_heard_is_told_on_the_clock_given_without_latency() -> None:
    ear = Ear(DRILL, GUITAR, origin=1000.0)
    (note,) = ear.hear(1001.0, b"\x94\x2d\x50").notes
    assert note.at == pytest.approx(1001.0 - 0.0182)  # string 5: two periods of A2 = 110 Hz
    heard = ear.hear(1002.0, b"\xb0\x40\x7f")
    assert [(call.at, call.id) for call in heard.calls] == [(1002.0, "press")]


def struck(ear: Ear, at: float, shape: str, **how: object) -> list[HeardChange]:
    found: list[HeardChange] = []
    for moment, data in sent(Playing().shape(at, shape, **how).events):  # type: ignore[arg-type]  # as shape takes it
        found += ear.hear(moment, data).changes
    return found


class TestLost:
    def test_half_a_change_is_dropped_and_the_last_shape_expected_again(self) -> None:
        ear = Ear(DRILL, Wiring(strings=GUITAR.strings))
        assert struck(ear, 1, AM) == []
        (landed,) = struck(ear, 2, C)
        assert (landed.landed, landed.done) == (True, False)
        assert struck(ear, 3, D7, without=[1, 2]) == []
        (done,) = ear.lost(3.5).changes
        # The change that had landed is given as done; what came after it had begun, so its verdict is there.
        assert (done.index, done.after, done.landed, done.done) == (0, 1, True, True)
        assert ear.standing == 1
        assert ear.reading.step == 1
        assert struck(ear, 10, C) == []
        (again,) = struck(ear, 11, D7)
        assert (again.index, again.before, again.after) == (1, 1, 2)

    def test_the_ends_of_what_sounded_are_told_and_held_against_nobody(self) -> None:
        ear = Ear(DRILL, Wiring(strings=GUITAR.strings))
        struck(ear, 1, AM)
        struck(ear, 2, C)
        heard = ear.lost(2.1)
        assert len(heard.notes) == 7  # strings 5 and 3 have two pitches each, none of them told to end before
        (done,) = heard.changes
        assert (done.clean, done.faults) == (None, ())

    def test_what_was_kept_of_it(self) -> None:
        kept = Kept(GUITAR)
        ear = Ear(DRILL, GUITAR, keep=kept.keep)
        ear.hear(1, b"\x94\x2d\x50")
        ear.lost(2)
        ear.expect(1, 3)
        assert kept.entries == [Message(1, b"\x94\x2d\x50"), Broke(2), Expected(3, 1)]


def test_time_that_ran_ahead_of_a_late_message_is_kept_once() -> None:
    kept = Kept(GUITAR)
    ear = Ear(DRILL, GUITAR, keep=kept.keep)
    ear.tick(5.0)
    ear.hear(4.0, b"\x94\x2d\x50")
    ear.hear(4.1, b"\x93\x34\x50")
    assert kept.entries == [Waited(5.0), Message(4.0, b"\x94\x2d\x50"), Message(4.1, b"\x93\x34\x50")]


def test_levelled_strings_have_a_balance() -> None:
    levelled = replace(GUITAR, levels={1: 5.0})
    for wiring, known in ((GUITAR, False), (levelled, True)):
        ear = Ear(drill(AM, step(C, melody=1)), wiring)
        struck(ear, 1, AM)
        (landed,) = struck(ear, 2, C)
        assert (landed.balance is not None) is known
