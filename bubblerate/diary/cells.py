"""Reads one cell of a diary, or says what is wrong with it."""

import math
import re
from collections.abc import Callable, Mapping
from datetime import datetime

from ..errors import DiaryError, InputError
from ..text import plain, quoted
from . import times as moments
from .bottles import FILLING, FILLING_FORM, Closure, closure, filling
from .dialect import Dialect
from .dosed import FININGS, FININGS_FORM, finings
from .event_names import likely
from .events import EVENTS, Event
from .number import NUMBERS, Number, any_number

__all__ = ["closed", "event", "filled", "fined", "number", "when"]

_DAY = Number(-36_500.0, 36_500.0, "days since pitching, such as 12.5", any_number)
_DECIMAL = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_WHOLE = re.compile(r"[0-9]+")
# A thousand and more, if the comma is decimal.
_GROUPED = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
_PLAIN = Dialect()


def when(where: str, cell: str) -> datetime | None:
    """Read a moment; None if blank."""
    if not cell.strip():
        return None
    try:
        return moments.instant(cell)
    except InputError:
        readings = [t if "T" in t else f"{t}T21:00" for t in moments.iso_readings(cell)]
        advice = " or ".join(readings) or "a time like 2026-11-24T21:00"
        raise _refusal(where, "when", cell, advice) from None


def event(where: str, text: str) -> Event | None:
    """Read an event; None if there is none."""
    if not text or text in EVENTS:
        return Event(text) if text else None
    raise _refusal(where, "event", text, likely(text) or f"one of {', '.join(EVENTS)}")


def filled(where: str, text: str) -> str:
    """Read the bottles filled, such as 6x75; "" if none."""
    return _as_kept(where, "bottles", text, FILLING, filling, FILLING_FORM)


def fined(where: str, text: str) -> str:
    """Read an amount of finings, such as 2.5ml; "" if none."""
    return _as_kept(where, "finings_amount", text, FININGS, finings, FININGS_FORM)


def _as_kept(
    where: str, column: str, text: str, kept: str, read: Callable[[str], str], form: str
) -> str:
    """Check a text in the form a diary has; anything else is refused with the right form."""
    if not text or re.fullmatch(kept, text):
        return text
    try:
        advice = read(text)
    except InputError:
        advice = form
    raise _refusal(where, column, text, advice)


def closed(where: str, text: str) -> Closure | None:
    """Read what closes the bottles; None if not given."""
    if not text or text in list(Closure):
        return Closure(text) if text else None
    try:
        advice = str(closure(text))
    except InputError:
        advice = f"one of {', '.join(Closure)}"
    raise _refusal(where, "closure", text, advice)


def number(where: str, name: str, cells: Mapping[str, str], form: Dialect = _PLAIN) -> float | None:
    """Read a number; None if blank.

    Parameters
    ----------
    where : str
        File and line, for a message.
    name : str
        Name of the column.
    cells : mapping of str to str
        The row, by column.
    form : Dialect, optional
        Form of the file.

    Returns
    -------
    float or None

    Raises
    ------
    DiaryError
        If it is not a number for this column; the message says what may be meant.
    """
    text = cells.get(name, "").strip()
    if not text:
        return None
    column = _DAY if name == "day" else NUMBERS[name]
    wanted = _WHOLE if name == "bubbles" else _DECIMAL
    comma = form.decimal == "," and "." not in text
    figures = text.replace(",", ".", 1) if comma else text
    if wanted.fullmatch(figures) and column.holds(float(figures)):
        grouped = text.replace(".", "")
        if form.decimal == "." or not _GROUPED.fullmatch(text) or not column.holds(float(grouped)):
            return float(figures)
        raise _refusal(where, name, text, f"{grouped} or {form.number(text)}")
    try:
        meant = round(column.typed(text), column.digits)
    except InputError:
        meant = math.nan
    advice = plain(meant) if column.holds(meant) else column.wanted
    raise _refusal(where, name, text, form.number(advice))


def _refusal(where: str, column: str, found: str, advice: str) -> DiaryError:
    """Make the error: where the cell is, what was found and what would do."""
    return DiaryError(f"{where}: {column} is {quoted(found)}; write {advice}")
