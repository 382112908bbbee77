"""What one change is made of, as values: the words that screens, files and tests share."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TypeAlias

from trainer.fretboard.shape import Barre, Shape

Place: TypeAlias = tuple[int, int]
"""(string, fret)."""


class Action(StrEnum):
    """What a finger does; the first that fits, in this order."""

    KEPT = "kept"
    """Same finger, same string, same fret: it stays down."""
    GUIDE = "guide"
    """Same finger, same string, another fret: it slides in light contact."""
    SWAP = "swap"
    """It takes over a string and fret that goes on sounding, unstruck, from another finger."""
    CROSS = "cross"
    """Same finger, another string."""
    PLACE = "place"
    """It comes on."""
    LIFT = "lift"
    """It goes off."""
    FREE = "free"
    """It is in neither shape."""
    UNKNOWN = "unknown"
    """A shape does not say which finger stops a string."""


class BarreAction(StrEnum):
    """What a barre does; more than one may be true."""

    LAID = "laid"
    """It comes on."""
    RAISED = "raised"
    """It goes off."""
    KEPT = "kept"
    """It stays as it is."""
    SLID = "slid"
    """It moves to another fret in contact."""
    WIDENED = "widened"
    """It covers strings that it did not."""
    NARROWED = "narrowed"
    """It gives up strings that it covered."""
    HINGED = "hinged"
    """The finger stays at its fret and holds on while strings beyond it open or close."""


class Reach(StrEnum):
    """How a finger lies off its own fret of the hand's frame."""

    BACK = "back"
    """Towards the nut."""
    FORWARD = "forward"
    """Towards the bridge."""


class Why(StrEnum):
    """Why a string stops sounding."""

    LIFTED = "lifted"
    """Its finger goes off."""
    RESTOPPED = "restopped"
    """It is stopped anew, at another fret or by another finger."""
    DAMP = "damp"
    """An open string that would ring on into the next shape and should be stopped by hand."""


@dataclass(frozen=True, slots=True)
class Move:
    """What one finger does in a change."""

    finger: int
    """1 to 4."""
    action: Action
    """What it does."""
    start: Place | None = None
    """Where it was; a barre's finger counts by its lowest-sounding string. None where it was nowhere."""
    end: Place | None = None
    """Where it comes to, likewise."""
    mm: float | None = None
    """Straight line from start to end in millimetres, positive towards the bridge; None where either is None."""
    free_from: Fraction | None = None
    """The beat of the old shape from which it may leave; None where the beats are not known."""
    needed_by: Fraction | None = None
    """The beat of the new shape by which it must be there; None where not known or nothing new sounds by it."""
    reach: Reach | None = None
    """How it lies off the frame of the new shape beyond what is comfortable; None where it does not."""


@dataclass(frozen=True, slots=True)
class BarreMove:
    """What one barre does in a change."""

    actions: tuple[BarreAction, ...]
    """At least one."""
    start: Barre | None
    """Where it lay; a single string (width 1) where it hinges from a fingertip; None where it was nowhere."""
    end: Barre | None
    """Where it comes to lie, likewise."""


@dataclass(frozen=True, slots=True)
class Shift:
    """How far the hand's frame moves along the neck, positive towards the bridge."""

    frets: int
    """In frets."""
    mm: float
    """In millimetres, between the two places of finger 1."""


@dataclass(frozen=True, slots=True)
class Change:
    """The way from one shape to the next."""

    before: Shape
    """The shape that is left."""
    after: Shape
    """The shape that is reached."""
    moves: tuple[Move, ...]
    """One for each finger, 1 to 4."""
    barres: tuple[BarreMove, ...]
    """What each barre does, in finger order."""
    positions: tuple[int | None, int | None]
    """The fret where finger 1 would lie, before and after; None for a shape without placed fingers."""
    shift: Shift | None
    """The hand's own move; None where a position is not known."""
    spans: tuple[float | None, float | None]
    """Millimetres between the outermost fingertips, before and after; None where no finger is known."""
    rings: tuple[int, ...]
    """Strings that ring through, last string first."""
    stops: tuple[tuple[int, Why], ...]
    """Strings that stop sounding, last string first, with why."""
    squeaks: tuple[int, ...]
    """Wound strings along which something slides."""
    buys_time: tuple[int, ...]
    """Open strings that sound while the hand shifts."""
    watch: int | None
    """The finger to watch; None where none has anywhere to go."""

    def move(self, finger: int) -> Move:
        """Return what finger 1 to 4 does."""
        return self.moves[finger - 1]

    def doing(self, action: Action) -> tuple[Move, ...]:
        """Return the moves of every finger that does `action`, in finger order."""
        return tuple(move for move in self.moves if move.action is action)
