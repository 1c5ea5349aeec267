"""How the cells of a diary are parted, and what stands before the decimals.

A diary is begun with commas and decimal points (RFC 4180). A spreadsheet in a country where the
comma stands before the decimals saves it again with semicolons, and it stays in that form.
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
_OF_A_VISIT = {"when", "day"}  # one of them stands in every header


class Dialect(NamedTuple):
    """Separator of the cells, and decimal mark of the numbers, of one file."""

    separator: str = ","
    decimal: str = "."

    def number(self, text: str) -> str:
        """Number, written with a decimal point, as this file has it."""
        return text.replace(".", self.decimal)

    def cell(self, text: str) -> str:
        r"""Cell in quotes if it needs them.

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
        r"""Where each cell of a row starts and stops, in bytes, its quotes included.

        Examples
        --------
        >>> list(Dialect().cell_spans(b'8,"a, b",\n'))
        [(0, 1), (2, 8), (9, 9)]
        """
        mark = self.separator.encode()
        cell = rb"(?:^|" + mark + rb")(" + _QUOTED + rb'(?!")|[^' + mark + rb"\r\n]*)"
        return (found.span(1) for found in re.finditer(cell, row))

    def quote_left_open(self, data: bytes) -> bool:
        r"""Whether a row written below would fall into a quoted cell, as after a row cut short.

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
    r"""Give the form a diary is kept in, by its header and the numbers below it.

    Parameters
    ----------
    data : bytes
        Of the file.

    Returns
    -------
    Dialect
        Commas and points, where the header does not show semicolons; with semicolons a comma stands
        before the decimals, unless the file has numbers with a point and none with a comma.

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
    """Decimal marks in the columns of numbers, as far as the rows can be parted."""
    lines = (line.decode(errors="replace") for line in data.removeprefix(BOM).splitlines(True))
    table, found = csv.reader(lines, delimiter=";"), set()
    with suppress(csv.Error):  # whoever reads the rows says what is wrong with them
        names = [name.strip().lower() for name in next(table)]
        for row in table:
            cells = (cell for name, cell in zip(names, row, strict=False) if name not in _WORDS)
            found |= {match[1] for cell in cells if (match := _DECIMALS.fullmatch(cell.strip()))}
    return found
