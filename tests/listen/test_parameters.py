"""Registered parameters: how one is chosen, and that data entry for another is taken for none of them (MIDI 1.0)."""

from __future__ import annotations

import pytest

from trainer.fretboard.instrument import Instrument
from trainer.listen import wire
from trainer.listen.bends import Bends
from trainer.listen.parameters import BEND_RANGE, NONE, ZONE, Parameter, chosen
from trainer.listen.setup.learning import Learning
from trainer.listen.smf import Event
from trainer.listen.strings import guess
from trainer.practice.wiring import MPE_BEND_SEMITONES, Wiring

REGISTERED_COARSE, REGISTERED_FINE, OTHER_COARSE, OTHER_FINE, DATA = 101, 100, 99, 98, 6
BEND_CHOSEN = [(REGISTERED_COARSE, 0), (REGISTERED_FINE, 0)]
ZONE_CHOSEN = [(REGISTERED_COARSE, 0), (REGISTERED_FINE, 6)]
OTHER_CHOSEN = [(OTHER_COARSE, 1), (OTHER_FINE, 8)]


@pytest.mark.parametrize(
    ("controllers", "parameter"),
    [
        ([], NONE),
        (BEND_CHOSEN, BEND_RANGE),
        (BEND_CHOSEN[::-1], BEND_RANGE),
        (ZONE_CHOSEN, ZONE),
        ([*ZONE_CHOSEN, (REGISTERED_FINE, 0)], BEND_RANGE),
        ([*BEND_CHOSEN, (DATA, 12), (7, 100)], BEND_RANGE),
        ([*BEND_CHOSEN, *OTHER_CHOSEN], NONE),
        ([*BEND_CHOSEN, *OTHER_CHOSEN[1:]], NONE),
        ([*OTHER_CHOSEN, *BEND_CHOSEN], BEND_RANGE),
    ],
)
def test_what_is_chosen(controllers: list[tuple[int, int]], parameter: Parameter) -> None:
    now = NONE
    for controller, value in controllers:
        now = chosen(now, controller, value)
    assert now == parameter


class TestDataEntryForAnotherParameter:
    """A guitar that chose the range of the bend, and then sets something of its maker's own."""

    SENT = (*BEND_CHOSEN, (DATA, 12), *OTHER_CHOSEN, (DATA, 99))

    def test_while_the_strings_are_learned(self) -> None:
        learning = Learning()
        for controller, value in self.SENT:
            learning = learning.observe(wire.Message(wire.CONTROL, 1, controller, value))
        assert learning.bend_semitones == 12

    def test_while_it_is_played(self) -> None:
        bends = Bends(Wiring())
        for controller, value in self.SENT:
            bends.control(1, controller, value)
        bends.bend(1, 16383)
        assert bends.semitones(1) == pytest.approx(12, abs=0.01)

    @pytest.mark.parametrize(
        ("controllers", "master"), [([*ZONE_CHOSEN, (DATA, 6)], 1), ([*ZONE_CHOSEN, *OTHER_CHOSEN, (DATA, 6)], None)]
    )
    def test_in_a_file(self, controllers: list[tuple[int, int]], master: int | None) -> None:
        guitar = Instrument()
        sent = [bytes((wire.CONTROL, controller, value)) for controller, value in controllers]
        sent += [bytes((wire.NOTE_ON | (7 - string), guitar.pitch(string, 3), 80)) for string in range(1, 7)]
        wiring = guess([Event(0, 0, data) for data in sent], guitar).wiring
        assert len(wiring.strings) == 6
        assert wiring.master == master
        assert (wiring.bend_semitones == MPE_BEND_SEMITONES) is (master is not None)
