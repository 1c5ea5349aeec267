"""Reads the worksheets of spreadsheet files (xlsx, xls, ods) as rows of text.

The library for it is an extra, loaded only here.
"""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, NamedTuple
from xml.parsers.expat import ExpatError, ParserCreate

from ...errors import InputError
from ..csv_rows import Row
from ..hushed import hushed
from .compound import last_cell

__all__ = ["WORKBOOKS", "Grid", "grids"]

WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")  # first bytes of zipped and older files
_MOST_UNPACKED = 256_000_000  # bytes
_MOST_COLUMNS = 1000
_MOST_CELLS = 5_000_000  # first to last, with blank ones, since all of them take memory
_FILLED = re.compile(rb'<(?:\w+:)?c\b[^>]*?\br="([A-Z]{1,3})([0-9]{1,7})"[^>]*(?<!/)>')
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # no spreadsheet is packed in another way
# What a zip file of random bytes raises.
_TORN = (zipfile.BadZipFile, zlib.error, struct.error, ValueError, RuntimeError, EOFError, OSError)


class Grid(NamedTuple):
    """One worksheet: its name, and its filled rows by number."""

    title: str
    rows: tuple[Row, ...]


def grids(name: str, data: bytes) -> tuple[Grid, ...]:
    """Read the worksheets in the bytes of a file.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    data : bytes
        xlsx (ISO/IEC 29500), ods (ISO/IEC 26300), or xls.

    Returns
    -------
    tuple of Grid
        Numbers with a decimal point, moments and dates as in ISO 8601.

    Raises
    ------
    InputError
        If the file cannot be read, or its library is not installed.
    """
    try:
        import python_calamine as calamine
    except ImportError:
        raise InputError(
            f"{name} is a spreadsheet; to read it, install python-calamine "
            '(pip install "bubblerate[spreadsheets]"), or save the table as CSV'
        ) from None
    _refuse_vast(name, data)
    try:
        tables = _tables(calamine.CalamineWorkbook, data)
    except calamine.PasswordError:
        raise InputError(f"{name} is locked with a password; save it without one") from None
    except (calamine.CalamineError, OSError, ValueError, OverflowError):
        raise _unreadable(name) from None
    except BaseException as err:
        if type(err).__name__ != "PanicException":  # of no class that can be named: a torn file
            raise
        raise _unreadable(name) from None
    return tuple(Grid(title, tuple(_rows(name, cells))) for title, cells in tables)


def _tables(library: Any, data: bytes) -> list[tuple[str, list[list[object]]]]:
    with hushed(), library.from_filelike(io.BytesIO(data)) as book:
        return [
            (title, book.get_sheet_by_name(title).to_python(skip_empty_area=False))
            for title in book.sheet_names
        ]


def _unreadable(name: str) -> InputError:
    return InputError(
        f"{name} is not a spreadsheet that can be read; open it and save it as xlsx or CSV"
    )


def _rows(name: str, table: Sequence[Sequence[object]]) -> Iterator[Row]:
    if table and len(table[0]) > _MOST_COLUMNS:
        raise InputError(
            f"{name} has a worksheet {len(table[0])} columns wide; give a table of at most "
            f"{_MOST_COLUMNS}, or save it as CSV"
        )
    for number, cells in enumerate(table, start=1):
        texts = [_text(cell) for cell in cells]
        if any(text.strip() for text in texts):
            yield Row(number, number, texts)


def _text(cell: object) -> str:
    """A cell as somebody would type it."""
    match cell:
        case bool():
            return str(cell).lower()
        case float():
            return f"{cell:.10g}"  # without rounding digits
        case datetime():
            whole = (cell + timedelta(microseconds=500_000)).replace(microsecond=0)
            return str(whole.date() if whole.time() == time() else whole)
        case date():
            return str(cell)
        case time():
            return str(cell.replace(microsecond=0))
        case timedelta():
            minutes, seconds = divmod(round(cell.total_seconds()), 60)
            return f"{minutes // 60:02}:{minutes % 60:02}:{seconds:02}"
    return str(cell)


def _refuse_vast(name: str, data: bytes) -> None:
    """Refuse a file that would fill the memory once unpacked."""
    if data.startswith(WORKBOOKS[1]):
        try:
            _refuse_far(name, *last_cell(data))
        except (struct.error, ValueError):  # what we cannot check is not unpacked either
            raise _unreadable(name) from None
    if not data.startswith(WORKBOOKS[0]):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > _MOST_UNPACKED:
                raise InputError(f"{name} unpacks to more than 256 MB; save its table as CSV")
            for part in packed.infolist():
                if not part.filename.endswith(".xml") or part.compress_type not in _PLAIN:
                    continue
                xml = packed.read(part)
                _refuse_torn(name, xml)
                if part.filename.startswith("xl/"):
                    _refuse_far_cells(name, xml)
    except _TORN:
        return  # its reader says so


def _refuse_torn(name: str, xml: bytes) -> None:
    """Refuse a part that breaks off: the library would wait for its end forever."""
    try:
        ParserCreate().Parse(xml, True)
    except ExpatError:
        raise _unreadable(name) from None


def _refuse_far_cells(name: str, xml: bytes) -> None:
    wide = long = 1
    for letters, number in set(_FILLED.findall(xml)):
        column = 0
        for letter in letters:
            column = 26 * column + letter - 64
        wide, long = max(wide, column), max(long, int(number))
    _refuse_far(name, wide, long)


def _refuse_far(name: str, wide: int, long: int) -> None:
    if wide * long > _MOST_CELLS:
        raise InputError(
            f"{name} has a cell far from its table (column {wide}, row {long}); delete that cell, "
            "or save the table as CSV"
        )
