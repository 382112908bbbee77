"""What was read of a file and what was not, and the numbers in it, refused where they could not be meant."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction

from trainer.errors import ChangeoverError, plain, wrong
from trainer.scores.musicxml.xml import Node
from trainer.scores.score import Unread

_AMOUNT = re.compile(r"\+?(\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})", re.ASCII)
_WHOLE = re.compile(r"[+-]?\d{1,6}", re.ASCII)
_DIGITS = {str(value): value for value in range(128)}
"""Numbers that need no looking at."""
MOST_QUARTERS = 4000
"""No note and no bar lasts longer."""
_LONGEST_SHOWN = 40


@dataclass(slots=True)
class Ledger:
    """The accounts of one reading. Mutable: every element read is entered."""

    file: str
    """Names the file in errors."""
    bar: str = ""
    """The number of the bar at hand."""
    understood: Counter[str] = field(default_factory=Counter)
    """How many of each kind of thing were kept."""
    unread: dict[tuple[str, str], list[int]] = field(default_factory=dict)
    """(bar, what) to its count and the line of the first."""

    def miss(self, node: Node, what: str) -> None:
        """Note that `node` was not understood."""
        entry = self.unread.setdefault((self.bar, plain(what)), [0, node.line])
        entry[0] += 1

    def missed(self) -> tuple[Unread, ...]:
        """Return what was not understood, in order."""
        return tuple(Unread(bar, what, count, line) for (bar, what), (count, line) in self.unread.items())

    def refused(self, node: Node, what: str, hint: str | None = None) -> ChangeoverError:
        """Return the error for something that no score can say."""
        where = f"bar {plain(self.bar)}: " if self.bar else ""
        return wrong(f"{where}<{node.tag}> {what}", file=self.file, line=node.line, hint=hint)

    def amount(self, node: Node) -> Fraction:
        """Return the number that `node` says, 0 or more. Raises ChangeoverError on NaN, negative and endless ones."""
        text = node.text.strip()
        if _AMOUNT.fullmatch(text) is None:
            raise self.refused(node, f"is '{_short(text)}'", "a number of 0 or more")
        return Fraction(text)

    def whole(self, node: Node, low: int, high: int) -> int | None:
        """Return the whole number that `node` says, None and a note where it is none from `low` to `high`."""
        text = node.text
        value = _DIGITS.get(text)
        if value is None:
            text = text.strip()
            value = int(text) if _WHOLE.fullmatch(text) else None
        if value is not None and low <= value <= high:
            return value
        self.miss(node, f"{node.tag} '{_short(text)}'")
        return None

    def said(self, around: Node, tag: str, low: int, high: int, default: int) -> int:
        """Return the whole number in the child `tag` of `around`, `default` where there is none that can be used."""
        node = around.get(tag)
        value = None if node is None else self.whole(node, low, high)
        return default if value is None else value


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}…"
