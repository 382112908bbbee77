"""The children of elements: read by tables of readers, or known to bear on nothing that is played or held."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TypeAlias, TypeVar

from trainer.scores.musicxml.xml import Node

T = TypeVar("T")

Readers: TypeAlias = Mapping[str, Callable[[T, Node], None]]
"""What reads each child of an element, by its name; the first argument is what is being read."""


def unread(node: Node, whole: T, readers: Readers[T], known: frozenset[str] = frozenset()) -> Iterator[Node]:
    """Have the children of `node` read into `whole`, and yield those that have no reader and are not `known`."""
    for kid in node.kids:
        read = readers.get(kid.tag)
        if read is not None:
            read(whole, kid)
        elif kid.tag not in known:
            yield kid


IN_MEASURE = frozenset({"print", "bookmark", "link", "grouping"})
"""Children of a bar."""
IN_NOTE = frozenset(
    {
        *("type", "dot", "accidental", "stem", "notehead", "notehead-text", "beam", "time-modification", "instrument"),
        *("staff", "voice", "duration", "chord", "grace", "cue", "pitch", "rest", "tie", "notations"),
        *("footnote", "level"),
    }
)
"""Children of a note that are read, or that repeat what its duration says."""
IN_NOTATIONS = frozenset({"tuplet", "footnote", "level", "accidental-mark"})
"""Children of notations: a tuplet's duration is already counted."""
IN_ATTRIBUTES = frozenset({"key", "part-symbol", "instruments", "directive", "footnote", "level"})
"""Children of attributes: a key changes no pitch, for each note says its own."""
IN_STAFF_DETAILS = frozenset({"staff-type", "staff-size", "line-detail"})
"""Children of staff-details."""
IN_DIRECTION = frozenset({"footnote", "level", "voice", "staff", "offset", "direction-type", "sound", "listening"})
"""Children of a direction that are read or say where it is printed."""
DIRECTION_TYPES = frozenset({"rehearsal", "bracket", "dashes", "octave-shift", "image"})
"""Kinds of direction; under an octave sign the pitches in the file are the true ones."""
IN_BARLINE = frozenset({"bar-style", "footnote", "level", "wavy-line", "segno", "coda", "fermata"})
"""Children of a bar line; the jumps are told of where they sound."""
AROUND = frozenset({"defaults", "credit", "movement-number", "work", "identification", "movement-title"})
"""Children of the score."""
