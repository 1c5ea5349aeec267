"""Finds the days that a date may mean, in each order of day, month and year; never guesses.

The only reader of dates, for typed moments and for tables; and for typed moments of days as people
say them, such as "last night".
"""

import re
from collections.abc import Mapping
from datetime import date, time, timedelta
from typing import Literal, NamedTuple

from ..text import MONTHS

__all__ = ["ORDERS", "Order", "Parts", "Spoken", "readings", "spoken", "stands"]

Order = Literal["day-first", "month-first", "year-first"]
ORDERS: tuple[Order, ...] = ("day-first", "month-first", "year-first")
Parts = tuple[int | None, int, int]  # year where it is written, month, day

_WEEKDAY = r"(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[,.]* )?"
# Not compiled: most evenings no date is typed, and writing a count must be quick.
_NUMERIC = rf"{_WEEKDAY}([0-9]{{1,4}})([/.-])([0-9]{{1,2}})(?:\2([0-9]{{1,4}})?)?(?:(?:,? |t)(.*))?"
_TH = "(?:st|nd|rd|th)?"
_YEAR_LAST = r"(?:[ ,.'/-]+(?P<year>[0-9]{4}|[0-9]{2})(?![\w:]|\.[0-9]))?"
_YEAR_FIRST = r"(?:(?P<first>[0-9]{4})[ ,./-]+)?"
_NAMED = tuple(
    rf"{_WEEKDAY}{_YEAR_FIRST}{day_month}{_YEAR_LAST}\.?(?:,? (?P<clock>.*))?"
    for day_month in (
        rf"(?P<day>[0-9]{{1,2}}){_TH}[ ./-]*(?:of )?(?P<month>[a-z]{{3,9}})\.?",
        rf"(?P<month>[a-z]{{3,9}})\.?[ ./-](?P<day>[0-9]{{1,2}}){_TH}",
    )
)

_EVENING, _MORNING = time(21), time(9)  # when people count, if they give no hour
_SAID: Mapping[str, tuple[int, time | None]] = {  # days from today, and the usual hour
    "tomorrow": (1, None),
    "today": (0, None),
    **dict.fromkeys(("this evening", "tonight"), (0, _EVENING)),
    "this morning": (0, _MORNING),
    "yesterday": (-1, None),
    **dict.fromkeys(("last night", "yesterday evening", "yesterday night"), (-1, _EVENING)),
    "yesterday morning": (-1, _MORNING),
}
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_PARTS = {"morning": _MORNING, "evening": _EVENING, "night": _EVENING}
_ON = rf"(?:(last|on|this|next) )?([a-z]{{3,9}})(?: ({'|'.join(_PARTS)}))?"
_SMALL_HOURS = time(6)  # until then a night belongs to the day before


class Spoken(NamedTuple):
    """A day as somebody says it: `usual` is the hour it means, None if any."""

    day: date
    usual: time | None = None
    other: date | None = None  # another day it may mean


def spoken(words: str, today: date, *, said: time | None, ahead: bool = False) -> Spoken | None:
    """Find the day that words such as "last night" or "Saturday" mean; None for other words.

    Parameters
    ----------
    words : str
        In lower case and single spaces, without the hour.
    today : date
    said : time or None
        The hour that follows: one o'clock of last night is today.
    ahead : bool
        Whether a weekday means the next one, and not the last one.

    Returns
    -------
    Spoken or None

    Examples
    --------
    >>> spoken("saturday", date(2026, 11, 25), said=None).day  # asked on a Wednesday
    datetime.date(2026, 11, 21)
    """
    late = timedelta(days=words.endswith("night") and said is not None and said < _SMALL_HOURS)
    if words in _SAID:
        days, usual = _SAID[words]
        return Spoken(today + timedelta(days=days) + late, usual)
    match = re.fullmatch(_ON, words)
    number = match and next((i for i, name in enumerate(_WEEKDAYS) if _short(match[2], name)), None)
    if match is None or number is None:
        return None
    usual, week = _PARTS.get(match[3] or ""), timedelta(days=7)
    ahead = match[1] == "next" or (ahead and match[1] != "last")
    since = timedelta(days=(today.weekday() - number) % 7)
    if since or match[1] in {"last", "next"}:
        last = today - (since or week)
        return Spoken((last + week * (1 + (not since)) if ahead else last) + late, usual)
    return Spoken(today, usual, other=today + (week if ahead else -week))


def readings(tidy: str) -> tuple[Mapping[Order, Parts], str]:
    """Find the days that a text can mean, by order, and what follows the date.

    Parameters
    ----------
    tidy : str
        In lower case and single spaces: "24/11/26", "24.11.", "tue 24 nov", "nov 24th 2026 9pm".

    Returns
    -------
    days : mapping of Order to Parts
        Year or None, month and day, which need not exist; empty if the text is no date. With its
        month named, or a four-digit year first, a date is the same in every order.
    clock : str
        What follows the date, usually the time of day.

    Examples
    --------
    >>> readings("3/4/2026")
    ({'day-first': (2026, 4, 3), 'month-first': (2026, 3, 4)}, '')
    """
    if match := re.fullmatch(_NUMERIC, tidy):
        first, _, middle, last, clock = match.groups()
        return _numeric(first, int(middle), last), clock or ""
    for form in _NAMED:
        match = re.fullmatch(form, tidy)
        month = match and _month(match["month"])
        if match and month and not (match["first"] and match["year"]):
            year = match["first"] or match["year"]
            parts = (_year(year) if year else None, month, int(match["day"]))
            return dict.fromkeys(ORDERS, parts), match["clock"] or ""
    return {}, ""


def stands(parts: Parts) -> bool:
    """Whether the calendar has such a day; in some year if none is written."""
    year, month, day = parts
    try:
        date(2000 if year is None else year, month, day)
    except ValueError:
        return False
    return True


def _short(word: str, name: str) -> bool:
    """Whether a word is a weekday, or short for one."""
    return name.startswith(word) or (word == "weds" and name == "wednesday")


def _numeric(first: str, middle: int, last: str | None) -> dict[Order, Parts]:
    if len(first) == 4:
        parts = (int(first), middle, int(last or 0))
        return dict.fromkeys(ORDERS, parts)
    found: dict[Order, Parts] = {}
    if last is None or len(last) in {2, 4}:
        year = _year(last) if last else None
        found = {"day-first": (year, middle, int(first)), "month-first": (year, int(first), middle)}
    if last is not None and len(last) <= 2 and len(first) == 2:
        found["year-first"] = (_year(first), middle, int(last))
    return found


def _month(name: str) -> int | None:
    """Number of the month whose name starts like this."""
    begins = (i for i, month in enumerate(MONTHS, start=1) if month.lower().startswith(name))
    return next(begins, None)


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)
