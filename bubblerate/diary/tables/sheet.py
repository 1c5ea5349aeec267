"""Reads a table that somebody keeps from the bytes of a file.

The best separator gives known headings, and then rows of equal length.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

from ...errors import InputError
from ...text import quoted
from ..csv_rows import Fault, Row, parted
from ..lookalikes import tidied
from . import jars, workbook
from .headings import Column, Meant, columns, is_head

__all__ = ["MOST_BYTES", "Sheet", "sheet"]

MOST_BYTES = 32_000_000  # 100 000 rows are about 6 million
_MOST_LINES = 300_000
_LONGEST_LINE = 1_000_000  # bytes
_MOST_CELLS = 1000
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_HEAD_ROWS = 12  # there may be a title and a few words above the table
_SAMPLE_ROWS = 100
_BOM = b"\xef\xbb\xbf"
_ADVICE = {
    Fault.OPEN: "close it with another",
    Fault.LONG: "shorten or close it",
    Fault.QUOTES: "inside a quoted cell write each quote twice",
}
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table: its file's name, how it was read, what its columns mean, and its rows."""

    name: str
    encoding: str  # or the name of the worksheet
    separator: str  # in words; "" for a worksheet
    head: Row
    columns: tuple[Column, ...]
    above: tuple[Row, ...]  # rows above the headings
    body: tuple[Row, ...]
    torn: tuple[tuple[int, str], ...] = ()  # rows with too few or too many cells: line and fault


class _Form(NamedTuple):
    """How a table is written: encoding or worksheet, separator, rows, row of the headings."""

    encoding: str
    mark: str
    rows: Sequence[Row]
    at: int


def sheet(name: str, data: bytes, *, jar: str = "", meant: Meant | None = None) -> Sheet:
    """Read the table in the bytes of a file.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    data : bytes
        CSV with comma, semicolon or tab; UTF-8 with or without mark, UTF-16, or cp1252. Or a
        spreadsheet's own file.
    jar : str, optional
        The jar to take if the table has several, by worksheet, column or row.
    meant : mapping, optional
        What columns with unknown headings mean, from `meanings`.

    Returns
    -------
    Sheet
        Blank rows are left out; every other row has a cell for each heading.

    Raises
    ------
    InputError
        If the file is no such table; one line names file and line and says what would do.
    """
    meant = meant or {}
    if len(data) > MOST_BYTES:
        raise InputError(
            f"{name} is larger than 32 MB; give the table of one jar, saved as CSV, or a sensor's "
            "log with --pool 1h"
        )
    if data.startswith(workbook.WORKBOOKS):
        form, jar = _worksheet(name, workbook.grids(name, data), jar, meant)
    else:
        form = _text(name, data, meant)
    head, above = form.rows[form.at], tuple(form.rows[: form.at])
    found = columns(head.cells, meant)
    _refuse_unfound(name, found, meant)
    body, torn = _evened(name, form.rows[form.at + 1 :], len(head.cells), form.mark)
    if jar:
        found, body = jars.taken(name, head, above, found, body, jar, meant)
    return Sheet(
        name=name,
        encoding=form.encoding,
        separator=_SEPARATORS.get(form.mark, ""),
        head=head,
        columns=jars.timed(found, body),
        above=above,
        body=tuple(body),
        torn=tuple(torn),
    )


def _text(name: str, data: bytes, meant: Meant) -> _Form:
    lines, encoding = _lines(name, data)
    mark, at = _layout(name, lines, meant)
    return _Form(encoding, mark, [*_rows(name, lines, mark)], at)


def _worksheet(
    name: str, grids: Sequence[workbook.Grid], jar: str, meant: Meant
) -> tuple[_Form, str]:
    """Find the worksheet with the table, and the jar to look for in it."""
    heads = [(grid, _heads(grid.rows[:_SAMPLE_ROWS], "", meant)) for grid in grids]
    some = [(grid, -max(found)[-1]) for grid, found in heads if found]
    named = [one for one in some if jar and tidied(one[0].title) == tidied(jar)]
    if not some:
        first = next((row.cells for grid in grids for row in grid.rows), None)
        raise _no_headings(name, None if first is None else ", ".join(filter(None, first)))
    if len(named or some) > 1:
        titles = ", ".join(grid.title for grid, _ in some)
        raise InputError(
            f"{name} has tables in several worksheets ({quoted(titles)}); choose one with --jar "
            "NAME"
        )
    [(grid, at)] = named or some
    return _Form(f"worksheet {quoted(grid.title)}", "", grid.rows, at), "" if named else jar


def _refuse_unfound(name: str, found: Sequence[Column], meant: Meant) -> None:
    there = {tidied(column.heading) for column in found}
    for heading in meant:
        if heading not in there:
            some = ", ".join(column.heading for column in found if column.heading)
            raise InputError(f"{name} has no column {quoted(heading)}; its columns are: {some}")


def _lines(name: str, data: bytes) -> tuple[list[str], str]:
    """Lines of the file, and how they were decoded."""
    wide = data.startswith(_UTF_16)
    if wide:
        data = _utf_16(name, data)
    if max(data.count(b"\n"), data.count(b"\r")) > _MOST_LINES:
        raise InputError(
            f"{name} has more than {_MOST_LINES} lines; give the table of one jar, or a sensor's "
            "log with --pool 1h"
        )
    raw = data.removeprefix(_BOM).splitlines(keepends=True)
    for line, text in enumerate(raw, start=1):
        if b"\0" in text:
            raise InputError(f"{name}:{line}: has a NUL byte, so it is not text; save it as CSV")
        if len(text) > _LONGEST_LINE:
            raise InputError(f"{name}:{line}: is far too long a line; save the table as CSV")
    try:
        return [text.decode() for text in raw], "UTF-16" if wide else "UTF-8"
    except UnicodeDecodeError:
        return [_windows(name, line, text) for line, text in enumerate(raw, start=1)], "cp1252"


def _utf_16(name: str, data: bytes) -> bytes:
    """Convert UTF-16 to UTF-8, which has the same line ends."""
    try:
        return data.decode("utf-16").encode()
    except UnicodeError:
        raise InputError(f"{name} is torn UTF-16 text; save it as CSV in UTF-8") from None


def _windows(name: str, line: int, text: bytes) -> str:
    try:
        return text.decode("cp1252")
    except UnicodeDecodeError as err:
        raise InputError(
            f"{name}:{line}: byte {text[err.start]:#04x} is neither UTF-8 nor cp1252 text; save "
            "it as CSV in UTF-8"
        ) from None


def _layout(name: str, lines: Sequence[str], meant: Meant) -> tuple[str, int]:
    """Find the separator and the row of the headings."""
    found = [
        one for mark in _SEPARATORS for one in _heads([*_sample(name, lines, mark)], mark, meant)
    ]
    if not found:
        raise _no_headings(name, next((line for line in lines if line.strip()), None))
    _, _, mark, at = max(found, key=lambda one: (one[0], one[1], one[3]))
    return mark, -at


def _heads(rows: Sequence[Row], mark: str, meant: Meant) -> list[tuple[int, float, str, int]]:
    """Rows that may be headings: known columns, share of rows of that width, separator, place."""
    found = []
    for at, row in enumerate(rows[:_HEAD_ROWS]):
        known = columns(row.cells, meant)
        if is_head(known):
            even = sum(len(row.cells) == len(other.cells) for other in rows[at:])
            score = sum(column.kind is not None for column in known)
            found.append((score, even / len(rows[at:]), mark, -at))
    return found


def _no_headings(name: str, first: str | None) -> InputError:
    if first is None:
        return InputError(f"{name} is empty; save the table as CSV")
    return InputError(
        f"{name}: found no headings for a date and for counts or readings (it begins "
        f"{quoted(first)}); name the columns like Date, Bubbles per minute, Temp C, SG, Note"
    )


def _sample(name: str, lines: Sequence[str], mark: str) -> Iterator[Row]:
    """First rows, split by a separator that may be wrong: up to where it fails."""
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
    """Make the error for a row that the csv module gave up on."""
    return InputError(f"{name}:{first}: {fault.value}; {_ADVICE[fault]}")


def _evened(
    name: str, rows: Sequence[Row], wanted: int, mark: str
) -> tuple[list[Row], list[tuple[int, str]]]:
    """Rows with a cell for each heading; and faults for rows too short or too long."""
    even, torn = [], []
    comma = ", and quote a cell that holds a comma" if mark == "," else ""
    for row in rows:
        cells = row.cells
        if len(cells) != wanted and (len(cells) < wanted or any(c.strip() for c in cells[wanted:])):
            fault = (
                f"{name}:{row.first}: number of cells is {len(cells)}, not {wanted} as in the "
                f"headings; complete the row{comma}"
            )
            torn.append((row.first, fault))
        else:
            even.append(Row(row.first, row.last, cells[:wanted]))
    return even, torn
