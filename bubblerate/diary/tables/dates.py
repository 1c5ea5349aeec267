"""Reads the dates of a table, all in one order of day, month and year, never guessed.

If a date can be read in several orders, all are kept until the whole table, or its maker, tells
which one is right.
"""

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from ...errors import InputError
from ...text import quoted
from ..dates import ORDERS, Order, Parts, readings, stands
from ..lookalikes import tidied
from ..times import instant, moment
from .tongues import english_date

__all__ = [
    "CLOCK",
    "Orders",
    "Written",
    "moments",
    "orders",
    "written",
    "yearless",
]

CLOCK = "21:00"  # for a day without a time, since people count in the evening

_ISO_CLOCK = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[t ][0-9]{2}:.*")
_DAYS = re.compile(r"(day )?([0-9]{1,4}(?:[.,][0-9]+)?)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A moment as written in a table.

    `where` names file, line and column for a message. If `exact` is None, `readings` has a day for
    each order in which the text can be read; `clock` is its time of day, "" if none.
    """

    where: str
    line: int
    text: str
    readings: Mapping[Order, Parts]
    clock: str = ""
    exact: datetime | None = None

    @property
    def depends(self) -> bool:
        """Whether the date depends on the order, or is impossible in one."""
        return self.exact is None and (len({*self.readings.values()}) > 1 or len(self.readings) < 3)


class Orders(NamedTuple):
    """The orders in which all dates can be read, and the date that shows it."""

    possible: tuple[Order, ...]  # empty if none depends on it
    shown_by: Written | None


def written(
    where: str, line: int, text: str, clock: str, *, pitched: datetime | None, days: bool
) -> Written:
    """Read a moment as written in a table.

    Parameters
    ----------
    where, line : str, int
        Place of the cell, for messages.
    text : str
        Such as "2026-11-24 21:30", "24/11/26", "24.11.", "Tue 24 Nov", "day 12".
    clock : str
        Time of day from another column, or "".
    pitched : datetime or None
        When day 0 was, if that is known.
    days : bool
        Whether a plain number means days since pitching.

    Returns
    -------
    Written

    Raises
    ------
    InputError
        If it is not a date in any order.
    """
    tidy = tidied(text)
    if (match := _DAYS.fullmatch(tidy)) and (match[1] or days):
        exact = _day_number(where, match[2], pitched)
        return Written(where=where, line=line, text=text, readings={}, exact=exact)
    found, own_clock = readings(english_date(tidy))
    days_meant = {order: parts for order, parts in found.items() if stands(parts)}
    if not days_meant:
        raise InputError(
            f"{where}: cannot read {quoted(text)} as a date; write 2026-11-24 or 24 Nov 2026"
        )
    if clock and own_clock not in {"", "00:00", "00:00:00"}:
        raise InputError(
            f"{where}: {quoted(text)} has a time, and so does the time column "
            f"({quoted(clock)}); empty one of them"
        )
    if own_clock and not clock and _ISO_CLOCK.fullmatch(tidy):
        with suppress(InputError):  # "2026-11-24 09:30 pm" starts like ISO 8601 but is not
            exact = instant(tidy.upper())
            return Written(where=where, line=line, text=text, readings={}, exact=exact)
    return Written(where=where, line=line, text=text, readings=days_meant, clock=clock or own_clock)


def orders(days: Sequence[Written]) -> Orders:
    """Find the orders in which every date of a table can be read.

    Parameters
    ----------
    days : sequence of Written
        All its dates.

    Returns
    -------
    Orders
        More than one if the maker has to say which; then they differ on the date `shown_by`.

    Raises
    ------
    InputError
        If two dates contradict each other.
    """
    possible: set[Order] = {*ORDERS}
    shown_by = None
    some = [day for day in days if day.depends]
    for day in some:
        left = possible & {*day.readings}
        if not left:
            other = next(d for d in some if not {*d.readings} & {*day.readings} or d is shown_by)
            raise InputError(
                f"{day.where}: {quoted(day.text)} is {_names(day)}, but line {other.line} has "
                f"{quoted(other.text)}, which is {_names(other)}; write all dates one way"
            )
        if left < possible:
            possible, shown_by = left, day
    if not some:
        return Orders((), None)
    told = {tuple(day.readings[order] for day in some) for order in possible}
    if len(told) > 1:
        shown_by = next(d for d in some if len({d.readings[order] for order in possible}) > 1)
    kept = tuple(order for order in ORDERS if order in possible)
    return Orders(kept if len(told) > 1 else kept[:1], shown_by)


def yearless(days: Sequence[Written]) -> Written | None:
    """Give the first date of a table if it has no year, so that the maker can be asked."""
    first = days[0] if days else None
    lacks = first and first.exact is None and next(iter(first.readings.values()))[0] is None
    return first if lacks else None


def moments(
    days: Sequence[Written], *, order: Order | None, year: int | None, now: datetime
) -> list[datetime]:
    """Work out the moments of all dates of a table.

    Parameters
    ----------
    days : sequence of Written
        In the order of the table.
    order : Order or None
        Order of day, month and year; None if it makes no difference.
    year : int or None
        Year of the first date, if it has none. Any other date without a year gets the year that
        puts it nearest to the date before it.
    now : datetime
        The present moment.

    Returns
    -------
    list of datetime
        Aware.

    Raises
    ------
    InputError
        If a date cannot be read in that order, or does not exist.
    """
    told: list[datetime] = []
    for day in days:
        if day.exact is not None:
            told.append(day.exact)
            continue
        chosen = next(iter(day.readings)) if order is None else order
        parts = day.readings.get(chosen)
        if parts is None:
            raise InputError(
                f"{day.where}: {quoted(day.text)} is {_names(day)}, not {_name(chosen)}; "
                "leave --dates out, or correct this date"
            )
        the_day = _dated(day, parts, year, told[-1].date() if told else None)
        try:
            told.append(moment(f"{the_day.isoformat()} {day.clock or CLOCK}", now=now))
        except InputError as err:
            clock = f"cannot read {quoted(day.clock)} as a time of day; write it like 21:30"
            raise InputError(f"{day.where}: {clock if day.clock else err}") from None
    return told


def _dated(day: Written, parts: Parts, year: int | None, before: date | None) -> date:
    """Calendar day; without a year, in the year nearest to the day before it."""
    said, month, number = parts
    base = before.year if before is not None else year
    if said is not None:
        return date(said, month, number)
    if base is None:
        raise InputError(f"{day.where}: {quoted(day.text)} has no year; say it with --year 2026")
    years = [base] if before is None else [base - 1, base, base + 1]
    near = [date(y, month, number) for y in years if stands((y, month, number))]
    if not near:
        raise InputError(f"{day.where}: {quoted(day.text)} is not a day in {base}; write its year")
    return near[0] if before is None else min(near, key=lambda one: abs(one - before))


def _day_number(where: str, number: str, pitched: datetime | None) -> datetime:
    if pitched is None:
        raise InputError(
            f"{where}: {quoted(number)} counts days from pitching, but the start is not known; "
            "start the diary first: bubblerate start NAME --when 2026-10-01"
        )
    return moment(f"day {number}", now=pitched, pitched=pitched)


def _names(day: Written) -> str:
    return " or ".join(_name(order) for order in day.readings)


def _name(order: Order) -> str:
    return order.replace("-", " ")
