"""The bytes of a log as it stood after its last commit: the main file, and over it what its write-ahead log committed.

All of it after "Database File Format" (sqlite.org/fileformat2.html): section 1.3 the header, 1.5 the freelist, 4 the
write-ahead log.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

MAGIC = b"SQLite format 3\0"
_PAGE_SIZE, _ALL_SIZES = 4096, frozenset(2**n for n in range(9, 17))
"""The size of our logs' pages, which is SQLite's own choice, and every size that there may be."""
_HEADER = 100
"""Bytes at the start of the first page that belong to the whole file."""
_WAL_ORDERS = {0x377F0682: "<", 0x377F0683: ">"}
"""First number of a write-ahead log: the order of bytes in which its checksums were taken."""
_WAL_HEADER, _FRAME_HEADER = 32, 24


@dataclass(frozen=True, slots=True)
class Image:
    """All pages of a database."""

    data: bytes
    """One page after the other; the last may be cut off."""
    page_size: int
    """Bytes."""
    reserved: int
    """Bytes at the end of each page that hold no rows; 0 in every log of ours."""

    @property
    def count(self) -> int:
        """How many pages there are, one cut off included."""
        return -(-len(self.data) // self.page_size)

    @property
    def headed(self) -> bool:
        """Whether the first page begins as that of a database does."""
        return self.data.startswith(MAGIC)

    def page(self, number: int) -> bytes:
        """Return a page, from 1 up; nothing where there is none."""
        return self.data[(number - 1) * self.page_size : number * self.page_size] if number > 0 else b""

    def for_sqlite(self) -> bytes:
        """Return the bytes as of a database without a write-ahead log, which is what one in memory must be."""
        return self.data[:18] + b"\1\1" + self.data[20:]

    def given_up(self) -> tuple[set[int], bool]:
        """Return the pages that hold nothing any more, and whether these are all of them.

        What lies in them are rows deleted or moved elsewhere.
        """
        found: set[int] = set()
        if not self.headed or len(self.data) < _HEADER:
            return found, False
        trunk, total = struct.unpack_from(">II", self.data, 32)
        while trunk and trunk not in found and len(page := self.page(trunk)) == self.page_size:
            found.add(trunk)
            trunk, leaves = struct.unpack_from(">II", page)
            if leaves > self.page_size // 4 - 2:
                break
            found.update(struct.unpack_from(f">{leaves}I", page, 8))
        return found, len(found) == total and all(0 < number <= self.count for number in found)


def image(main: bytes, wal: bytes) -> Image:
    """Return the image of a main file and the write-ahead log beside it, either of which may be damaged or empty."""
    headed = main.startswith(MAGIC) and len(main) >= _HEADER
    size = int.from_bytes(main[16:18], "big") if headed else _PAGE_SIZE
    size = 65536 if size == 1 else size
    if size not in _ALL_SIZES:
        size = _PAGE_SIZE
    pages = bytearray(main)
    for number, page in _committed(wal, size).items():
        end = number * size
        pages.extend(bytes(max(end - size - len(pages), 0)))
        pages[end - size : end] = page
    reserved = pages[20] if pages.startswith(MAGIC) and len(pages) >= _HEADER and pages[20] <= size - 480 else 0
    return Image(bytes(pages), size, reserved)


def _committed(wal: bytes, size: int) -> dict[int, bytes]:
    """Return each page in a write-ahead log as its last whole commit left it."""
    if len(wal) < _WAL_HEADER:
        return {}
    magic, _, page_size, _, *salts, first, second = struct.unpack_from(">8I", wal)
    order = _WAL_ORDERS.get(magic)
    if order is None or page_size != size or (sums := _summed(wal[:24], order, (0, 0))) != (first, second):
        return {}
    found: dict[int, bytes] = {}
    pending: dict[int, bytes] = {}
    for at in range(_WAL_HEADER, len(wal) - size - _FRAME_HEADER + 1, size + _FRAME_HEADER):
        number, committed, *theirs, first, second = struct.unpack_from(">6I", wal, at)
        page = wal[at + _FRAME_HEADER : at + _FRAME_HEADER + size]
        sums = _summed(page, order, _summed(wal[at : at + 8], order, sums))
        if theirs != salts or sums != (first, second):
            break  # from here on lies what an earlier use of the file left
        pending[number] = page
        if committed:
            found |= pending
            pending = {}
    return found


def _summed(data: bytes, order: str, sums: tuple[int, int]) -> tuple[int, int]:
    """Return the checksum of `data` that goes on from `sums`."""
    one, other = sums
    words = iter(struct.unpack(f"{order}{len(data) // 4}I", data))
    for word in words:
        one = (one + word + other) & 0xFFFFFFFF
        other = (other + next(words) + one) & 0xFFFFFFFF
    return one, other
