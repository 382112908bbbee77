"""The click and the reference chord beside a conductor: one clock, and practice goes on whatever sounds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from queue import SimpleQueue

import pytest
from textual.app import App, ComposeResult

from tests.ui.drilling_fakes import DRIFT, LATE_S, Card, HandClock, stage
from trainer.errors import ChangeoverError
from trainer.files.settings import Settings
from trainer.practice import events
from trainer.practice.effects import StartBeat
from trainer.practice.phases import Mode, Phase
from trainer.practice.quick import from_shapes
from trainer.sound.beat import Pattern
from trainer.sound.metronome import Metronome
from trainer.sound.ways import Choice, Way
from trainer.ui.drilling.parts import Beats, Figure
from trainer.ui.drilling.sounding import Sounding, accents
from trainer.ui.services import Services
from trainer.ui.widgets.readout import Readout

DRILL = from_shapes(["C", "F"])
PATIENCE_S = 20


class Threads(HandClock):
    """A clock turned by hand that takes what other threads hand over, one thing at a time."""

    def __init__(self) -> None:
        super().__init__()
        self.handed_over: SimpleQueue[Callable[[], None]] = SimpleQueue()

    def soon(self, then: Callable[[], None]) -> None:
        self.handed_over.put(then)

    def take_one(self) -> None:
        self.handed_over.get(timeout=PATIENCE_S)()


class Room:
    """A sounding with everything around it in the test's hands."""

    def __init__(self, home: Path, way: Way = Way.SOUND, why: str = "", **settings: object) -> None:
        self.clock = Threads()
        self.card = Card(lambda: self.clock.now)
        self.rung = 0
        self.said: list[str] = []
        self.asked: list[tuple[Way, bool]] = []
        given = Settings(**settings)  # type: ignore[arg-type]  # the tests give what settings take
        self.services = Services(given, home / "settings.toml", home / "log.db", clock=lambda: self.clock.now)

        @contextmanager
        def opening(wanted: Way, _: object, __: float, *, only: bool) -> Iterator[tuple[Metronome, Choice]]:
            self.asked.append((wanted, only))
            yield self.card, Choice(way, "", why)

        self.services.opening = opening
        self.sounding = self.another()

    def another(self) -> Sounding:
        return Sounding(self.services, DRILL, self.clock, self.ring, self.said.append)

    def ring(self) -> None:
        self.rung += 1


@pytest.fixture
def room(tmp_path: Path) -> Callable[..., Room]:
    return lambda *way, **settings: Room(tmp_path, *way, **settings)


class TestClick:
    def test_beats_fall_when_the_card_lets_them_be_heard(self, room: Callable[..., Room], tmp_path: Path) -> None:
        here = room()
        here.sounding.start()
        here.clock.take_one()
        on = stage(tmp_path / "log.db", Mode.PACED, tempo=120, clock=here.clock, click=here.sounding)
        ticks: list[float] = []
        send = on.conductor.send

        def watch(event: events.Event) -> None:
            if isinstance(event, events.Beat):
                ticks.append(event.at)
            send(event)

        on.conductor._pacing._ticker._send = watch
        on.press()
        began = here.clock.now
        on.clock.turn(6)
        assert on.conductor.session.phase is Phase.PLAYING
        assert ticks[:9] == pytest.approx([began + LATE_S + number * 0.5 * DRIFT for number in range(9)])

    def test_the_click_ends_with_the_run(self, room: Callable[..., Room], tmp_path: Path) -> None:
        here = room()
        here.sounding.start()
        here.clock.take_one()
        on = stage(tmp_path / "log.db", Mode.PACED, tempo=120, clock=here.clock, click=here.sounding)
        on.press()
        on.clock.turn(1)
        assert (len(here.card.played), here.card.stopped) == (1, 0)
        on.conductor.send(events.Pause(on.clock.now))
        assert here.card.stopped == 1

    def test_what_is_set_is_what_is_clicked(self, room: Callable[..., Room]) -> None:
        here = room(click_parts=3, click_accents=(1, 3), silent_bars=True)
        here.sounding.start()
        here.clock.take_one()
        here.sounding.begin(StartBeat(1, 90, 1))
        assert here.card.played == [(90, Pattern(4, (1, 3), 3, 1, 2))]

    @pytest.mark.parametrize(
        ("meter", "accented"), [((4, 4), (1,)), ((3, 4), (1,)), ((6, 8), (1, 4)), ((9, 8), (1, 4, 7)), ((3, 8), (1,))]
    )
    def test_a_compound_meter_has_an_accent_on_each_three(
        self, meter: tuple[int, int], accented: tuple[int, ...]
    ) -> None:
        assert accents(meter, Settings()) == accented

    def test_accents_beyond_the_bar_are_left_out(self) -> None:
        assert accents((4, 4), Settings(click_accents=(1, 3, 7))) == (1, 3)


class TestWithoutADevice:
    def test_the_bell_takes_its_place_and_it_is_said_once(self, room: Callable[..., Room]) -> None:
        here = room(Way.BELL, "there is no sound device")
        for sounding in (here.sounding, here.another()):
            sounding.start()
            here.clock.take_one()
        assert here.said == ["No click by sound: there is no sound device. The terminal's bell rings the beat."]
        here.sounding.begin(StartBeat(1, 60, 1))
        here.sounding.bell(True)
        assert here.rung == 1

    def test_a_port_that_nobody_asked_for_rings_too(self, room: Callable[..., Room]) -> None:
        here = room(Way.PORT, "there is no sound device")
        here.sounding.start()
        here.clock.take_one()
        here.sounding.begin(StartBeat(1, 60, 1))
        here.sounding.bell(True)
        assert (here.rung, len(here.card.played)) == (1, 1)
        assert here.said[0].endswith("It goes out on the MIDI port Changeover click, and the bell rings.")

    def test_silent_bars_are_silent_on_the_bell_too(self, room: Callable[..., Room]) -> None:
        here = room(click="bell", silent_bars=True)
        here.sounding.begin(StartBeat(1, 60, 1))
        rung = []
        for _ in range(16):
            here.sounding.bell(False)
            rung.append(here.rung)
        assert rung == [1, 2, 3, 4, 5, 6, 7, 8, 8, 8, 8, 8, 9, 10, 11, 12]
        assert here.asked == []

    @pytest.mark.parametrize(
        ("settings", "beats", "go"), [({"click": "none"}, 0, 1), ({"bell": False}, 0, 0), ({}, 0, 1)]
    )
    def test_the_bell_rings_for_go_but_no_beat_that_sounds_or_is_not_to(
        self, room: Callable[..., Room], settings: dict[str, object], beats: int, go: int
    ) -> None:
        here = room(**settings)
        here.sounding.begin(StartBeat(1, 60, 1))
        here.sounding.bell(True)
        assert here.rung == beats
        here.sounding.end()
        here.sounding.bell(True)
        assert here.rung == beats + go

    def test_beats_fall_by_the_programs_clock_while_nothing_is_open(self, room: Callable[..., Room]) -> None:
        here = room()
        moments = here.sounding.begin(StartBeat(1, 120, 1))
        assert moments(Fraction(4)) == here.clock.now + 2
        here.clock.take_one()
        assert moments(Fraction(4)) == pytest.approx(here.clock.now + 2 * DRIFT)


class TestChord:
    def test_it_sounds_beside_the_click_through_the_same_device(self, room: Callable[..., Room]) -> None:
        here = room()
        here.sounding.chord(0, 60)
        here.clock.take_one()  # the device is open
        here.clock.now += 0
        here.clock.turn(0)
        while not here.card.sounded:
            here.clock.take_one()
        (samples,) = here.card.sounded
        assert samples.any()
        assert here.asked == [(Way.SOUND, False)]

    def test_where_the_click_is_the_bell_a_device_is_opened_for_it_alone(self, room: Callable[..., Room]) -> None:
        here = room(click="bell")
        here.sounding.chord(1, 60)
        while not here.card.sounded:
            here.clock.take_one()
        assert here.asked == [(Way.SOUND, True)]

    def test_where_there_is_no_device_that_is_said(
        self, room: Callable[..., Room], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        here = room(Way.NONE, "there is no sound device", click="none")
        monkeypatch.setattr(here.card, "sound", lambda _: False)
        here.sounding.chord(1, 60)
        while not here.said:
            here.clock.take_one()
        assert here.said[0] == "No chord can sound: there is no sound device."


def test_a_device_that_fails_breaks_nothing(tmp_path: Path) -> None:
    here = Room(tmp_path)

    def fail(*_: object, **__: object) -> None:
        raise ChangeoverError()

    here.services.opening = fail  # type: ignore[assignment]  # it fails
    sounding = here.another()
    moments = sounding.begin(StartBeat(1, 60, 1))
    here.clock.take_one()
    assert moments(Fraction(1)) == here.clock.now + 1
    sounding.bell(True)
    assert here.rung == 1
    sounding.end()
    sounding.close()


@pytest.mark.parametrize("width", [60, 80])
async def test_six_beats_stand_whole_with_their_strings_above_and_both_accents(width: int) -> None:
    class Row(App[None]):
        def get_theme_variable_defaults(self) -> dict[str, str]:
            return dict.fromkeys(("dim", "good", "beat", "warn"), "#888888")

        def compose(self) -> ComposeResult:
            yield Readout(fine=False)

        def on_mount(self) -> None:
            self.query_one(Readout).styles.height = 4
            facts = (("beats per minute",), ("now 90", "last run 60"))
            beats = Beats(6, 2, 6, (1, 4), voices=("5", "", "32", "", "1", ""))
            self.query_one(Readout).show(
                Figure("beat", "", beats), Figure("landed last run", "7/9"), facts, tone="beat"
            )

    async with Row().run_test(size=(width, 4)) as pilot:
        readout = pilot.app.query_one(Readout)
        lines = readout.render().plain.splitlines()
        assert lines[0].split()[:3] == ["5", "32", "1"]
        assert " ".join(lines[2].split()).startswith("[1]")
        for mark in ("[1]", " 3 ", "[4]", " 5 ", " 6 "):
            assert mark in lines[2]
        # Each string stands over its beat.
        assert abs(lines[0].index("32") - lines[2].index("3", lines[2].index("]") + 4)) <= 2
        assert "..." not in "".join(lines)
