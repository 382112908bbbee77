"""Takes: our own as any MIDI program reads them, others' with their strings guessed, broken ones in one line."""

from __future__ import annotations

import json
from io import BytesIO
from itertools import pairwise
from pathlib import Path

import mido  # type: ignore[import-untyped]  # it ships no types
import pytest

from tests.listen.building import AM, BLOCKS, C, Playing, drill
from tests.listen.sending import GUITAR, played, sent
from tests.listen.takes import TAKES, as_midi, played_drill, read_take, report, strums
from trainer.errors import ChangeoverError
from trainer.listen import smf
from trainer.listen.ear import Ear
from trainer.listen.entries import Broke, Entry, Expected, Message, Paced, Waited
from trainer.listen.matcher import Grid
from trainer.listen.take import LARGEST, TakeWriter, grade, parse_take, replay
from trainer.practice.wiring import Trigger, Wiring

EVERYTHING: tuple[Entry, ...] = (
    Expected(0, 2),
    Paced(0.00002, Grid(0.1, 60 / 97, 1)),
    Message(0.00002, b"\x90\x40\x40"),
    Message(1.5, b"\xc5\x07"),
    Waited(2.5),
    Message(1.75, b"\xff"),
    Broke(3),
    Paced(4, None),
    Message(20_000, b"\x80\x40\x00"),
)
FULL = Wiring(
    strings={11: 1, 12: 2},
    master=16,
    bend_semitones=48.0,
    latency_ms={1: 6.1, 2: 8.123456789},
    latency_all_ms=3.0,
    levels={1: -4.5},
    calls={Trigger("control", 64): "press", Trigger("note", 30, 16): "next"},
)


def kept(entries: tuple[Entry, ...], wiring: Wiring = FULL, title: str = "Am - C") -> bytes:
    file = BytesIO()
    writer = TakeWriter(file, wiring, title)
    for entry in entries:
        writer.keep(entry)
    return file.getvalue()


class TestOurs:
    def test_comes_back_as_it_was_kept(self) -> None:
        take = parse_take(kept(EVERYTHING), "x.mid")
        assert take.entries == EVERYTHING
        assert (take.wiring, take.drill, take.remarks) == (FULL, "Am - C", ())
        assert take.program

    def test_any_midi_program_plays_it(self) -> None:
        read = mido.MidiFile(file=BytesIO(kept(EVERYTHING)))
        assert (read.type, len(read.tracks)) == (0, 1)
        assert read.tracks[0].name == "Am - C"
        now, notes = 0.0, []
        for message in read:
            now += message.time
            if message.type in {"note_on", "note_off"}:
                notes.append((round(now, 5), message.type, message.channel, message.note))
        assert notes == [(0.00002, "note_on", 0, 64), (20_000.0, "note_off", 0, 64)]

    def test_one_tick_is_20_microseconds(self) -> None:
        data = kept((Message(0.00002, b"\x90\x40\x40"),))
        assert int.from_bytes(data[12:14], "big") == 25_000
        assert b"\x00\xff\x51\x03\x07\xa1\x20" in data  # 500,000 microseconds to a quarter
        assert b"\x01\x90\x40\x40" in data

    def test_after_every_entry_the_file_is_whole(self) -> None:
        for count in range(len(EVERYTHING) + 1):
            data = kept(EVERYTHING[:count])
            take = parse_take(data, "x.mid")
            assert (take.entries, take.remarks) == (EVERYTHING[:count], ())
            assert len(mido.MidiFile(file=BytesIO(data)).tracks) == 1

    def test_killed_between_any_two_writes_it_keeps_what_was_there(self) -> None:
        class Killed(BytesIO):
            left = 1000

            def write(self, data: object) -> int:
                self.left -= 1
                return super().write(data) if self.left >= 0 else 0  # type: ignore[arg-type]  # as bytes come

        for writes in range(3, 3 + 2 * len(EVERYTHING)):
            file = Killed()
            file.left = writes
            writer = TakeWriter(file, FULL, "Am - C")
            for entry in EVERYTHING:
                writer.keep(entry)
            entries = parse_take(file.getvalue(), "x.mid").entries
            assert entries == EVERYTHING[: len(entries)]
            assert len(entries) >= (writes - 3) // 2

    def test_cut_off_anywhere_it_keeps_what_came_before(self) -> None:
        whole = kept(EVERYTHING)
        start = len(kept(()))
        for cut in range(start, len(whole) - 4):
            take = parse_take(whole[:cut], "x.mid")
            assert take.entries == EVERYTHING[: len(take.entries)]
            assert take.remarks == ("the file breaks off: what came before that is read",)

    def test_a_title_steers_nothing(self) -> None:
        take = parse_take(kept((), title="\x1b[2J\ud800[b]x"), "x.mid")
        assert take.drill == "·[2J·[b]x"

    @pytest.mark.parametrize(
        "line",
        [
            "{",
            '{"at": 1}',
            '{"at": "x", "expect": 1}',
            '{"at": 1, "expect": null}',
            '{"at": 1, "pace": {"at": 0, "beat_s": 0, "step": 0}}',
            '{"at": 1, "pace": {"at": NaN, "beat_s": 1, "step": 0}}',
            '{"at": 1, "pace": 7}',
            '{"at": 1e999, "lost": true}',
            "[" * 100_000,
        ],
    )
    def test_a_damaged_line_is_refused_in_one_line(self, line: str) -> None:
        with_line = smf.meta(smf.TEXT, b"changeover " + line.encode())
        data = kept((Message(0, b"\x90\x40\x40"),))
        data = data.replace(b"\x00\x90\x40\x40", b"\x00\x90\x40\x40\x00" + with_line)
        data = data[:18] + (len(data) - 22).to_bytes(4, "big") + data[22:]
        with pytest.raises(ChangeoverError, match="a line of this program in it is damaged"):
            parse_take(data, "x.mid")

    @pytest.mark.parametrize(
        "change",
        [
            {"wiring": None}, {"wiring": {}}, {"wiring": {"strings": {"17": 1}}},
            {"wiring": {"calls": [["cry", 1, 1]]}},
            {"wiring": {"calls": [["control", 1.5, 1]]}}, {"wiring": {"latency_ms": {"1": "NaN"}}},
            {"wiring": {"levels": {"1": []}}}, {"wiring": {"strings": [1]}},
        ],
    )  # fmt: skip
    def test_a_damaged_wiring_is_refused_in_one_line(self, change: dict[str, object]) -> None:
        data = kept(())
        start = data.index(b"changeover {") + len(b"changeover ")
        head = json.loads(data[start : data.index(b"\x00\xff\x2f")])
        wiring = change["wiring"]
        head["wiring"] = {**head["wiring"], **wiring} if isinstance(wiring, dict) and wiring else wiring
        body = b"\0" + smf.meta(smf.TEXT, b"changeover " + json.dumps(head).encode())
        with pytest.raises(ChangeoverError, match="a line of this program in it is damaged"):
            parse_take(smf.head(96) + smf.TRACK + len(body).to_bytes(4, "big") + body, "x.mid")

    def test_a_newer_one_is_refused(self) -> None:
        data = kept(()).replace(b'{"take": 1', b'{"take": 2')
        with pytest.raises(ChangeoverError, match="kept by a newer version"):
            parse_take(data, "x.mid")

    def test_one_of_another_drill_is_refused(self) -> None:
        take = parse_take(kept((Expected(0, 5),)), "x.mid")
        with pytest.raises(ChangeoverError, match="the take asks for shape 6 and the drill has 2"):
            grade(take, drill(AM, C))

    def test_it_is_refused_before_anything_of_it_is_told(self) -> None:
        take = parse_take(kept((Message(0.5, b"\x90\x40\x40"), Expected(1, 5))), "x.mid")
        with pytest.raises(ChangeoverError, match="the take asks for shape 6"):
            next(replay(take, drill(AM, C)))


ORDERS = {
    "string 1 on channel 1": {string: string for string in range(1, 7)},
    "string 6 on channel 1": {string: 7 - string for string in range(1, 7)},
    "string 1 on channel 11": {string: 10 + string for string in range(1, 7)},
    "string 6 on channel 2": {string: 8 - string for string in range(1, 7)},
}
FILES = sorted(TAKES.glob("*.events.json"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
class TestOthers:
    """Annotated takes of real playing (tests/data/takes/README.md), written by mido as other programs write them."""

    @pytest.mark.parametrize("order", ORDERS)
    def test_a_channel_for_each_string_is_found_out(self, path: Path, order: str) -> None:
        played_strums = strums(read_take(path))
        take_drill = played_drill(played_strums, path.stem)
        channels = ORDERS[order]
        take = parse_take(as_midi(read_take(path), channels=channels), "x.mid", take_drill)
        used = {channels[note.string]: note.string for note in read_take(path)}
        assert used.items() <= take.wiring.strings.items()
        assert take.remarks[0].startswith("guessed from the pitches: channels")
        assert not take.wiring.latency_ms
        found = report(played_strums, grade(take, take_drill))
        assert found.found == found.changes
        assert found.median_s <= 0.0006  # a tick of 480 to a quarter of half a second lasts 1.04 ms

    def test_without_the_drill_the_pitches_tell(self, path: Path) -> None:
        take = parse_take(as_midi(read_take(path), channels=ORDERS["string 6 on channel 1"]), "x.mid")
        assert take.wiring.strings == {channel: 7 - channel for channel in range(1, 7)}

    def test_a_track_for_each_string_is_found_out(self, path: Path) -> None:
        played_strums = strums(read_take(path))
        take_drill = played_drill(played_strums, path.stem)
        take = parse_take(as_midi(read_take(path), tracks=True), "x.mid", take_drill)
        assert take.remarks[0].startswith("guessed from the pitches: tracks")
        found = report(played_strums, grade(take, take_drill))
        assert found.found == found.changes

    def test_one_channel_is_pitches_only(self, path: Path) -> None:
        played_strums = strums(read_take(path))
        take_drill = played_drill(played_strums, path.stem)
        take = parse_take(as_midi(read_take(path), kind=0), "x.mid", take_drill)
        assert (take.wiring, take.remarks) == (
            Wiring(), ("strings are not told apart: only pitches are heard",),
        )  # fmt: skip
        found = report(played_strums, grade(take, take_drill))
        assert found.found / found.changes >= 0.95


def piano(*channels: int) -> bytes:
    """Return two hands on channels of their own."""
    hands = zip(channels, ((36, 43, 48), (72, 76, 79)), strict=True)
    track = mido.MidiTrack(
        mido.Message(kind, channel=channel - 1, note=note, velocity=70, time=100)
        for channel, hand in hands
        for note in hand
        for kind in ("note_on", "note_off")
    )
    out = BytesIO()
    mido.MidiFile(tracks=[track]).save(file=out)
    return out.getvalue()


def test_two_hands_of_a_piano_are_no_strings() -> None:
    assert parse_take(piano(1, 2), "x.mid").wiring == Wiring()


def test_an_mpe_zone_is_taken_for_one() -> None:
    zone = b"\x00\xb0\x65\x00\x00\x64\x00".replace(b"\x64\x00", b"\x64\x06") + b"\x00\x06\x06"
    notes = b"".join(
        b"\x10" + bytes((0x90 | channel, pitch, 80)) for channel, pitch in enumerate((40, 45, 50, 55, 59, 64), start=1)
    )
    body = zone + notes
    take = parse_take(smf.head(96) + smf.TRACK + len(body).to_bytes(4, "big") + body, "x.mid")
    assert (take.wiring.master, take.wiring.bend_semitones) == (1, 48.0)
    assert take.wiring.strings == {2: 6, 3: 5, 4: 4, 5: 3, 6: 2, 7: 1}


def test_a_file_that_is_too_large_is_refused() -> None:
    with pytest.raises(ChangeoverError, match="larger than 16 MB"):
        parse_take(bytes(LARGEST + 1), "x.mid")


def test_notes_that_are_cut_short_by_an_escape_say_nothing() -> None:
    body = b"\x00\xf7\x01\x90\x00\xf7\x00\x00\x90\x40\x40"
    take = parse_take(smf.head(96) + smf.TRACK + len(body).to_bytes(4, "big") + body, "x.mid", drill(AM, C))
    assert grade(take, drill(AM, C)) == ()


def test_times_are_those_of_the_file() -> None:
    ear = Ear(BLOCKS, GUITAR)
    stream = played(BLOCKS, 10, 1)
    changes = [change for at, data in stream for change in ear.hear(at, data).changes if change.landed_s is not None]
    assert len(changes) > 8
    onsets = {round(at * 1000) for at, _ in stream}
    for change in changes:
        late = {round(1000 * (change.landed_s or 0.0) + ms) for ms in GUITAR.latency_ms.values()}
        assert late & (onsets | {onset + 1 for onset in onsets} | {onset - 1 for onset in onsets})


def test_playing_sent_without_latency_lands_where_it_was_struck() -> None:
    stream = sent(Playing().shape(1, AM, apart=0).shape(2, C, apart=0).events)
    ear = Ear(drill(AM, C), Wiring(strings=GUITAR.strings))
    (landed,) = [change for at, data in stream for change in ear.hear(at, data).changes]
    assert (landed.struck_s, landed.landed_s, landed.change_ms) == (1.0, 2.0, 0.0)


def test_pieces_follow_each_other() -> None:
    take = parse_take(kept(EVERYTHING), "x.mid")
    moments = [entry.at for entry in take.entries if isinstance(entry, Message)]
    assert all(first <= second for first, second in pairwise(moments))
