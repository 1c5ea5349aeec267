"""Finds the separator and the decimal mark of a diary.

A diary starts with commas and decimal points (RFC 4180). In countries with decimal commas, a
spreadsheet saves it with semicolons, and it stays in that form.
"""

import csv
import re
from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple

__all__ = ["BOM", "Dialect", "dialect"]

BOM = b"\xef\xbb\xbf"
_QUOTED = rb'"[^"]*(?:""[^"]*)*"'
_DECIMALS = re.compile(r"[+-]?[0-9]*([.,])[0-9]+")
_WORDS = {
    "when",
    "event",
    "note",
    "struck",
    "bottles",
    "closure",
    "other",
    "finings_amount",
}  # no columns of numbers
_OF_A_VISIT = {"when", "day"}  # every header has one of them


class Dialect(NamedTuple):
    """Separator of the cells, and decimal mark of the numbers, of one file."""

    separator: str = ","
    decimal: str = "."

    def number(self, text: str) -> str:
        """Convert a number with a decimal point to the form of this file."""
        return text.replace(".", self.decimal)

    def cell(self, text: str) -> str:
        r"""Put a cell in quotes if it needs them.

        Examples
        --------
        >>> Dialect().cell("clear, still"), Dialect(";", ",").cell("clear, still")
        ('"clear, still"', 'clear, still')
        """
        if not any(mark in text for mark in f'{self.separator}"\r\n'):
            return text
        doubled = text.replace('"', '""')
        return f'"{doubled}"'

    def cell_spans(self, row: bytes) -> Iterator[tuple[int, int]]:
        r"""Give where each cell of a row starts and stops, in bytes, with its quotes.

        Examples
        --------
        >>> list(Dialect().cell_spans(b'8,"a, b",\n'))
        [(0, 1), (2, 8), (9, 9)]
        """
        mark = self.separator.encode()
        cell = rb"(?:^|" + mark + rb")(" + _QUOTED + rb'(?!")|[^' + mark + rb"\r\n]*)"
        return (found.span(1) for found in re.finditer(cell, row))

    def quote_left_open(self, data: bytes) -> bool:
        r"""Whether a row written after this would end up in a quoted cell, as after a cut row.

        Examples
        --------
        >>> of = Dialect().quote_left_open
        >>> of(b'8,"a, b"\n'), of(b'8,"a, b\n'), of(b'5" pipe')
        (False, True, False)
        """
        before = rb"(^|[" + self.separator.encode() + rb"\r\n])"
        rest = re.sub(before + _QUOTED + rb'(?!")', rb"\1", data.removeprefix(BOM))
        return re.search(before + b'"', rest) is not None


def dialect(data: bytes) -> Dialect:
    r"""Find the form of a diary from its header and numbers.

    Parameters
    ----------
    data : bytes
        Content of the file.

    Returns
    -------
    Dialect
        Commas and points, unless the header has semicolons. With semicolons the decimal mark is a
        comma, unless the file has numbers with a point and none with a comma.

    Examples
    --------
    >>> dialect(b"when,sg\n"), dialect(b"when;sg\n2026-11-24T21:00;1,004\n")
    (Dialect(separator=',', decimal='.'), Dialect(separator=';', decimal=','))
    """
    head = next(iter(data.removeprefix(BOM).splitlines()), b"").decode(errors="replace").lower()
    names = {mark: {part.strip(' "\t') for part in head.split(mark)} for mark in ",;"}
    if names[","] & _OF_A_VISIT or not names[";"] & _OF_A_VISIT:
        return Dialect()
    return Dialect(";", "." if _decimal_marks(data) == {"."} else ",")


def _decimal_marks(data: bytes) -> set[str]:
    """Decimal marks in the columns of numbers, as far as the rows can be split."""
    lines = (line.decode(errors="replace") for line in data.removeprefix(BOM).splitlines(True))
    table, found = csv.reader(lines, delimiter=";"), set()
    with suppress(csv.Error):  # the reader of rows reports what is wrong
        names = [name.strip().lower() for name in next(table)]
        for row in table:
            cells = (cell for name, cell in zip(names, row, strict=False) if name not in _WORDS)
            found |= {match[1] for cell in cells if (match := _DECIMALS.fullmatch(cell.strip()))}
    return found
