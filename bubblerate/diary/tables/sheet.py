"""A table that somebody keeps, out of the bytes of a file: its text, its separator, its rows.

The separator is the one that gives headings we know, and then the one that parts the rows evenly.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from ...errors import InputError
from ...text import quoted
from ..csv_rows import Fault, Row, parted
from .headings import Column, columns, is_head

__all__ = ["MOST_BYTES", "Sheet", "sheet"]

MOST_BYTES = 32_000_000  # 100 000 rows are about 6 million
_MOST_LINES = 300_000
_LONGEST_LINE = 1_000_000  # bytes
_MOST_CELLS = 1000
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_HEAD_ROWS = 12  # a title and a few words may stand above the table
_SAMPLE_ROWS = 100
_BOM = b"\xef\xbb\xbf"
# Beginnings of files that are no text: zipped and older spreadsheets, and UTF-16.
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_ADVICE = {
    Fault.OPEN: "close it with another",
    Fault.LONG: "shorten or close it",
    Fault.QUOTES: "inside a quoted cell write each quote twice",
}
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table: its file's name, how it was read, what its columns hold, and its rows."""

    name: str
    encoding: str
    separator: str  # in words
    head: Row
    columns: tuple[Column, ...]
    above: tuple[Row, ...]  # rows over the headings
    body: tuple[Row, ...]


def sheet(name: str, data: bytes) -> Sheet:
    """Table that the bytes of a file hold.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    data : bytes
        CSV with comma, semicolon or tab; UTF-8 with or without mark, or cp1252.

    Returns
    -------
    Sheet
        Rows without any cell filled are left out; every other has a cell for each heading.

    Raises
    ------
    InputError
        If the file is no such table, with one line that names file and line and says what would do.
    """
    lines, encoding = _lines(name, data)
    mark, at = _layout(name, lines)
    rows = [*_rows(name, lines, mark)]
    head = rows[at]
    return Sheet(
        name=name,
        encoding=encoding,
        separator=_SEPARATORS[mark],
        head=head,
        columns=columns(head.cells),
        above=tuple(rows[:at]),
        body=tuple(_evened(name, row, len(head.cells), mark) for row in rows[at + 1 :]),
    )


def _lines(name: str, data: bytes) -> tuple[list[str], str]:
    """Physical lines of the file, and how they were decoded."""
    if data.startswith(_WORKBOOKS):
        raise InputError(f"{name} is a spreadsheet's own file; open it there and save it as CSV")
    if data.startswith(_UTF_16):
        raise InputError(f"{name} is UTF-16 text; save it as CSV in UTF-8")
    if len(data) > MOST_BYTES:
        raise InputError(f"{name} is larger than 32 MB; give one vessel's table, saved as CSV")
    if max(data.count(b"\n"), data.count(b"\r")) > _MOST_LINES:
        raise InputError(f"{name} has more than {_MOST_LINES} lines; give one vessel's table")
    raw = data.removeprefix(_BOM).splitlines(keepends=True)
    for line, text in enumerate(raw, start=1):
        if b"\0" in text:
            raise InputError(f"{name}:{line}: holds a NUL byte, so it is no text; save it as CSV")
        if len(text) > _LONGEST_LINE:
            raise InputError(f"{name}:{line}: is far too long a line; save the table as CSV")
    try:
        return [text.decode() for text in raw], "UTF-8"
    except UnicodeDecodeError:
        return [_windows(name, line, text) for line, text in enumerate(raw, start=1)], "cp1252"


def _windows(name: str, line: int, text: bytes) -> str:
    try:
        return text.decode("cp1252")
    except UnicodeDecodeError as err:
        raise InputError(
            f"{name}:{line}: byte {text[err.start]:#04x} is neither UTF-8 nor cp1252 text; "
            "save it as CSV in UTF-8"
        ) from None


def _layout(name: str, lines: Sequence[str]) -> tuple[str, int]:
    """Separator, and which row holds the headings."""
    found: list[tuple[int, float, str, int]] = []
    for mark in _SEPARATORS:
        rows = [*_sample(name, lines, mark)]
        for at, row in enumerate(rows[:_HEAD_ROWS]):
            known = columns(row.cells)
            if is_head(known):
                even = sum(len(row.cells) == len(other.cells) for other in rows[at:])
                score = sum(column.kind is not None for column in known)
                found.append((score, even / len(rows[at:]), mark, -at))
    if not found:
        first = next((line for line in lines if line.strip()), None)
        if first is None:
            raise InputError(f"{name} is empty; save the table as CSV")
        raise InputError(
            f"{name}: found no headings with a date and what was counted or read (it begins "
            f"{quoted(first)}); name the columns like Date, Bubbles per minute, Temp C, SG, Note"
        )
    _, _, mark, at = max(found, key=lambda one: (one[0], one[1], one[3]))
    return mark, -at


def _sample(name: str, lines: Sequence[str], mark: str) -> Iterator[Row]:
    """First rows by a separator that may be the wrong one: up to where it fails."""
    try:
        yield from islice(_rows(name, lines, mark), _SAMPLE_ROWS)
    except InputError:
        return


def _rows(name: str, lines: Sequence[str], mark: str) -> Iterator[Row]:
    def torn(first: int, fault: Fault) -> InputError:
        return _torn(name, first, fault)

    for row in parted(lines, torn, delimiter=mark, skipinitialspace=True):
        count = len(row.cells)
        if count > _MOST_CELLS:
            raise InputError(
                f"{name}:{row.first}: has {count} cells; give a table of at most {_MOST_CELLS}"
            )
        if any(cell.strip() for cell in row.cells):
            yield row


def _torn(name: str, first: int, fault: Fault) -> InputError:
    """Say what is wrong with a row the csv module gave up on."""
    return InputError(f"{name}:{first}: {fault.value}; {_ADVICE[fault]}")


def _evened(name: str, row: Row, wanted: int, mark: str) -> Row:
    """Row with a cell for each heading; a row too short or too long is a torn one."""
    cells = row.cells
    if len(cells) != wanted and (len(cells) < wanted or any(c.strip() for c in cells[wanted:])):
        comma = ", and quote a cell that holds a comma" if mark == "," else ""
        raise InputError(
            f"{name}:{row.first}: number of cells is {len(cells)}, not {wanted} as in the "
            f"headings; complete the row{comma}"
        )
    return Row(row.first, row.last, cells[:wanted])
