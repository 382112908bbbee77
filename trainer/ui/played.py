"""From what the log holds to what a player reads: names of shapes, of ways to time and of sources; and to a drill."""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType

from trainer.errors import ChangeoverError, plain
from trainer.fretboard.instrument import Instrument
from trainer.fretboard.shape import Shape
from trainer.fretboard.stock import STOCK
from trainer.fretboard.text import parse_shape, print_shape
from trainer.practice.drill import Drill, Step, read_change_key
from trainer.practice.phases import Mode
from trainer.practice.record import How, Series, Texture, Timing
from trainer.practice.wording import MODE_NAMES

TIMED = MappingProxyType(
    {
        Timing.HEARD: "heard",
        Timing.BEAT: MODE_NAMES[Mode.PACED],
        Timing.LEAVE: MODE_NAMES[Mode.PRESSES],
        Timing.CUE: MODE_NAMES[Mode.CUED],
    }
)
"""How a time was taken, as the player reads it."""
ARROW = " → "
"""Stands between the names of both shapes of a change."""
_LONG_MS = 99_995
"""From here on two digits after the point would no longer fit the axis of a plot or a column."""
_NAMES = {parse_shape(text): name for name, text in STOCK.items()}
"""What the stock calls its shapes."""


def name_of(key: str) -> str:
    """Return a change's shapes by their stock names, in text form where they have none; the key where it is none."""
    try:
        _, shapes = read_change_key(key)
    except (ChangeoverError, ValueError):
        return key
    return ARROW.join(stock_name(shape) or print_shape(shape) for shape in shapes)


def short_name_of(key: str) -> str:
    """Return a change's shapes in less room: those without a name by their frets alone, `x57x65`, where those fit."""
    try:
        _, shapes = read_change_key(key)
    except (ChangeoverError, ValueError):
        return key
    return ARROW.join(stock_name(shape) or _frets(shape) for shape in shapes)


def source_name(source: str) -> str:
    """Return where events came from as a player reads it.

    ALSA and JACK call a port by its client and by itself, and most clients repeat their name: `Six:Six MIDI 1`.
    """
    client, colon, port = plain(source).partition(":")
    if not colon:
        return client
    port = port.strip()
    return port if port.startswith(client) else f"{client} {port}".strip()


def by_heart(how: How) -> str:
    """Return what is added where shapes were recalled, `, by heart`; nothing where they were read."""
    return ", by heart" if how is How.RECALLED else ""


def timed_by(kind: Series) -> str:
    """Return how the times of a series were taken: `two presses from keys`, `heard from Six, by heart`."""
    tempo = "" if kind.tempo is None else f" at {kind.tempo:g}"
    texture = "" if kind.texture is Texture.BLOCK else f", {kind.texture}"
    return f"{TIMED[kind.timing]}{tempo} from {source_name(kind.source)}{texture}{by_heart(kind.how)}"


def seconds(ms: float) -> str:
    """Return a time in milliseconds as seconds, `0.84 s`; fewer digits from a hundred seconds on."""
    return f"{bare_seconds(ms)} s"


def bare_seconds(ms: float, digits: int = 2) -> str:
    """Return the same without its unit, `0.84`."""
    return f"{ms / 1000:.{digits if ms < _LONG_MS else 0}f}"


def stock_name(shape: Shape) -> str:
    """Return what the stock calls `shape`, empty where it does not know it."""
    return _NAMES.get(shape, "")


def drill_of(title: str, keys: Iterable[str]) -> Drill | None:
    """Return a drill of the shapes of these changes in the order they come; None where a key cannot be read."""
    shapes: dict[Shape, None] = {}
    instrument = Instrument()
    try:
        for key in keys:
            instrument, both = read_change_key(key)
            shapes.update((shape, None) for shape in both)
    except (ChangeoverError, ValueError):
        return None
    if len(shapes) < 2:
        return None
    steps = tuple(Step(shape, stock_name(shape)) for shape in shapes)
    return Drill(title or " - ".join(step.name for step in steps), steps, instrument=instrument)


def _frets(shape: Shape) -> str:
    """Return a shape by its frets, last string first; in full where one has two digits or is held in silence."""
    text = print_shape(shape)
    frets = [token.partition("/")[0] for token in text.split()]
    return "".join(frets) if all(len(fret) == 1 for fret in frets) else text
