"""XML from strangers, read block by block: no entities, no depth, no size that a score would not have.

Only the block at hand is held in memory, so a long score costs what is kept of it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias
from xml.parsers import expat  # entities are refused below, nothing external is ever fetched

from trainer.errors import ChangeoverError, wrong

MOST_BYTES = 32 * 1024 * 1024
"""A score larger than this is refused before it is read; one of 4,400 notes has about 4 MB."""
MOST_MARKS = 1_500_000
"""`<` signs in a file, two an element. Counting them takes a moment, parsing them takes seconds."""
DEEPEST = 40
"""MusicXML itself needs about 10."""
_MOST_DIGITS = 6
"""A number in an attribute has no more."""
LONGEST_TEXT = 10_000
"""Characters within one element."""


class Node:
    """An element with what stands in it. Mutable only while it is read."""

    __slots__ = ("attributes", "kids", "line", "tag", "text")

    def __init__(self, tag: str, attributes: dict[str, str], line: int) -> None:
        self.tag = tag
        self.attributes = attributes
        self.line = line
        self.text = ""
        self.kids: list[Node] = []

    def get(self, tag: str) -> Node | None:
        """Return the first child of this name."""
        for kid in self.kids:
            if kid.tag == tag:
                return kid
        return None

    def all(self, tag: str) -> list[Node]:
        """Return the children of this name."""
        return [kid for kid in self.kids if kid.tag == tag]

    def number(self, attribute: str, low: int, high: int) -> int | None:
        """Return the whole number of an attribute; None where it says none from `low` to `high`."""
        text = self.attributes.get(attribute, "")
        number = int(text) if text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS else -1
        return number if low <= number <= high else None

    def said(self, tag: str) -> str:
        """Return the text of the first child of this name, stripped; empty where there is none."""
        kid = self.get(tag)
        return "" if kid is None else kid.text.strip()


Take: TypeAlias = Callable[[Node, Node], None]
"""Called with the element around a block (its children still unread or gone) and the block."""


def read_blocks(data: bytes, file: str, roots: frozenset[str], openers: frozenset[str], take: Take) -> str:
    """Hand every block of an XML document to `take` and return the name of its root.

    A block is a child of the root; of children named in `openers` it is each of their children instead. Raises
    ChangeoverError, with a line, where the document is broken, unsafe or of another kind than `roots`.
    """
    if len(data) > MOST_BYTES:
        raise wrong(
            f"is larger than {MOST_BYTES // 2**20} MB", file=file, hint="a score of a part or two is far smaller"
        )
    if data.count(b"<") > MOST_MARKS:
        raise wrong(f"has more than {MOST_MARKS // 2:,} elements", file=file, hint="save only the guitar's part")
    builder = _Builder(file, roots, openers, take)
    try:
        builder.parser.Parse(data, True)
    except expat.ExpatError as error:
        what = expat.errors.messages.get(error.code, "broken")
        raise wrong(
            f"is no sound XML: {what}", file=file, line=error.lineno, hint="save it again from its program"
        ) from None
    except (LookupError, UnicodeError, ValueError) as error:
        # An encoding that Python does not know, or one that expat cannot use.
        raise wrong(f"its encoding cannot be read: {error}", file=file, hint="save it as UTF-8 or UTF-16") from None
    return builder.root


class _Builder:
    """The handlers of one parse."""

    def __init__(self, file: str, roots: frozenset[str], openers: frozenset[str], take: Take) -> None:
        self.file = file
        self.roots = roots
        self.openers = openers
        self.take = take
        self.root = ""
        self.open: list[Node] = []
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.text
        self.parser.EntityDeclHandler = self.entity
        self.parser.ExternalEntityRefHandler = self.external
        self.parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        node = Node(tag, attributes, self.parser.CurrentLineNumber)
        opened = self.open
        if 0 < len(opened) < DEEPEST:
            opened[-1].kids.append(node)
        elif opened:
            raise self.refused(f"elements lie {DEEPEST} deep in each other", "no score is so deep")
        elif tag in self.roots:
            self.root = tag
        else:
            hint = f"the file begins with <{' or <'.join(f'{root}>' for root in sorted(self.roots))}"
            raise self.refused(f"begins with <{tag[:40]}>, which is no score", hint)
        opened.append(node)

    def end(self, tag: str) -> None:
        opened = self.open
        node = opened.pop()
        depth = len(opened)
        if depth > 2:
            return
        if depth == 1 and tag not in self.openers:
            self.hand_over(opened[0], node)
        elif depth == 2 and opened[1].tag in self.openers:
            self.hand_over(opened[1], node)
        elif depth == 1:
            opened[0].kids.clear()

    def hand_over(self, around: Node, block: Node) -> None:
        around.kids.clear()
        self.take(around, block)

    def text(self, data: str) -> None:
        node = self.open[-1]
        text = node.text + data if node.text else data
        # What is cut off is layout or prose; nothing that is read is so long.
        node.text = text if len(text) <= LONGEST_TEXT else text[:LONGEST_TEXT]

    def entity(self, name: str, *_: object) -> None:
        raise self.refused("declares entities", "no score needs them, and they can be used to do harm")

    def external(self, *_: object) -> int:
        raise self.refused("refers to something outside itself", "a score is one file")

    def refused(self, what: str, hint: str) -> ChangeoverError:
        return wrong(what, file=self.file, line=self.parser.CurrentLineNumber, hint=hint)
