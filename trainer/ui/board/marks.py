"""The marks on the board, one table: what each means, how it looks, which colour role it takes.

A mark says what it means without colour. Every glyph is one cell wide and belongs to the 652 characters of WGL4, the
set that terminal fonts cover most widely; the triangles with an emoji form are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from trainer.hand.change import Action


class Role(StrEnum):
    """What a cell of the picture is, which decides its colour; the value ends the component class `board--…`."""

    BLANK = "blank"
    """Nothing."""
    KEPT = "kept"
    """A finger that stays."""
    GUIDE = "guide"
    """A finger that slides, with its path."""
    SWAP = "swap"
    """A finger that takes over from another."""
    CROSS = "cross"
    """A finger that changes strings, with its path."""
    PLACE = "place"
    """A finger that comes on."""
    LIFT = "lift"
    """A finger that goes off."""
    BARRE = "barre"
    """The bar that joins the strings under one finger."""
    HELD = "held"
    """A finger where no movement is shown."""
    HAND = "hand"
    """The position."""
    OPEN = "open"
    """Open and unplayed strings at the nut."""
    STRING = "string"
    """A string."""
    FRET = "fret"
    """A fret wire or the nut."""
    DIM = "dim"
    """Labels."""
    HEARD = "heard"
    """A string that sounded as it should."""
    WRONG = "wrong"
    """A string that sounded and should not have."""
    MISSING = "missing"
    """A string that should have sounded."""


class Sign(StrEnum):
    """Everything the board can say about a finger, a barre or a string."""

    KEPT = "kept"
    GUIDE = "guide"
    SWAP = "swap"
    CROSS = "cross"
    PLACE = "place"
    LIFT = "lift"
    LEAVE = "leave"
    HELD = "held"
    HINGE = "hinge"
    BAR_STAYS = "bar stays"
    BAR_COMES = "bar comes"
    BAR_GOES = "bar goes"
    SLIDE = "slide"
    SQUEAK = "squeak"
    AIR = "air"
    OPEN = "open"
    OPENS = "opens"
    CLOSES = "closes"
    DAMP = "damp"
    MUTED = "muted"
    RINGS = "rings"
    HEARD = "heard"
    WRONG = "wrong"
    MISSING = "missing"
    WATCH = "watch"


@dataclass(frozen=True, slots=True)
class Mark:
    """How one sign looks and what it means."""

    meaning: str
    """For the help, in the player's words."""
    role: Role
    """Its colour role."""
    fine: str
    """Three cells: left, middle, right. The middle is replaced by a finger's number where a finger is meant."""
    plain: str
    """The same in ASCII."""
    name: str
    """One short word for the edge of a large board and for tests."""


MARKS = MappingProxyType(
    {
        Sign.KEPT: Mark("stays down", Role.KEPT, "█1█", "#1#", "stays"),
        Sign.GUIDE: Mark("slides to here along the string", Role.GUIDE, "║1║", "=1=", "guide"),
        Sign.SWAP: Mark("takes over the sounding note", Role.SWAP, "»1«", ">1<", "swap"),
        Sign.CROSS: Mark("crosses to here from another string", Role.CROSS, "[1]", "[1]", "cross"),
        Sign.PLACE: Mark("comes on", Role.PLACE, "▼1▼", "v1v", "place"),
        Sign.LIFT: Mark("goes off", Role.LIFT, "▲1▲", "^1^", "lift"),
        Sign.LEAVE: Mark("leaves this place; follow its path", Role.DIM, "(1)", "(1)", "leaves"),
        Sign.HELD: Mark("held", Role.HELD, "▐1▌", "{1}", "held"),
        Sign.HINGE: Mark("stays down, the barre hinges on it", Role.KEPT, "◊1◊", "@1@", "hinge"),
        Sign.BAR_STAYS: Mark("barre stays", Role.BARRE, "███", "###", "bar"),
        Sign.BAR_COMES: Mark("barre comes on", Role.BARRE, "▒▒▒", "%%%", "bar on"),
        Sign.BAR_GOES: Mark("barre goes off", Role.BARRE, "░░░", ":::", "bar off"),
        Sign.SLIDE: Mark("slides, finger on the string", Role.GUIDE, "═══", "===", "slide"),
        Sign.SQUEAK: Mark("slides along a wound string: mind the squeak", Role.GUIDE, "≈≈≈", "~~~", "squeak"),
        Sign.AIR: Mark("moves through the air", Role.CROSS, " ● ", " . ", "air"),
        Sign.OPEN: Mark("open string", Role.OPEN, " ○ ", " o ", "open"),
        Sign.OPENS: Mark("string opens", Role.OPEN, "[○]", "[o]", "opens"),
        Sign.CLOSES: Mark("open string is stopped", Role.OPEN, "(○)", "(o)", "stops"),
        Sign.DAMP: Mark("open string to damp by hand", Role.OPEN, "!○!", "!o!", "damp"),
        Sign.MUTED: Mark("not played", Role.OPEN, " × ", " x ", "mute"),
        Sign.RINGS: Mark("rings through the change", Role.DIM, " ~ ", " ~ ", "rings"),
        Sign.HEARD: Mark("heard", Role.HEARD, " ♪ ", " * ", "heard"),
        Sign.WRONG: Mark("wrong note", Role.WRONG, " ≠ ", "=/=", "wrong"),
        Sign.MISSING: Mark("missing", Role.MISSING, " ? ", " ? ", "missing"),
        Sign.WATCH: Mark("the finger to watch", Role.HAND, " ! ", " ! ", "watch"),
    }
)
"""Every mark there is."""

ARRIVALS = MappingProxyType(
    {
        Action.KEPT: Sign.KEPT,
        Action.GUIDE: Sign.GUIDE,
        Action.SWAP: Sign.SWAP,
        Action.CROSS: Sign.CROSS,
        Action.PLACE: Sign.PLACE,
    }
)
"""The mark at the place a finger comes to or stays at."""


@dataclass(frozen=True, slots=True)
class Glyphs:
    """One set of glyphs: the neck's lines, arrow heads and which column of the mark table is used."""

    name: str
    """What a setting calls it."""
    fine: bool
    """True where the marks' Unicode column is used and big numbers can be drawn."""
    along: str
    """A string."""
    wire: str
    """A fret between two strings."""
    crossing: str
    """A fret on a string."""
    nut: str
    """The nut (or capo) between two strings."""
    nut_crossing: str
    """The nut on a string."""
    heads: tuple[str, str, str, str]
    """Arrow heads: right, left, down, up."""

    def mark(self, sign: Sign) -> str:
        """Return the three cells of `sign`."""
        return MARKS[sign].fine if self.fine else MARKS[sign].plain


UNICODE = Glyphs("unicode", True, "─", "│", "┼", "║", "╫", ("►", "◄", "▼", "▲"))
ASCII = Glyphs("ascii", False, "-", "|", "+", "I", "I", (">", "<", "v", "^"))

UPRIGHT_LINES = MappingProxyType(
    {"─": "│", "│": "─", "║": "═", "╫": "╪", "═": "║", "-": "|", "|": "-", "I": "=", "=": "I"}
)
"""What the lines of a lying neck become on an upright one."""

_PAIRS = ("()", "[]", "{}", "<>", "»«", "►◄", "▐▌")
MIRRORED = MappingProxyType({pair[i]: pair[1 - i] for pair in _PAIRS for i in (0, 1)})
"""Directional glyphs and what they become in a mirror."""
