"""Evenings and calendar days: an evening ends at four in the morning, and waits count dates.

Two readings two weeks apart are fourteen dates apart, at whatever hour each was made.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime, timedelta
from typing import Final

__all__ = ["days_on", "earliest", "evening_of", "months_later", "newest"]

_EVENING_ENDS: Final = timedelta(hours=4)


def evening_of(when: datetime) -> date:
    """Find the date of the evening that a moment belongs to, in its own offset.

    Examples
    --------
    >>> from datetime import UTC
    >>> evening_of(datetime(2026, 10, 2, 0, 30, tzinfo=UTC)).isoformat()
    '2026-10-01'
    """
    return (when - _EVENING_ENDS).date()


def days_on(day: date, days: float) -> date:
    """Date a number of whole days later."""
    return day + timedelta(days=days)


def newest(first: date | None, *others: date | None) -> date:
    """Latest of the dates that are known.

    Raises
    ------
    ValueError
        If none is.
    """
    return max(day for day in (first, *others) if day is not None)


def earliest(*days: date | None) -> date | None:
    """First of the dates that are known; None if none is."""
    return min((day for day in days if day is not None), default=None)


def months_later(day: date, months: float) -> date:
    """Date this many months later; half a month is 15 days, a short month gives its last day.

    Examples
    --------
    >>> months_later(date(2026, 11, 30), 3).isoformat()
    '2027-02-28'
    """
    whole = int(months // 1)
    year, month = divmod(day.year * 12 + day.month - 1 + whole, 12)
    last = monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last)) + timedelta(days=round(30.0 * (months % 1)))
