"""Finds how large the table in an xls file is, from its records, before it is read.

A file of a few kB may have a cell so far away that the table up to it fills the memory. Container
as in [MS-CFB], records as in BIFF8 ([MS-XLS] 2.4), from memory.
"""

import struct
from collections.abc import Iterator
from typing import Final

__all__ = ["last_cell"]

_STREAMS: Final = ("Workbook", "Book")
# Records that start with a row and a column: formula, blank, number, label, boolean, packed number,
# shared text. Then rows of numbers or blanks, which end with their last column.
_CELLS: Final = frozenset({0x0006, 0x0201, 0x0203, 0x0204, 0x0205, 0x027E, 0x00FD})
_MANY: Final = frozenset({0x00BD, 0x00BE})
_END: Final = 0xFFFFFFFA  # sector numbers from here on have special meanings
_SMALL: Final = 4096  # bytes: shorter streams are stored in small sectors of a shared stream
_SMALL_SECTOR: Final = 64


def last_cell(data: bytes) -> tuple[int, int]:
    """Find the last column and row with a cell in an xls file, counted from one.

    Raises
    ------
    struct.error, ValueError
        If it is no such file.
    """
    wide = long = 1
    for kind, record in _records(_stream(data)):
        if kind in _CELLS or kind in _MANY:
            row, column = struct.unpack_from("<HH", record)
            if kind in _MANY:
                (column,) = struct.unpack_from("<H", record, len(record) - 2)
            wide, long = max(wide, column + 1), max(long, row + 1)
    return wide, long


def _records(stream: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at + 4 <= len(stream):
        kind, length = struct.unpack_from("<HH", stream, at)
        yield kind, stream[at + 4 : at + 4 + length]
        at += 4 + length


def _stream(data: bytes) -> bytes:
    """The stream of the workbook, joined from its sectors."""
    size = 1 << min(struct.unpack_from("<H", data, 30)[0], 12)
    listed = struct.unpack_from("<109I", data, 76)  # of a longer file the first 7 MB are checked
    table = _numbers(b"".join(_sector(data, n, size) for n in listed if n < _END))
    folder = _chained(data, struct.unpack_from("<I", data, 48)[0], table, size)
    entries = [folder[at : at + 128] for at in range(0, len(folder) - 127, 128)]
    for entry in entries:
        if entry[:64].decode("utf-16-le", "replace").partition("\0")[0] in _STREAMS:
            start, whole = struct.unpack_from("<II", entry, 116)
            if whole >= _SMALL:
                return _chained(data, start, table, size)[:whole]
            small = _chained(data, struct.unpack_from("<I", data, 60)[0], table, size)
            held = _chained(data, struct.unpack_from("<I", entries[0], 116)[0], table, size)
            return _chained(held, start, _numbers(small), _SMALL_SECTOR, first=0)[:whole]
    raise ValueError("holds no workbook")


def _numbers(raw: bytes) -> tuple[int, ...]:
    return struct.unpack(f"<{len(raw) // 4}I", raw[: len(raw) // 4 * 4])


def _sector(data: bytes, number: int, size: int, first: int = 1) -> bytes:
    return data[(number + first) * size : (number + first + 1) * size]


def _chained(
    data: bytes, start: int, table: tuple[int, ...], size: int, *, first: int = 1
) -> bytes:
    """Follow sectors as the table leads from one to the next."""
    found: list[bytes] = []
    number = start
    while number < len(table) and len(found) <= len(table):
        found.append(_sector(data, number, size, first))
        number = table[number]
    return b"".join(found)
