"""What the marks of a diagram mean, in the words of every hand-out."""

from __future__ import annotations

LEGEND = (
    "1 2 3 4: index, middle, ring, little finger",
    "o over a string: open; x: not played",
    "a bar: one finger across strings",
    "a ring around a finger: it stays down",
    "whole arrow: the finger slides, in light contact",
    "dashed arrow: it goes through the air",
    "small struck circle: a finger comes off there",
    "dashed circle: held, not plucked",
    "Roman numeral: the first fret shown",
)
"""One line for each kind of mark."""
