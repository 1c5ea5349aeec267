import struct

import pytest

from bubblerate.diary.tables.compound import last_cell

from .workbooks import xls

END, FREE = 0xFFFFFFFE, 0xFFFFFFFF


@pytest.mark.parametrize(("wide", "long"), [(1, 1), (3, 2), (256, 70), (1, 3000)])
def test_the_last_column_and_row_are_those_of_the_cells(wide, long):
    rows = [[None] * (wide - 1) + ["x"], *[[]] * (long - 2), *[[1.0]] * (long > 1)]
    assert last_cell(xls("Jar", rows)) == (wide, long)


def folder_entry(name, kind, start, size):
    text = (name + "\0").encode("utf-16-le")
    return (
        text.ljust(64, b"\0")
        + struct.pack("<HBBIII", len(text), kind, 1, FREE, FREE, FREE)
        + bytes(36)
        + struct.pack("<IQ", start, size)
    )


# [MS-CFB]: a stream of less than 4096 bytes stands in sectors of 64 bytes with a table of their own
def test_a_short_stream_is_put_together_from_its_small_sectors():
    cells = struct.pack("<HHHHHd", 0x0203, 14, 8, 4, 0, 1.0)
    many = struct.pack("<HHHHHHH", 0x00BE, 10, 2, 1, 0, 0, 6)  # blanks from column 1 to 6
    stream = (cells + many).ljust(60, b"\0") + cells.replace(b"\x08\0\x04", b"\x63\0\x02")
    table = struct.pack("<128I", 0xFFFFFFFD, END, END, END, *[FREE] * 124)
    small = struct.pack("<128I", 2, FREE, END, *[FREE] * 125)  # the first part, then the third
    held = stream[:64] + bytes(64) + stream[64:]
    folder = folder_entry("Root Entry", 5, 3, len(held))
    folder += folder_entry("Workbook", 2, 0, len(stream))
    head = bytes.fromhex("d0cf11e0a1b11ae1").ljust(24, b"\0")
    head += struct.pack("<HHHHH6xIIIIIIIII", 0x3E, 3, 0xFFFE, 9, 6, 0, 1, 1, 0, 4096, 2, 1, END, 0)
    head += struct.pack("<109I", 0, *[FREE] * 108)
    parts = (table, folder.ljust(512, b"\0"), small, held.ljust(512, b"\0"))
    assert last_cell(head + b"".join(parts)) == (7, 100)


@pytest.mark.parametrize("size", [8, 80, 600, 1100])
def test_half_a_file_is_none(size):
    with pytest.raises((struct.error, ValueError)):
        last_cell(xls("Jar", [["x"]])[:size])
