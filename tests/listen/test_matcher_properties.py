"""What must hold for any playing: one by one, in pieces, with ticks or all at once, the result is the same."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.listen.building import AM, D7, C, G, drill, step
from tests.listen.player import Habits, Player
from trainer.listen.matcher import Matcher, Settings, hear
from trainer.practice.drill import Drill
from trainer.practice.measures import HeardChange
from trainer.practice.notes import Bend, NoteEvent, NoteOff, NoteOn

ROOT = Path(__file__).parents[2]
DRILL = drill(step(AM, melody=1), step(C), step(D7), step(G, sounding_slide=True))
MESSY = Habits(
    ghosts=0.1, octaves=0.03, dropped_ends=0.05, doubled=0.05, missed=0.1, wrong=0.1, skips=0.1, backs=0.1, again=0.3
)


def ticked(played: Drill, events: list[NoteEvent], seed: int) -> tuple[list[HeardChange], list[HeardChange]]:
    """Return what is given with ticks between the events: while it is done, and in the end."""
    random = Random(seed)
    matcher = Matcher(played)
    given_: list[HeardChange] = []
    for event, following in zip_longest(events, events[1:]):
        given_ += matcher.feed(event)
        # Time as a clock beside tells it: an event is handled up to 50 ms after its corrected time.
        end = event.at + 1 if following is None else following.at
        for _ in range(random.randint(0, 3)):
            given_ += matcher.tick(random.uniform(event.at, max(event.at, end)) + random.uniform(0, 0.05))
    return given_, list(matcher.finish())


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("strings", [True, False])
def test_ticks_change_when_not_what(seed: int, strings: bool) -> None:
    events = Player(DRILL, replace(MESSY, strings=strings), seed).play(60)
    during, last = ticked(DRILL, events, seed)
    matcher = Matcher(DRILL)
    plain = [change for event in events for change in matcher.feed(event)]
    assert during + last == plain + list(matcher.finish())


@pytest.mark.parametrize("seed", range(10))
def test_landing_and_done_agree(seed: int) -> None:
    events = Player(DRILL, MESSY, seed).play(60)
    matcher = Matcher(DRILL)
    every = [change for event in events for change in matcher.feed(event)] + list(matcher.finish())
    done = [change for change in every if change.done]
    assert [change.index for change in done] == list(range(len(done)))
    by_index = {change.index: change for change in done}
    for change in every:
        assert change.clean is None or change.done
        assert (change.landed_s, change.after) == (by_index[change.index].landed_s, by_index[change.index].after)


_at = st.floats(0, 20).map(lambda value: round(value, 3))
_string = st.one_of(st.none(), st.integers(1, 6))
_events = st.lists(
    st.one_of(
        st.builds(NoteOn, _at, st.integers(30, 90), st.integers(1, 127), _string),
        st.builds(NoteOn, _at, st.sampled_from([45, 48, 52, 55, 57, 60, 64]), st.integers(40, 127), _string),
        st.builds(NoteOff, _at, st.integers(30, 90), _string),
        st.builds(Bend, _at, st.floats(-12, 12), _string),
    ),
    max_size=80,
).map(lambda events: sorted(events, key=lambda event: event.at))


@settings(max_examples=150)
@given(_events, st.integers(0, 100))
def test_any_events_at_all(events: list[NoteEvent], seed: int) -> None:
    during, last = ticked(DRILL, events, seed)
    assert [change for change in during + last if change.done] == list(hear(DRILL, events))
    for change in during + last:
        assert change.landed_s is None or change.landed_s >= change.struck_s
        assert change.change_ms is None or change.change_ms >= 0


@settings(max_examples=100)
@given(st.permutations(range(5)), st.integers(0, 100))
def test_the_order_of_arrival_within_a_strum_does_not_matter(order: list[int], seed: int) -> None:
    random = Random(seed)
    pitches = {5: 48, 4: 52, 3: 55, 2: 60, 1: 64}
    strum: list[NoteEvent] = [NoteOn(1 + random.uniform(0, 0.02), pitch, 80, s) for s, pitch in pitches.items()]
    before: list[NoteEvent] = [
        NoteOn(number / 100, pitch, 80, s)
        for number, (s, pitch) in enumerate({5: 45, 4: 52, 3: 57, 2: 60, 1: 64}.items())
    ]
    shuffled = [strum[place] for place in order]
    assert hear(DRILL, before + shuffled) == hear(DRILL, before + sorted(strum, key=lambda event: event.at))


def test_events_are_told_apart_by_the_settings_given() -> None:
    events = Player(DRILL, Habits(rolled=1.0), 1).play(20)
    assert {change.direction for change in hear(DRILL, events, Settings(block_s=1.0))} == {"block"}
    assert "block" not in {change.direction for change in hear(DRILL, events)}


def test_pure() -> None:
    """A fresh interpreter that imports the matcher has loaded neither screen, port, database nor file format."""
    code = "import json, sys, trainer.listen.matcher; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = set(json.loads(done.stdout))
    assert "trainer.listen.matcher.matcher" in loaded
    assert not {"textual", "rich", "mido", "rtmidi", "sqlite3", "numpy", "platformdirs", "tomlkit"} & loaded
    assert not {name for name in loaded if name.startswith(("trainer.ui", "trainer.files", "trainer.log"))}
