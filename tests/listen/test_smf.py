"""Standard MIDI Files against the standard's own numbers and against mido, which reads and writes them by itself."""

from __future__ import annotations

from io import BytesIO

import mido  # type: ignore[import-untyped]  # it ships no types
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.errors import ChangeoverError
from trainer.listen import smf

MOST = 10_000


def track(body: bytes) -> bytes:
    return smf.TRACK + len(body).to_bytes(4, "big") + body


def file(body: bytes, division: bytes = b"\x00\x60", kind: int = 0) -> bytes:
    return b"MThd\x00\x00\x00\x06\x00" + bytes((kind,)) + b"\x00\x01" + division + track(body)


END = b"\x00\xff\x2f\x00"


@pytest.mark.parametrize(
    ("value", "written"),
    # Standard MIDI Files 1.0, table of variable-length quantities.
    [
        (0x00, "00"), (0x40, "40"), (0x7F, "7f"), (0x80, "8100"), (0xC8, "8148"), (0x2000, "c000"), (0x3FFF, "ff7f"),
        (0x4000, "818000"), (0x100000, "c08000"), (0x1FFFFF, "ffff7f"), (0x200000, "81808000"),
        (0x0FFFFFFF, "ffffff7f"),
    ],
)  # fmt: skip
def test_variable_lengths(value: int, written: str) -> None:
    assert smf.number(value).hex() == written
    (event,) = smf.parse(file(bytes.fromhex(written) + b"\x90\x40\x40" + END), "x", MOST).events
    assert event.tick == value


def seconds(data: bytes) -> list[float]:
    found = smf.parse(data, "x", MOST)
    return [at for at, event in found.header.seconds(found.events) if event.meta is None]


class TestTime:
    def test_without_a_tempo_a_quarter_lasts_half_a_second(self) -> None:
        assert seconds(file(b"\x60\x90\x40\x40" + END)) == [0.5]

    def test_a_tempo_counts_from_where_it_stands_in_whatever_track(self) -> None:
        tempo = b"\x60\xff\x51\x03\x0f\x42\x40" + END  # a second to a quarter, from the second quarter on
        notes = b"\x60\x90\x40\x40\x60\x90\x41\x40" + END
        two = file(tempo, kind=1).replace(b"\x00\x01\x00\x60", b"\x00\x02\x00\x60") + track(notes)
        assert seconds(two) == [0.5, 1.5]
        assert [message.time for message in mido.MidiFile(file=BytesIO(two)) if message.type == "note_on"] == [0.0, 1.0]

    @pytest.mark.parametrize(
        ("division", "ticks"),
        # The upper byte is minus the frames in a second, the lower the ticks in a frame; 29 runs at 30000/1001.
        [(b"\xe8\x64", 2400), (b"\xe7\x28", 1000), (b"\xe3\x50", 30000 / 1001 * 80), (b"\xe2\x50", 2400)],
    )
    def test_smpte(self, division: bytes, ticks: float) -> None:
        tempo = b"\x00\xff\x51\x03\x00\x00\x01"
        assert seconds(file(tempo + b"\xce\x10\x90\x40\x40" + END, division)) == [pytest.approx(10000 / ticks)]


class TestEvents:
    def messages(self, body: bytes) -> list[str]:
        return [event.data.hex() for event in smf.parse(file(body + END), "x", MOST).events if event.meta is None]

    def test_running_status(self) -> None:
        assert self.messages(b"\x00\x90\x40\x40\x10\x40\x00\x00\xc0\x05\x00\x06") == [
            "904040", "904000", "c005", "c006",
        ]  # fmt: skip

    def test_running_status_ends_with_a_system_message(self) -> None:
        with pytest.raises(ChangeoverError, match="no MIDI event at byte 31"):
            self.messages(b"\x00\x90\x40\x40\x00\xf0\x01\xf7\x00\x40\x40")

    def test_what_is_no_note_is_passed_over(self) -> None:
        body = b"\x00\xf0\x03\x7e\x09\xf7\x00\xff\x03\x01x\x00\xff\x7f\x02\x7d\x01\x00\x90\x40\x40"
        assert self.messages(body) == ["904040"]

    def test_other_chunks_are_passed_over(self) -> None:
        data = file(END)[:14] + b"XFIH\x00\x00\x00\x02ab" + track(b"\x00\x90\x40\x40" + END)
        assert len(smf.parse(data, "x", MOST).events) == 1

    def test_tracks_are_merged_in_order_of_time_then_of_track(self) -> None:
        data = file(b"\x10\x90\x40\x40" + END, kind=1) + track(b"\x00\x91\x40\x40\x10\x91\x41\x40" + END)
        found = smf.parse(data, "x", MOST).events
        assert [(event.tick, event.track, event.data[0]) for event in found] == [
            (0, 1, 0x91), (16, 0, 0x90), (16, 1, 0x91),
        ]  # fmt: skip


class TestRefused:
    @pytest.mark.parametrize(
        ("data", "said"),
        [
            (b"", "no Standard MIDI File"),
            (b"RIFF\x00\x00\x00\x00", "no Standard MIDI File"),
            (file(END, kind=2), "a MIDI file of format 2"),
            (file(END, b"\x00\x00"), "its division is 0"),
            (file(END, b"\xe8\x00"), "24 SMPTE frames of 0 ticks"),
            (file(END, b"\x80\x01"), "128 SMPTE frames of 1 ticks"),
            (file(END)[:14], "a MIDI file without a track"),
            (file(b"\x00\x40\x40"), "no MIDI event at byte 23"),
            (file(b"\x00\x90\x40\x80"), "no MIDI event at byte 24"),
            (file(b"\x00\xf4\x40"), "no MIDI event at byte 23"),
            (file(b"\xff" * 2_000_000), "a number longer than four bytes at byte 22"),
            (file(b"\x00\x90\x40\x40" * (MOST + 1)), "more than 10,000 MIDI events"),
        ],
        # A file as its own name would be kept in memory a dozen times over.
        ids=lambda value: f"{len(value)} bytes" if isinstance(value, bytes) else value,
    )
    def test_in_one_line(self, data: bytes, said: str) -> None:
        with pytest.raises(ChangeoverError) as raised:
            smf.parse(data, "some.mid", MOST)
        (problem,) = raised.value.problems
        assert str(problem).startswith(f"some.mid: {said}")
        assert problem.hint

    @settings(max_examples=300)
    @given(st.binary(max_size=200), st.binary(max_size=60), st.integers(0, 200))
    def test_any_bytes_are_read_or_refused(self, body: bytes, other: bytes, cut: int) -> None:
        for data in (body, file(body), file(body)[:cut], file(body) + other, file(other, kind=1) + track(body)):
            try:
                found = smf.parse(data, "x", MOST)
            except ChangeoverError:
                continue
            assert list(found.header.seconds(found.events)) is not None


def test_a_file_that_breaks_off_keeps_what_came_before() -> None:
    whole = file(b"\x00\x90\x40\x40\x10\x80\x40\x40" + END)
    assert not smf.parse(whole, "x", MOST).broke_off
    for cut in range(22, len(whole)):
        found = smf.parse(whole[:cut], "x", MOST)
        assert found.broke_off
        assert len(found.events) == (cut >= 26) + (cut >= 30)


_message = st.one_of(
    st.builds(
        lambda kind, channel, note, velocity, time: mido.Message(
            kind, channel=channel, note=note, velocity=velocity, time=time
        ),
        st.sampled_from(["note_on", "note_off"]), st.integers(0, 15), st.integers(0, 127), st.integers(0, 127),
        st.integers(0, 70_000),
    ),
    st.builds(
        lambda pitch, time: mido.Message("pitchwheel", pitch=pitch, time=time),
        st.integers(-8192, 8191), st.integers(0, 300),
    ),
    st.builds(lambda program: mido.Message("program_change", program=program, time=1), st.integers(0, 127)),
    st.builds(
        lambda tempo, time: mido.MetaMessage("set_tempo", tempo=tempo, time=time),
        st.integers(1, 0xFFFFFF), st.integers(0, 500),
    ),
    st.builds(lambda text: mido.MetaMessage("text", text=text, time=2), st.text("abc", max_size=200)),
)  # fmt: skip


@settings(max_examples=100)
@given(st.lists(st.lists(_message, max_size=20), min_size=1, max_size=3), st.integers(1, 0x7FFF))
def test_what_mido_writes_is_read_as_mido_reads_it(tracks: list[list[mido.Message]], division: int) -> None:
    written = mido.MidiFile(type=1, ticks_per_beat=division)
    written.tracks = [mido.MidiTrack(messages) for messages in tracks]
    out = BytesIO()
    written.save(file=out)
    expected: list[tuple[object, bytes]] = []
    now = 0.0
    for message in mido.MidiFile(file=BytesIO(out.getvalue())):
        now += message.time
        if not message.is_meta:
            expected.append((pytest.approx(now, rel=1e-9, abs=1e-9), bytes(message.bytes())))
    found = smf.parse(out.getvalue(), "x", MOST)
    ours = [(at, event.data) for at, event in found.header.seconds(found.events) if event.meta is None]
    assert ours == expected
