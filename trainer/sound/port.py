"""A MIDI port of our own that the click goes out by, for whatever instrument is connected to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from trainer.errors import wrong
from trainer.hush import hush
from trainer.practice.wiring import OWN_CLICK
from trainer.sound.beat import Weight

NAME = OWN_CLICK
"""What other programs see the port as."""
_PERCUSSION = 9
"""Channel 10, counted from 0: percussion in General MIDI."""
_HIGH, _LOW = 76, 77
"""High and low wood block (General MIDI 1, percussion key map; from memory)."""
_STROKES = {Weight.PART: (_LOW, 50), Weight.BEAT: (_LOW, 90), Weight.ACCENT: (_HIGH, 120)}
"""(note, velocity) of each kind of tick."""


def messages(weight: Weight) -> tuple[tuple[int, int, int], ...]:
    """Return the MIDI bytes of a tick: note on, then note off; none for a silent one."""
    if weight is Weight.SILENT:
        return ()
    note, velocity = _STROKES[weight]
    return (0x90 | _PERCUSSION, note, velocity), (0x80 | _PERCUSSION, note, 0)


@contextmanager
def own_port() -> Iterator[Callable[[tuple[int, int, int]], None]]:
    """Open a MIDI port of our own for others to connect to; what it gives sends three bytes.

    Raises ChangeoverError where there is no MIDI, or none that lets programs make ports.
    """
    try:
        import mido  # type: ignore[import-untyped]  # it ships no types

        hush(ahead=True)
        output: Any = mido.open_output(NAME, virtual=True)
    except Exception as error:  # rtmidi has errors of its own, and raises others where there is no MIDI
        raise wrong("no MIDI port of our own can be made", hint="'changeover ports' says why") from error
    try:
        yield lambda message: output.send(mido.Message.from_bytes(message))
    finally:
        output.close()
