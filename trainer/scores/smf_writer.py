"""A drill as a Standard MIDI File to play along to: a channel for each string, a bar of clicks before it."""

from __future__ import annotations

import io
from fractions import Fraction

import mido  # type: ignore[import-untyped]  # it ships no types

from trainer.fretboard.pitch import note_name
from trainer.practice.drill import Drill
from trainer.scores.smf_events import DRUMS

TICKS = 960
"""Ticks to a quarter note."""
_HIGH_CLICK, _LOW_CLICK = 76, 77
"""High and low wood block (General MIDI percussion key map)."""
_NYLON_GUITAR = 24
"""Acoustic guitar, nylon (General MIDI program 25, counted from 0)."""
_VELOCITY, _MELODY_VELOCITY, _CLICK_VELOCITY = 72, 92, 100


def channel_of(string: int) -> int:
    """Return the channel of `string`, counted from 0 and in the order of the strings; percussion's is left out."""
    return string - 1 + (string > DRUMS)


def write(drill: Drill, tempo: float | None = None) -> bytes:
    """Return `drill` once through as a MIDI file of format 1, at `tempo` beats a minute where one is given."""
    beats, value = drill.meter
    quarters = (drill.tempo if tempo is None else tempo) * 4 / value
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS, charset="utf-8")
    file.tracks.append(_conductor(drill, quarters))
    file.tracks.append(_guitar(drill, beats * drill.beat))
    data = io.BytesIO()
    file.save(file=data)
    return data.getvalue()


def _conductor(drill: Drill, quarters: float) -> mido.MidiTrack:
    beats, value = drill.meter
    tuning = " ".join(note_name(pitch) for pitch in drill.instrument.tuning)
    capo = f", capo {drill.instrument.capo}" if drill.instrument.capo else ""
    events: list[tuple[int, mido.Message | mido.MetaMessage]] = [
        (0, mido.MetaMessage("track_name", name=drill.title)),
        (0, mido.MetaMessage("text", text=f"Tuning: {tuning}{capo}")),
        (0, mido.MetaMessage("time_signature", numerator=beats, denominator=value)),
        (0, mido.MetaMessage("set_tempo", tempo=min(round(60_000_000 / quarters), 0xFFFFFF))),
    ]
    for beat in range(beats):
        at, key = _ticks(beat * drill.beat), _LOW_CLICK if beat else _HIGH_CLICK
        events.append((at, mido.Message("note_on", channel=DRUMS, note=key, velocity=_CLICK_VELOCITY)))
        events.append((at + TICKS // 16, mido.Message("note_off", channel=DRUMS, note=key)))
    return _track(events)


def _guitar(drill: Drill, lead: Fraction) -> mido.MidiTrack:
    events: list[tuple[int, mido.Message | mido.MetaMessage]] = [(0, mido.MetaMessage("track_name", name="Guitar"))]
    events += (
        (0, mido.Message("program_change", channel=channel_of(string), program=_NYLON_GUITAR))
        for string in range(1, drill.instrument.strings + 1)
    )
    for start, step in zip(drill.onsets, drill.steps, strict=False):
        plucked = step.plucked
        for stroke in plucked.strokes:
            for string in stroke.strings:
                stop = step.shape[string]
                if stop is None:
                    continue
                beats = (stroke.beat, plucked.until(string, stroke.beat))
                on, off = (lead + start + (beat - 1) * drill.beat for beat in beats)
                pitch, channel = drill.instrument.pitch(string, stop.fret), channel_of(string)
                velocity = _MELODY_VELOCITY if string == step.melody else _VELOCITY
                events.append((_ticks(on), mido.Message("note_on", channel=channel, note=pitch, velocity=velocity)))
                events.append((_ticks(off), mido.Message("note_off", channel=channel, note=pitch)))
    return _track(events)


def _track(events: list[tuple[int, mido.Message | mido.MetaMessage]]) -> mido.MidiTrack:
    """Return a track; at one moment what ends comes before what begins."""
    track = mido.MidiTrack()
    now = 0
    for at, message in sorted(
        events, key=lambda event: (event[0], event[1].type != "note_off", event[1].type == "note_on")
    ):
        track.append(message.copy(time=at - now))
        now = at
    return track


def _ticks(quarters: Fraction) -> int:
    return round(quarters * TICKS)
