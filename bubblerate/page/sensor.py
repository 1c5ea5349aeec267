"""Writes counts that a sensor sends as JSON: all or none, and nothing twice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from ..diary import times
from ..diary.places import SUFFIX
from ..diary.typed import writable
from ..diary.visit import Visit
from ..errors import DiaryError, InputError

if TYPE_CHECKING:
    from datetime import datetime

    from ..diary.shelf import Shelf

__all__ = ["rows_of", "write_rows"]

_NEEDED: Final = frozenset({"when", "bubbles", "seconds"})
_NUMBERS: Final = ("bubbles", "seconds", "temp_c", "pressure_hpa")
_MOST: Final = 10_000
_TRIES: Final = 5  # others may write between our reading and our writing
_FORM: Final = '[{"when": "2026-11-24T21:30:00+01:00", "bubbles": 12, "seconds": 300}]'


def rows_of(data: object, *, now: datetime) -> list[Visit]:
    """Read the rows that a sensor sent.

    Parameters
    ----------
    data : object
        As read from JSON: a list of objects with `when`, `bubbles`, `seconds`, and `temp_c` or
        `pressure_hpa` if measured.
    now : datetime
        Aware.

    Returns
    -------
    list of Visit
        In order of time.

    Raises
    ------
    InputError
        If any of them is no such row, or is in the future.
    """
    if not isinstance(data, list) or not 0 < len(data) <= _MOST:
        raise InputError(f"write a list of 1 to {_MOST} rows, such as {_FORM}")
    visits = []
    for number, row in enumerate(data, start=1):
        try:
            visits.append(_row(row, now))
        except InputError as err:
            raise InputError(f"row {number}: {err}; nothing was written") from None
    return sorted(visits, key=lambda visit: visit.when)


def write_rows(shelf: Shelf, jar: str, visits: list[Visit]) -> int:
    """Write the rows that the diary does not have yet; give how many.

    Raises
    ------
    BubbleRateError
        If the diary cannot be read or written; then it is unchanged.
    """
    file = f"{jar}{SUFFIX}"
    for tried in range(1, _TRIES + 1):
        held = shelf.open(file).diary.visits
        there = {_same(v) for v in held}
        new = [v for same, v in {_same(v): v for v in visits}.items() if same not in there]
        try:
            if new:
                shelf.extend(file, new, held=held)
            return len(new)
        except DiaryError:
            if tried == _TRIES:
                raise
    raise AssertionError


def _same(visit: Visit) -> tuple[datetime, int | None, float | None]:
    """A mark that tells a sensor's counts apart."""
    return visit.when, visit.bubbles, visit.seconds


def _row(row: Any, now: datetime) -> Visit:
    if not isinstance(row, dict) or not _NEEDED <= row.keys() <= {*_NUMBERS, "when"}:
        raise InputError(
            f"it needs when, bubbles and seconds; temp_c and pressure_hpa are optional: {_FORM}"
        )
    if not isinstance(row["when"], str):
        raise InputError("when must be text, such as 2026-11-24T21:30:00+01:00")
    numbers = {name: row[name] for name in _NUMBERS if row.get(name) is not None}
    for name, value in numbers.items():
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(f"{name} must be a number")
    when = times.instant(row["when"]).replace(microsecond=0)
    if when > now:
        raise InputError(f"{row['when']} is in the future; set the sensor's clock")
    with writable():
        visit = Visit(when=when, **numbers)
    if visit.bubbles is None:
        raise InputError("bubbles must be a whole number; 0 counts")
    return visit
