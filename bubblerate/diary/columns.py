"""The columns of a diary that hold numbers: what each may hold, and how a cell of one is read."""

import math
import re
from collections.abc import Callable, Mapping
from typing import NamedTuple

from ..errors import DiaryError, InputError
from ..text import plain, quoted
from . import units

__all__ = ["NUMBERS", "number", "refusal"]


class _Number(NamedTuple):
    """What a column of numbers may hold, and how to read a person who wrote something else."""

    low: float
    high: float
    wanted: str
    typed: Callable[[str], float]
    digits: int = 3

    def holds(self, value: float) -> bool:
        return math.isfinite(value) and self.low <= value <= self.high


def _count(text: str) -> float:
    return units.count(text.removesuffix(".0"))  # "8.0" is how tables with gaps are often saved


def _any_number(text: str) -> float:
    return units.number(text, "it")


NUMBERS = {
    "bubbles": _Number(0.0, 1e6, "a whole number up to 1000000, such as 12", _count),
    "seconds": _Number(1.0, 86_400.0, "seconds from 1 to 86400, such as 300", units.seconds),
    "temp_c": _Number(-10.0, 50.0, "Celsius from -10 to 50, such as 18.5", units.temp_c, 1),
    "pressure_hpa": _Number(800.0, 1100.0, "hPa from 800 to 1100, such as 1013", _any_number),
    "sg": _Number(0.7, 1.3, "a gravity such as 1.004", units.sg, 4),
    "sample_c": _Number(0.0, 40.0, "Celsius from 0 to 40, such as 18.5", units.temp_c, 1),
    "litres": _Number(*units.LITRES, "litres from 0.05 to 10000, such as 4.5", units.litres),
}
_DAY = _Number(-36_500.0, 36_500.0, "days since pitching, such as 12.5", _any_number)
_DECIMAL = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_WHOLE = re.compile(r"[0-9]+")


def number(where: str, name: str, cells: Mapping[str, str]) -> float | None:
    """Number in a cell; None where it is blank.

    Parameters
    ----------
    where : str
        File and line, for a message.
    name : str
        Of the column.
    cells : mapping of str to str
        The row, by column.

    Returns
    -------
    float or None

    Raises
    ------
    DiaryError
        If it is no number that the column may hold; the message says what may be meant.
    """
    text = cells.get(name, "").strip()
    if not text:
        return None
    column = _DAY if name == "day" else NUMBERS[name]
    form = _WHOLE if name == "bubbles" else _DECIMAL
    if form.fullmatch(text) and column.holds(float(text)):
        return float(text)
    try:
        meant = round(column.typed(text), column.digits)
    except InputError:
        meant = math.nan
    raise refusal(where, name, text, plain(meant) if column.holds(meant) else column.wanted)


def refusal(where: str, column: str, found: str, advice: str) -> DiaryError:
    """Say where a cell is, what was found in it and what would do."""
    return DiaryError(f"{where}: {column} is {quoted(found)}; write {advice}")
