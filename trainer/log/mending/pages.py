"""Rows out of one page of a database, and from page to page; whatever does not hold together is left out.

After "Database File Format" (sqlite.org/fileformat2.html): section 1.6 pages and cells, 2.1 records.
"""

from __future__ import annotations

import struct
from collections.abc import Container, Iterator
from typing import NamedTuple, TypeAlias

from trainer.log.mending.image import Image

Value: TypeAlias = "int | float | str | bytes | None"
INNER_INDEX, INNER_TABLE, LEAF_INDEX, LEAF_TABLE = 2, 5, 10, 13
"""First byte of a page of rows: what kind it is of."""
_INDEX = frozenset({INNER_INDEX, LEAF_INDEX})
_INNER = frozenset({INNER_INDEX, INNER_TABLE})
_LONGEST = 1 << 20
"""Bytes. No row of ours comes near; a length beyond it is damage."""
_INTEGERS = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
"""Serial type: bytes of the whole number."""
_UNREADABLE = (ValueError, IndexError, struct.error)
"""What bytes that hold no row make the functions here raise."""


class Stored(NamedTuple):
    """A row as it stands in a page."""

    number: int | None
    """Its number where it stands in a table, None in an index or a table without numbers."""
    values: tuple[Value, ...]
    """What is in it; a column that is the row's own number is None."""


def kind(image: Image, number: int) -> int:
    """Return the first byte of what a page holds, 0 where there is nothing."""
    page, start = image.page(number), _start(number)
    return page[start] if len(page) > start else 0


def rows(image: Image, number: int, known: Container[object] = ()) -> Iterator[Stored]:
    """Yield the rows of a page that hold together, those of an index's inner page included.

    Rows that end with a number in `known` are left out, which costs less than to read them.
    """
    page, what = image.page(number), kind(image, number)
    if what not in {LEAF_TABLE, *_INDEX}:
        return
    for at in _cells(page, number, what):
        try:
            row = _row(image, page, at, what, known)
        except _UNREADABLE:
            continue
        if row is not None:
            yield row


def below(image: Image, number: int) -> list[int]:
    """Return the pages that an inner page leads to; none for another."""
    page, what = image.page(number), kind(image, number)
    if what not in _INNER or len(page) < _start(number) + 12:
        return []
    places = [_start(number) + 8, *_cells(page, number, what)]
    return [struct.unpack_from(">I", page, at)[0] for at in places if at + 4 <= len(page)]


def _start(number: int) -> int:
    return 100 if number == 1 else 0


def _cells(page: bytes, number: int, what: int) -> tuple[int, ...]:
    """Return where the cells of a page begin."""
    at = _start(number)
    head = 12 if what in _INNER else 8
    if len(page) < at + head:
        return ()
    count = min(int.from_bytes(page[at + 3 : at + 5], "big"), (len(page) - at - head) // 2)
    return struct.unpack_from(f">{count}H", page, at + head)


def _row(image: Image, page: bytes, at: int, what: int, known: Container[object]) -> Stored | None:
    if what in _INNER:
        at += 4  # the page below
    length, at = _varint(page, at)
    number = None
    if what == LEAF_TABLE:
        number, at = _varint(page, at)
        number -= (number >> 63) << 64
    data = _payload(image, page, at, length, what)
    return None if known and _last(data) in known else Stored(number, _record(data))


def _payload(image: Image, page: bytes, at: int, length: int, what: int) -> bytes:
    """Return the bytes of a row; what has no room in its page goes on in others."""
    usable = image.page_size - image.reserved
    most = usable - 35 if what == LEAF_TABLE else (usable - 12) * 64 // 255 - 23
    if length > _LONGEST:
        raise ValueError("longer than any row of ours")
    here = length
    if length > most:
        least = (usable - 12) * 32 // 255 - 23
        here = least + (length - least) % (usable - 4)
        here = here if here <= most else least
    parts = [_bytes(page, at, here)]
    following = struct.unpack_from(">I", page, at + here)[0] if here < length else 0
    while here < length:
        further = image.page(following)
        part = _bytes(further, 4, min(length - here, usable - 4))
        parts.append(part)
        here += len(part)
        following = struct.unpack_from(">I", further)[0]
    return b"".join(parts)


def _last(data: bytes) -> int | None:
    """Return the whole number at the end of a row; None where there is none."""
    serial = data[data[0] - 1]
    if size := _INTEGERS.get(serial):
        return int.from_bytes(data[-size:], "big", signed=True)
    return serial - 8 if serial in {8, 9} else None


def _record(data: bytes) -> tuple[Value, ...]:
    """Return the values of a row."""
    end, at = _varint(data, 0)
    body, found = end, []
    while at < end:
        serial, at = _varint(data, at)
        value, body = _value(data, body, serial)
        found.append(value)
    if at != end or body != len(data):
        raise ValueError("a row of another length")
    return tuple(found)


def _value(data: bytes, at: int, serial: int) -> tuple[Value, int]:
    """Return the value at a place in a row and where the next one begins."""
    if serial in {0, 8, 9}:
        return {0: None, 8: 0, 9: 1}[serial], at
    if serial == 7:
        return struct.unpack_from(">d", data, at)[0], at + 8
    if serial >= 12:
        size = (serial - 12) // 2
        text = _bytes(data, at, size)
        return (text.decode() if serial % 2 else text), at + size
    if serial not in _INTEGERS:
        raise ValueError("no kind of value")
    size = _INTEGERS[serial]
    return int.from_bytes(_bytes(data, at, size), "big", signed=True), at + size


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """Return a number of one to nine bytes, unsigned, and where it ends."""
    value = 0
    for place in range(at, at + 8):
        byte = data[place]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, place + 1
    return value << 8 | data[at + 8], at + 9


def _bytes(data: bytes, at: int, size: int) -> bytes:
    found = data[at : at + size]
    if len(found) != size:
        raise ValueError("cut off")
    return found
