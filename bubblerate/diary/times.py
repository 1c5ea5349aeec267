"""Turns dates and clock times, as people type them, into moments.

Every moment has its UTC offset; a time typed without one is local time. Letter case and extra
spaces do not matter. A text that cannot be read, or can be read two ways, raises an `InputError`
that says what would do.
"""

import re
from datetime import date, datetime, time, timedelta

from ..errors import InputError
from ..text import MONTHS, quoted
from .dates import Spoken, readings, spoken, stands
from .lookalikes import tidied
from .units import number

__all__ = ["days_between", "instant", "iso_readings", "moment"]

_SHORT_MONTHS = {2: "28 days, or 29 in a leap year", **dict.fromkeys((4, 6, 9, 11), "30 days")}

_DAY_NUMBER = re.compile(r"day ?([0-9]{1,4}(?:[.,][0-9]*)?)")
_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_INSTANT = re.compile(
    rf"{_DATE.pattern}(?:[T ]([0-9]{{2}}:[0-9]{{2}}(?::[0-9]{{2}}(?:\.[0-9]+)?)?) ?"
    r"(Z|[+-][0-9]{2}(?::?[0-9]{2})?)?)?"
)
_CLOCK = re.compile(
    r"(?:^|,? |(?<=[0-9])t)(?:at )?"
    r"(?=[0-9]+(?:[:.]| ?[ap]m))"  # an hour alone needs am or pm
    r"([0-9]{1,2})(?:[:.]([0-9]{2})(?::([0-9]{2}))?)?(?: ?([ap])m)?\Z"
)
_CLOCK_OR_DATE = re.compile(r"(0?[1-9]|1[0-9]|2[0-3])\.(0[1-9]|1[0-2])")  # 9.10, but not 20.00
# May be the hour or the year, as in 12 Oct 20.
_BARE_HOUR = re.compile(r"(?![0-9]{4})(?=.*[a-z]).*[0-9].* (?:[01][0-9]|2[0-4])")


def days_between(earlier: datetime, later: datetime) -> float:
    """Days of 24 hours from one moment to another; negative if the second comes first.

    Examples
    --------
    >>> days_between(instant("2026-11-24T21:00Z"), instant("2026-11-26T09:00Z"))
    1.5
    """
    return (later - earlier) / timedelta(days=1)


def instant(text: str) -> datetime:
    """Read a moment in ISO 8601, the strict form in a diary; a date alone is the start of that day.

    Parameters
    ----------
    text : str
        Such as "2026-11-24T21:30" (local time), or with an offset, or with Z; or "2026-11-24".

    Returns
    -------
    datetime
        Aware.

    Raises
    ------
    InputError
        If it has any other form, or there is no such moment.
    """
    when = _iso(text.strip())
    if when is None:
        raise InputError(f"cannot read {quoted(text)} as a time; write 2026-11-24T21:30")
    return when


def moment(
    text: str,
    *,
    now: datetime,
    clock: time | None = None,
    pitched: datetime | None = None,
    ahead: bool = False,
) -> datetime:
    """Read the moment that a person means.

    Parameters
    ----------
    text : str
        "now"; ISO 8601 with or without the time or an offset; a clock time today; a day with or
        without a clock time; or "day 12.5" (counted from pitching). A day is "today", "yesterday",
        "last night", "Saturday" (the last that was), "2026-10-12", "24/11/2026", "12 October 2026"
        or "Oct 12" (without a year the latest that is not to come). A clock time is "21:30",
        "20.00", "9:30 pm", "9.30pm" or "9pm".
    now : datetime
        The present moment.
    clock : time, optional
        Clock time for a day alone; that of `now` unless given.
    pitched : datetime, optional
        When the yeast went in, needed for "day 12".
    ahead : bool
        Whether a weekday means the next one.

    Returns
    -------
    datetime
        Aware; local time unless the text names an offset.

    Raises
    ------
    InputError
        If it cannot be read, can be read two ways, does not exist, or counts days and `pitched`
        is not known.
    """
    tidy = tidied(text)
    here = now.astimezone().replace(microsecond=0)
    if tidy == "now":
        return here
    if match := _DAY_NUMBER.fullmatch(tidy):
        return _days_after(pitched, number(match[1], "day"), text)
    if match := _CLOCK_OR_DATE.fullmatch(tidy):
        other = f"{int(match[1])} {MONTHS[int(match[2]) - 1][:3]}"
        raise InputError(
            f"{quoted(text)} can be read two ways; write {match[1]}:{match[2]} or {other}"
        )
    if not _DATE.fullmatch(tidy) and (when := _iso(tidy.upper())):
        return when
    words, said = _parted(tidy)
    if day_said := spoken(words, here.date(), said=said, ahead=ahead):
        return _of_spoken(day_said, said, clock, here, text)
    day = here.date() if said and not words else _day(words, here.date(), text)
    if day is None:
        raise InputError(_advice(words, said, here.date(), text))
    return _local(datetime.combine(day, said or (here.time() if clock is None else clock)))


def iso_readings(text: str) -> tuple[str, ...]:
    """Give ISO 8601 texts that a date in another form may mean, to offer in a message.

    Parameters
    ----------
    text : str
        Such as "3/4/2026" or "24.11.2026 21:30".

    Returns
    -------
    tuple of str
        Day-month order first; two when the text can be read two ways, none when it is not a date.

    Examples
    --------
    >>> iso_readings("3/4/2026"), iso_readings("24.11.2026 21:30")
    (('2026-04-03', '2026-03-04'), ('2026-11-24T21:30',))
    """
    words, said = _parted(tidied(text))
    clock = f"T{said.isoformat('minutes')}" if said else ""
    return tuple(f"{day}{clock}" for day in _days(words, None) if _on_calendar(f"{day}{clock}"))


def _iso(text: str) -> datetime | None:
    """Read a moment in ISO 8601, or None for any other form."""
    match = _INSTANT.fullmatch(text)
    day = match and _calendar_day(int(match[1]), int(match[2]), int(match[3]), text)
    if not match or not day:
        return None
    try:
        when = datetime.fromisoformat(f"{day}T{match[4] or '00:00'}{match[5] or ''}")
    except ValueError:
        return None  # the 25th hour
    return when if when.tzinfo else _local(when)


def _of_spoken(
    found: Spoken, said: time | None, clock: time | None, here: datetime, text: str
) -> datetime:
    """Moment of a day as people say it; today without an hour is not in the future."""
    if found.other is not None:
        hour = f"T{said.isoformat('minutes')}" if said else ""
        ways = " or ".join(f"{day}{hour}" for day in (found.day, found.other))
        raise InputError(f"{quoted(text)} can be read two ways; write {ways}")
    when = datetime.combine(found.day, said or clock or found.usual or here.time())
    unsaid = said is None and clock is None and found.day == here.date()
    return min(_local(when), here) if unsaid else _local(when)


def _parted(tidy: str) -> tuple[str, time | None]:
    """Split words into the day and the clock time after it, if there is one."""
    match = _CLOCK.search(tidy)
    if not match:
        return tidy, None
    hour, minute, second = (int(part or 0) for part in match.groups()[:3])
    if match[4]:
        if not 1 <= hour <= 12:
            return tidy, None
        hour = hour % 12 + (12 if match[4] == "p" else 0)  # 12 am is midnight, 12 pm is noon
    try:
        return tidy[: match.start()], time(hour, minute, second)
    except ValueError:
        return tidy, None


def _day(words: str, today: date, text: str) -> date | None:
    """Day that words such as "2026-10-12" or "oct 12" name; None if they name none."""
    found = _days(words, today)
    if len(found) == 1 and not _BARE_HOUR.fullmatch(words):
        return found[0]
    meant, rest = readings(words)
    if not found and not rest and len({*meant.values()}) == 1:
        year, month, day = meant["day-first"]
        return _calendar_day(today.year if year is None else year, month, day, text)
    return None


def _days(words: str, today: date | None) -> tuple[date, ...]:
    """Days that words may name; without a year the latest that is not in the future."""
    found, rest = readings(words)
    days: dict[date, None] = {}
    for year, month, day in () if rest else found.values():
        if year is None and today is not None and stands((year, month, day)):
            year = _latest_year(month, day, today)  # noqa: PLW2901 - the year that is meant
        if year is not None and stands((year, month, day)):
            days[date(year, month, day)] = None
    return tuple(days)


def _on_calendar(text: str) -> bool:
    """Whether a moment in ISO 8601 exists in every time zone."""
    try:
        instant(text)
    except InputError:
        return False
    return True


def _latest_year(month: int, day: int, today: date) -> int:
    """Year of the latest such day that is not after today."""
    year = today.year - ((month, day) > (today.month, today.day))
    while (month, day) == (2, 29) and (year % 4 or (year % 100 == 0 and year % 400)):
        year -= 1
    return year


def _calendar_day(year: int, month: int, day: int, text: str) -> date | None:
    """Calendar day, or None if there is no such month."""
    if not 1 <= month <= 12:
        return None
    if year == 0:
        raise InputError(_beyond(text))
    try:
        return date(year, month, day)
    except ValueError:
        days = _SHORT_MONTHS.get(month, "31 days")
        raise InputError(
            f"there is no such day as {quoted(text)}; {MONTHS[month - 1]} has {days}"
        ) from None


def _days_after(pitched: datetime | None, days: float, text: str) -> datetime:
    """Moment this many days of 24 hours after pitching, in local time."""
    if pitched is None:
        raise InputError(f"{quoted(text)} counts from pitching, which is not known; write a date")
    try:
        return (pitched + timedelta(days=days)).astimezone()
    except (ValueError, OverflowError, OSError):
        raise InputError(_beyond(text)) from None


def _local(naive: datetime) -> datetime:
    """Local time with its offset; a midnight skipped by a clock change stays on its day."""
    try:
        if naive.date() in {date.min, date.max}:  # already over, or not begun, in some time zone
            raise OverflowError
        when = naive.astimezone()
        return when if when.date() == naive.date() else naive.replace(fold=1).astimezone()
    except (ValueError, OverflowError, OSError):  # some machines' clocks end in 2038
        raise InputError(_beyond(naive.date().isoformat())) from None


def _beyond(text: str) -> str:
    return f"{quoted(text)} is beyond the calendar; write a date such as 2026-11-24 20:00"


def _advice(words: str, said: time | None, today: date, text: str) -> str:
    """Say what is wrong with a text that is no moment, and what would do."""
    clock = f"T{said.isoformat('minutes')}" if said else ""
    ways = [f"{day}{clock}" for day in _days(words, today)]
    if ways and _BARE_HOUR.fullmatch(words):
        ways.append(f"{words[:-3]} {words[-2:]}:00")
    if len(ways) > 1:
        return f"{quoted(text)} can be read two ways; write {' or '.join(ways)}"
    forms = "2026-11-24 20:00, 9:30 pm, yesterday 21:30, Saturday or day 12"
    return f"cannot read {quoted(text)} as a time; write {forms}"
