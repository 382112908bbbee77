"""MIDI files read as scores, the files made with mido, their times checked against what was put in."""

from __future__ import annotations

import io
from fractions import Fraction

import mido  # type: ignore[import-untyped]  # it ships no types
import pytest

from trainer.scores.smf import read


def midi(*tracks: list[mido.Message | mido.MetaMessage], kind: int = 1, ticks: int = 480) -> bytes:
    file = mido.MidiFile(type=kind, ticks_per_beat=ticks)
    file.tracks.extend(mido.MidiTrack(track) for track in tracks)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def struck(pitch: int, length: int, channel: int = 0, wait: int = 0) -> list[mido.Message]:
    return [
        mido.Message("note_on", note=pitch, velocity=64, channel=channel, time=wait),
        mido.Message("note_off", note=pitch, channel=channel, time=length),
    ]


@pytest.mark.parametrize("kind", [0, 1])
def test_tempo_meter_and_bars(kind: int) -> None:
    head = [
        mido.MetaMessage("set_tempo", tempo=750_000),
        mido.MetaMessage("time_signature", numerator=3, denominator=4),
    ]
    body = [*struck(64, 480), *struck(65, 240, wait=480), *struck(67, 960)]
    score = read(midi(head + body, kind=0) if kind == 0 else midi(head, body), "x")
    (part,) = score.parts
    assert [(n.bar, n.at, n.duration, n.pitch) for n in part.notes] == [
        (0, 0, 1, 64),
        (0, 2, Fraction(1, 2), 65),
        (0, Fraction(5, 2), 2, 67),
    ]
    assert [(float(bar.length), bar.meter) for bar in score.bars] == [(3.0, (3, 4)), (3.0, (3, 4))]
    assert score.tempos[0].quarters == 80


def test_a_note_ends_by_velocity_0_by_being_struck_again_and_with_the_track() -> None:
    body = [
        mido.Message("note_on", note=60, velocity=9),
        mido.Message("note_on", note=60, velocity=9, time=480),
        mido.Message("note_on", note=60, velocity=0, time=480),
        mido.Message("note_on", note=62, velocity=9),
        mido.MetaMessage("end_of_track", time=240),
    ]
    (part,) = read(midi(body), "x").parts
    assert [(float(n.at), float(n.duration)) for n in part.notes] == [(0.0, 1.0), (1.0, 1.0), (2.0, 0.5)]


@pytest.mark.parametrize("turned", [False, True])
def test_a_channel_a_string_is_seen_either_way_round(turned: bool) -> None:
    opened = (64, 59, 55, 50, 45, 40)
    tracks = [struck(pitch + 1, 480, channel=5 - index if turned else index) for index, pitch in enumerate(opened)]
    score = read(midi(*tracks), "x")
    (part,) = score.parts
    assert {(n.pitch, n.printed.string) for n in part.notes} == {(p + 1, s) for s, p in enumerate(opened, start=1)}
    assert "each channel is a string of one guitar" in score.said


def test_channels_that_are_no_strings_are_parts_of_their_own() -> None:
    chord = [mido.Message("note_on", note=n, velocity=64, channel=c) for c in range(3) for n in (60, 64, 67)]
    ends = [
        mido.Message("note_off", note=n, channel=c, time=480 if (c, n) == (0, 60) else 0)
        for c in range(3)
        for n in (60, 64, 67)
    ]
    score = read(midi(chord + ends), "x")
    assert len(score.parts) == 3
    assert all(n.printed.string is None for part in score.parts for n in part.notes)


@pytest.mark.parametrize(("grid", "parts"), [(1, 1), (Fraction(1, 2), 2), (Fraction(1, 3), 3), (Fraction(1, 4), 4)])
def test_played_times_are_put_on_the_coarsest_grid_that_fits_and_it_is_said(grid: Fraction, parts: int) -> None:
    body: list[mido.Message] = []
    now = 0
    for index, off in enumerate((0, 7, -6, 5, -9, 8, 3, -4, 6, -5, 9, 2)):
        at = round(index * grid * 480) + off
        body += struck(60 + index, 20, wait=max(at - now, 0))
        now = max(at, now) + 20
    score = read(midi(body), "x")
    starts = [4 * index for index in range(len(score.bars))]
    assert [starts[n.bar] + n.at for n in score.parts[0].notes] == [index * grid for index in range(12)]
    assert any(text.startswith(f"notes put on a grid of {parts} to a quarter") for text in score.said)


def test_exact_times_stay_and_nothing_is_said() -> None:
    score = read(midi([*struck(60, 160), *struck(62, 160), *struck(64, 160)]), "x")
    assert [n.at for n in score.parts[0].notes] == [0, Fraction(1, 3), Fraction(2, 3)]
    assert score.said == ()
