"""Rows of a damaged SQLite file, read page by page without trusting its order.

The layout is that of the published SQLite database file format (sqlite.org/fileformat2.html): table leaf pages of
type 13, cells of payload size, row number and record, overflow pages in chains, and the write-ahead log's frames.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path

Value = int | float | str | bytes | None

_LEAF = 0x0D
_HEADER, _FRAME, _LOG_HEADER = 100, 24, 32
_PAGE_SIZES = frozenset(2**power for power in range(9, 17))
_LONGEST_RECORD = 64_000_000
"""Bytes; a size beyond it is damage."""


class RawPages:
    """The pages of a database file, with those of its write-ahead log laid over them; OSError if it cannot be read."""

    def __init__(self, path: Path) -> None:
        self._held = path.read_bytes()
        (size,) = struct.unpack(">H", self._held[16:18]) if len(self._held) >= _HEADER else (0,)
        size = 65_536 if size == 1 else size
        self.page_size = size if size in _PAGE_SIZES else 4096
        reserved = self._held[20] if len(self._held) >= _HEADER and self._held[20] < 64 else 0
        self.usable = self.page_size - reserved
        self._later = dict(self._logged(path.with_name(path.name + "-wal")))
        whole = -(-len(self._held) // self.page_size)
        self.count = max([whole, *self._later]) if self._later else whole

    @property
    def cut_off(self) -> int:
        """How many pages the file's header counts that are not there."""
        told = self._held[24:28] == self._held[92:96] and len(self._held) >= _HEADER
        return max(0, int.from_bytes(self._held[28:32], "big") - self.count) if told else 0

    def page(self, number: int) -> bytes:
        """Return a page, counted from 1, as far as it is there; empty where there is none."""
        if number in self._later:
            return self._later[number]
        start = (number - 1) * self.page_size
        return self._held[start : start + self.page_size] if number >= 1 else b""

    def rows(self) -> Iterator[tuple[Value, ...]]:
        """Yield every row that can be read, from pages in use and from pages that were given up alike."""
        for number in range(1, self.count + 1):
            yield from self._rows_of(number)

    def _rows_of(self, number: int) -> Iterator[tuple[Value, ...]]:
        page = self.page(number)
        start = _HEADER if number == 1 else 0
        if len(page) < start + 8 or page[start] != _LEAF:
            return
        (cells,) = struct.unpack_from(">H", page, start + 3)
        for cell in range(cells):
            at = start + 8 + 2 * cell
            if at + 2 > len(page):
                return
            (place,) = struct.unpack_from(">H", page, at)
            try:
                yield _record(self._payload(page, place))
            except (IndexError, struct.error, ValueError, UnicodeDecodeError):
                continue

    def _payload(self, page: bytes, place: int) -> bytes:
        size, place = _varint(page, place)
        _, place = _varint(page, place)
        if size > _LONGEST_RECORD:
            raise ValueError("no record is so long")
        most, least = self.usable - 35, (self.usable - 12) * 32 // 255 - 23
        if size <= most:
            return page[place : place + size]
        kept = least + (size - least) % (self.usable - 4)
        local = kept if kept <= most else least
        held = [page[place : place + local]]
        (following,) = struct.unpack_from(">I", page, place + local)
        missing, seen = size - local, set[int]()
        while missing > 0 and following and following not in seen:
            seen.add(following)
            overflow = self.page(following)
            part = overflow[4 : 4 + min(missing, self.usable - 4)]
            if not part:
                break
            held.append(part)
            missing -= len(part)
            (following,) = struct.unpack_from(">I", overflow, 0)
        return b"".join(held)

    def _logged(self, log: Path) -> Iterator[tuple[int, bytes]]:
        try:
            held = log.read_bytes()
        except OSError:
            return
        salts, at = held[16:24], _LOG_HEADER
        while at + _FRAME + self.page_size <= len(held):
            (number,) = struct.unpack_from(">I", held, at)
            if held[at + 8 : at + 16] != salts or not number:
                return
            yield number, held[at + _FRAME : at + _FRAME + self.page_size]
            at += _FRAME + self.page_size


def _varint(data: bytes, place: int) -> tuple[int, int]:
    value = 0
    for count in range(9):
        byte = data[place + count]
        if count == 8:
            return (value << 8) | byte, place + 9
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, place + count + 1
    raise ValueError("unreachable")  # pragma: no cover - the ninth byte always ends it


def _record(payload: bytes) -> tuple[Value, ...]:
    header, place = _varint(payload, 0)
    kinds = []
    while place < header:
        kind, place = _varint(payload, place)
        kinds.append(kind)
    values: list[Value] = []
    for kind in kinds:
        value, place = _value(payload, place, kind)
        values.append(value)
    return tuple(values)


def _value(payload: bytes, place: int, kind: int) -> tuple[Value, int]:
    if kind == 0:
        return None, place
    if kind in (8, 9):
        return kind - 8, place
    size = (0, 1, 2, 3, 4, 6, 8, 8)[kind] if kind <= 7 else (kind - 12) // 2
    part = payload[place : place + size]
    if len(part) < size or kind in (10, 11):
        raise ValueError("the record is cut off")
    if kind == 7:
        return struct.unpack(">d", part)[0], place + size
    if kind < 7:
        return int.from_bytes(part, "big", signed=True), place + size
    return (part if kind % 2 == 0 else part.decode("utf-8", "replace")), place + size
