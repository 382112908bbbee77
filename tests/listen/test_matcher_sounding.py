"""What sounds and until when: note events become notes with a beginning, an end and bends."""

from __future__ import annotations

import pytest

from trainer.listen.matcher.settings import Filters, Settings
from trainer.listen.matcher.sounding import Note, Sounding
from trainer.practice.notes import Bend, NoteOff, NoteOn

SETTINGS = Settings(legato_s=0.25, filters=Filters(quiet=40, ghost_s=0.25, shortest_s=0.125))
"""Bounds that a float holds exactly, so that what is right at one can be tried."""


def sounding() -> Sounding:
    return Sounding(SETTINGS)


def test_a_note_sounds_until_its_end() -> None:
    heard = sounding()
    note = heard.on(NoteOn(1.0, 64, 80, 1))
    assert (note.on, note.key, note.string, note.pitch, note.velocity) == (1.0, (1, 64), 1, 64, 80)
    assert (note.legato, note.bent, note.end, note.gone(9.0)) == (False, 0.0, None, False)
    heard.off(NoteOff(2.0, 64, 1))
    assert (note.end, note.gone(2.0), note.gone(2.1), note.void) == (2.0, False, True, False)
    # Its end told once more, or that of a note that does not sound, is no matter.
    heard.off(NoteOff(3.0, 64, 1))
    heard.off(NoteOff(3.0, 65, 1))
    assert note.end == 2.0


def test_the_next_note_on_its_string_ends_it() -> None:
    heard = sounding()
    first, other, second = (heard.on(NoteOn(*each)) for each in ((1.0, 64, 80, 1), (1.5, 59, 80, 2), (2.0, 65, 80, 1)))
    assert (first.next, first.end, second.legato, other.legato) == (second, 2.0, True, False)
    heard.off(NoteOff(2.5, 64, 1))
    assert first.end == 2.0
    second.void = True
    assert first.end == 2.5, "a note too short to be struck ends none"


def test_a_note_may_be_told_before_the_end_of_the_one_before() -> None:
    # Corrected for latency, an end may lie after the onset that followed it.
    heard = sounding()
    first = heard.on(NoteOn(1.0, 64, 80, 1))
    heard.off(NoteOff(2.0, 64, 1))
    second = heard.on(NoteOn(1.75, 65, 80, 1))
    assert (first.next, first.end) == (second, 1.75)
    third = heard.on(NoteOn(3.0, 64, 80, 1))
    assert second.next is third
    assert first.next is second


def test_a_note_that_had_ended_has_no_follower() -> None:
    heard = sounding()
    first = heard.on(NoteOn(1.0, 64, 80, 1))
    heard.off(NoteOff(2.0, 64, 1))
    heard.on(NoteOn(2.0, 65, 80, 1))
    assert first.next is None


@pytest.mark.parametrize(("on", "legato"), [(2.0, True), (2.25, True), (2.26, False)])
def test_a_short_silence_is_none(on: float, legato: bool) -> None:
    heard = sounding()
    heard.on(NoteOn(1.0, 64, 80, 1))
    heard.off(NoteOff(2.0, 64, 1))
    assert heard.on(NoteOn(on, 65, 80, 1)).legato is legato


def test_without_strings_only_the_same_pitch_goes_on() -> None:
    heard = sounding()
    first = heard.on(NoteOn(1.0, 64, 80))
    other, again = heard.on(NoteOn(1.5, 65, 80)), heard.on(NoteOn(2.0, 64, 80))
    assert (other.legato, again.legato) == (False, True)
    assert (first.next, other.next, first.string) == (again, None, None)


@pytest.mark.parametrize(
    ("velocity", "length", "void"),
    [(40, 0.12, True), (40, 0.125, False), (39, 0.2, True), (39, 0.25, False)],
)
def test_what_is_too_short_was_not_struck(velocity: int, length: float, void: bool) -> None:
    heard = sounding()
    note = heard.on(NoteOn(0.0, 64, velocity, 1))
    heard.off(NoteOff(length, 64, 1))
    assert note.void is void


def bent(heard: Sounding, *bends: Bend) -> None:
    for each in bends:
        heard.bend(each)


def test_a_bend_moves_what_sounds_on_its_string() -> None:
    heard = sounding()
    first, other = heard.on(NoteOn(1.0, 64, 80, 1)), heard.on(NoteOn(1.0, 59, 80, 2))
    bent(heard, Bend(1.1, 1.5, 1), Bend(1.2, -0.5, 1), Bend(1.3, 0.0, 1))
    assert (first.low, first.high, other.low, other.high) == (-0.5, 1.5, 0, 0)
    heard.off(NoteOff(2.0, 64, 1))
    heard.bend(Bend(2.1, 2.0, 1))
    assert first.high == 1.5, "it had ended"


def test_a_bend_that_holds_is_part_of_the_pitch_and_taken_off_what_follows() -> None:
    heard = sounding()
    heard.bend(Bend(0.5, 1.4, 1))
    note = heard.on(NoteOn(1.0, 64, 80, 1))
    assert (note.key, note.bent) == ((1, 65), 1.4)
    heard.bend(Bend(1.1, 0.0, 1))
    assert (note.low, note.high) == (-1.4, 0)
    heard.off(NoteOff(2.0, 64, 1))
    assert note.end == 2.0, "its end names the pitch of its key"
    assert heard.on(NoteOn(3.0, 64, 80, 2)).key == (2, 64)


def test_a_bend_without_a_string_is_for_all() -> None:
    heard = sounding()
    heard.bend(Bend(0.5, 2.0, 1))
    notes: list[Note] = [heard.on(NoteOn(1.0, 64, 80, 1)), heard.on(NoteOn(1.0, 59, 80, 2))]
    heard.bend(Bend(1.1, 1.0))
    assert [(note.low, note.high) for note in notes] == [(-1.0, 0), (0, 1.0)]
    # It stands for strings bent before and for those that never were.
    assert [heard.on(NoteOn(2.0, 60, 80, string)).pitch for string in (1, 2, 3)] == [61, 61, 61]
