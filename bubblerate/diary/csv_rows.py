"""Splits a diary's file (CSV, UTF-8) into rows with line numbers, and explains what is wrong."""

import csv
import errno
import re
import stat
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from enum import Enum
from pathlib import Path
from typing import Any, NamedTuple

from ..errors import BubbleRateError, DiaryError
from ..text import printable, quoted
from .dialect import BOM, dialect

__all__ = [
    "LONGEST_CELL",
    "Fault",
    "Row",
    "column_names",
    "content",
    "guarded",
    "naming",
    "parted",
    "rows",
    "shown_cell",
    "unguarded",
]

_QUOTED = re.compile(rb'"[^"]*(?:""[^"]*)*"(?!")')
LONGEST_CELL = 131_072  # the csv module reads no longer cell
_MOST_BYTES = 64_000_000  # 100 000 rows are about 6 million
_MOST_LINES = 500_000  # a year of counts, one a minute

# Where a spreadsheet may start a cell (commas are quoted), and what makes that cell a formula:
# these signs, wide ones too, after anything it strips or we put there.
_CELL_START = r"(\A|[;\t\r\n])"
_FORMULA = r"(?=(?:'|[^\S\t\r\n])*[=+\-@\uff1d\uff0b\uff0d\uff20])"
_UNGUARDED = re.compile(_CELL_START + _FORMULA)
_GUARDED = re.compile(f"{_CELL_START}'{_FORMULA}")


@contextmanager
def naming(path: Path) -> Iterator[None]:
    """Turn an error of the operating system into one line that names the diary."""
    try:
        yield
    except FileNotFoundError:
        reason = "there is no such diary; check the name"
    except FileExistsError:
        reason = "already exists; choose another name"
    except IsADirectoryError:
        reason = "is a folder; name a diary in it"
    except PermissionError:
        reason = "this cannot be opened; check the permissions of it and its folder"
    except OSError as err:
        full = err.errno in {errno.ENOSPC, errno.EDQUOT}
        what = "the disk is full" if full else f"failed ({err.strerror or err})"
        reason = f"{what}; nothing was changed; fix that and try again"
        if err.errno == errno.ELOOP:
            reason = "is a link that points to itself; make it point to a diary"
    else:
        return
    raise DiaryError(f"{path.name}: {reason}")


def content(path: Path) -> bytes:
    """Read the bytes of a diary, after checking that it is a file and not too large."""
    found = path.stat()
    if not stat.S_ISREG(found.st_mode) and not stat.S_ISDIR(found.st_mode):
        raise DiaryError(f"{path.name}: is a device or a pipe, not a file; name a diary")
    with path.open("rb") as file:
        data = file.read(_MOST_BYTES + 1)
    if len(data) > _MOST_BYTES:
        raise DiaryError(f"{path.name}: is larger than 64 MB; keep one jar's rows in it")
    if max(data.count(b"\n"), data.count(b"\r")) > _MOST_LINES:
        raise DiaryError(
            f"{path.name}: has more than {_MOST_LINES} lines; keep one jar's rows in it"
        )
    return data


def guarded(text: str) -> str:
    r"""Add an apostrophe wherever a spreadsheet would take a text for a formula.

    That is at its start, and after a semicolon, a tab or a line end, where some spreadsheets start
    another cell. `unguarded` removes exactly these.

    Examples
    --------
    >>> guarded("=1+1"), guarded("clear; -2 points"), guarded("'= is how it began")
    ("'=1+1", "clear;' -2 points", "''= is how it began")
    """
    return _UNGUARDED.sub(r"\1'", text)


def unguarded(text: str) -> str:
    """Undo `guarded`; any other apostrophe stays.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("'tis clear")
    ('=1+1', "'tis clear")
    """
    return _GUARDED.sub(r"\1", text)


def shown_cell(text: str) -> str:
    r"""Make a text of a file safe in a table for programs: no formula, no control codes.

    Examples
    --------
    >>> shown_cell("=1+1"), shown_cell("red:\x1b[31m")
    ("'=1+1", 'red:?[31m')
    """
    return guarded(printable(text))


class Row(NamedTuple):
    """Cells of one row, and its first and last line in the file; the header is 1."""

    first: int
    last: int
    cells: list[str]


def rows(path: Path, data: bytes) -> Iterator[Row]:
    """Give the rows of a file, header first, without blank lines; `path` is for messages."""
    lines, mark = _lines(path, data), dialect(data).separator
    for row in parted(lines, lambda first, fault: _torn(path, data, first, fault), delimiter=mark):
        if len(row.cells) > 1 or "".join(row.cells).strip():
            yield row


class Fault(Enum):
    """Why the csv module gave up on a row."""

    OPEN = "a quote is left open"
    LONG = "a cell is far too long, or a quote is left open"
    QUOTES = "a quote is in the wrong place"


def parted(
    lines: Iterable[str], torn: Callable[[int, Fault], BubbleRateError], **form: Any
) -> Iterator[Row]:
    """Give rows of cells and their lines; `form` is for the csv module, `torn` makes the error.

    What is wrong is found from how far the module read, not from its words.
    """
    taken, over = 0, False

    def watched() -> Iterator[str]:
        nonlocal taken, over
        for line in lines:
            taken += len(line)
            yield line
        over = True

    reader = csv.reader(watched(), strict=True, **form)
    while True:
        first, taken = reader.line_num + 1, 0
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            long = Fault.LONG if taken > LONGEST_CELL else Fault.QUOTES
            raise torn(first, Fault.OPEN if over else long) from None
        yield Row(first, reader.line_num, cells)


def column_names(path: Path, data: bytes) -> list[str]:
    """Read the names of the columns, in lower case without extra spaces; reads only the header."""
    where, row = f"{path.name}:1", next(rows(path, data), None)
    if row is None or row.first > 1:
        raise DiaryError(
            f"{where}: is empty; write the names of the columns here, such as when,bubbles"
        )
    names = [name.strip().lower() for name in row.cells]
    if {"when", "day"} & {part.strip() for part in "\t".join(names).split("\t")} - {*names}:
        raise DiaryError(f"{where}: columns are separated by tabs; save it as CSV with commas")
    twice = next((name for name in names if name and names.count(name) > 1), None)
    if twice:
        raise DiaryError(f"{where}: column {quoted(twice)} appears twice; rename one of them")
    if not {"when", "day"} & {*names}:
        raise DiaryError(f"{where}: has no column when or day; add one with the time of each visit")
    return names


def _lines(path: Path, data: bytes) -> Iterator[str]:
    """Decode lines one by one, so that adding a row needs only the header."""
    for line, raw in enumerate(data.removeprefix(BOM).splitlines(keepends=True), start=1):
        try:
            text = raw.decode()
        except UnicodeDecodeError as err:
            raise DiaryError(
                f"{path.name}:{line}: byte {err.object[err.start]:#04x} is not UTF-8 text; "
                "save the file as CSV in UTF-8"
            ) from None
        if "\0" in text:
            raise DiaryError(f"{path.name}:{line}: has a NUL byte; delete or retype this line")
        yield text


def _torn(path: Path, data: bytes, first: int, fault: Fault) -> DiaryError:
    """Make the error for a row that the csv module gave up on."""
    rest = b"".join(data.removeprefix(BOM).splitlines(keepends=True)[first - 1 :])
    for start, stop in dialect(data).cell_spans(rest):
        cell = rest[start:stop]
        if cell.startswith(b'"') and not _QUOTED.fullmatch(cell):
            line = first + len((rest[:start] + b"-").splitlines()) - 1
            return DiaryError(f"{path.name}:{line}: a quote is left open; close it with another")
        if len(cell) > LONGEST_CELL:
            return DiaryError(f"{path.name}:{first}: a cell is far too long; shorten it")
    return DiaryError(
        f"{path.name}:{first}: {fault.value}; inside a quoted cell write each quote twice"
    )
