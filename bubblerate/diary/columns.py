"""Reads a diary column by column, which is fast for files written by machines.

Each different cell of a column is read once, by the same rules as in a row. If anything is odd,
this gives up silently: the reader of rows then finds the line and names it.
"""

import csv
import gc
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields
from datetime import datetime
from functools import partial
from itertools import chain, repeat
from typing import Any, Final

from ..errors import BubbleRateError
from .cells import closed, event, filled, fined, number, when
from .csv_rows import LONGEST_CELL, unguarded
from .dialect import BOM, Dialect
from .number import NUMBERS
from .visit import Visit

__all__ = ["in_columns", "visits_of"]

# A moment with its offset; no other form that Python reads has this shape.
_WRITTEN: Final = "0000-00-00T00:00:00-00:00"
_SHAPE: Final = str.maketrans("123456789+", "000000000-")
_PLACE: Final = ""  # of a cell; the reader of rows says where
_LONGEST: Final = LONGEST_CELL // 2  # characters, each of which might be guarded

_READERS: Final[dict[str, Callable[[str], object]]] = {
    "event": lambda cell: event(_PLACE, cell.strip()),
    "bottles": lambda cell: filled(_PLACE, cell.strip()),
    "finings_amount": lambda cell: fined(_PLACE, cell.strip()),
    "closure": lambda cell: closed(_PLACE, cell.strip()),
    "other": lambda cell: unguarded(cell).strip(),
    "note": unguarded,
    "struck": lambda cell: unguarded(cell) if cell.strip() else "",
}
_TEXTS: Final = ("note", "struck", "other")


@contextmanager
def _uncollected() -> Iterator[None]:
    """Pause garbage collection, which would check new rows again and again."""
    at_work = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if at_work:
            gc.enable()


@_uncollected()
def in_columns(data: bytes, width: int, form: Dialect) -> list[list[str]] | None:
    """Split a file below its header into columns; None if a row is odd.

    Parameters
    ----------
    data : bytes
    width : int
        Cells that each row should have.
    form : Dialect

    Returns
    -------
    list of list of str, or None
        `width` columns. None if a row has more or fewer cells or spans several lines, or if there
        are no rows.
    """
    if b"\0" in data:
        return None
    lines = map(bytes.decode, data.removeprefix(BOM).splitlines(keepends=True))
    reader = csv.reader(lines, strict=True, delimiter=form.separator)
    try:
        cells = [*chain.from_iterable(_even(reader, width))]  # no row is kept: they fill the memory
    except (csv.Error, UnicodeDecodeError, _OddError):
        return None
    if reader.line_num * width != len(cells) or reader.line_num < 2:
        return None
    return [cells[width + i :: width] for i in range(width)]


class _OddError(Exception):
    """Something that only the reader of rows can read, or report."""


def _even(rows: Iterable[list[str]], width: int) -> Iterator[list[str]]:
    for row in rows:
        if len(row) != width:
            raise _OddError
        yield row


@_uncollected()
def visits_of(
    names: Sequence[str], columns: Sequence[Sequence[str]], lines: Sequence[int], form: Dialect
) -> list[Visit] | None:
    """Make visits of a table without day numbers; None if any row is odd.

    Parameters
    ----------
    names : sequence of str
        Names of the columns, in lower case.
    columns : sequence of sequence of str
        Their cells.
    lines : sequence of int
        Line of each row.
    form : Dialect
        Of the file.

    Returns
    -------
    list of Visit, or None
        In the order of the table.
    """
    known = dict(zip(names, columns, strict=True))
    if "when" not in known or any(known.get("day", ())):
        return None
    try:
        values = {
            name: _read(known[name], read) for name, read in _READERS.items() if name in known
        }
        for name in NUMBERS:
            if name in known:
                values[name] = _read(known[name], partial(_number, name, form))
        values["when"] = _moments(known["when"])
        for name in _TEXTS:
            _refuse_odd({*values.get(name, ())})
    except (BubbleRateError, ValueError, _OddError):
        return None
    return _made(values, lines)


def _refuse_odd(texts: Iterable[str]) -> None:
    """Leave values that a visit might refuse to the reader of rows."""
    for text in texts:
        text.encode()  # half a surrogate pair is a ValueError
        if len(text) > _LONGEST or "\0" in text:
            raise _OddError


def _read(cells: Sequence[str], read: Callable[[str], Any]) -> list[Any]:
    """Read each cell, each different one once."""
    found = {cell: read(cell) for cell in {*cells}}
    return [*map(found.__getitem__, cells)] if len(found) > 1 else [*found.values()] * len(cells)


def _number(name: str, form: Dialect, cell: str) -> float | None:
    value = number(_PLACE, name, {name: cell}, form)
    return int(value) if name == "bubbles" and value is not None else value


def _moments(cells: Sequence[str]) -> list[datetime]:
    """Read the moments of a column, fastest in the form that the program writes."""
    if "".join(cells).translate(_SHAPE) == _WRITTEN * len(cells):
        with suppress(ValueError):  # the 31st of a short month
            return [*map(datetime.fromisoformat, cells)]
    return [_told(cell) for cell in cells]


def _told(cell: str) -> datetime:
    moment = when(_PLACE, cell)
    if moment is None:
        raise _OddError
    return moment


def _made(values: dict[str, list[Any]], lines: Sequence[int]) -> list[Visit]:
    """Make visits from values known to be good, without checking again."""
    blank = [None] * len(lines)
    if "bubbles" in values and None in (seconds := values.get("seconds", blank)):
        counts = values["bubbles"]
        values["seconds"] = [
            60.0 if s is None and n is not None else s for n, s in zip(counts, seconds, strict=True)
        ]
    made = [*map(object.__new__, repeat(Visit, len(lines)))]
    for field in fields(Visit):
        # through the slot, since the class is frozen
        fill = vars(Visit)[field.name].__set__
        told = lines if field.name == "line" else values.get(field.name, repeat(field.default))
        deque(map(fill, made, told), maxlen=0)
    return made
