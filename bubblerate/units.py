"""What people type turned into numbers.

Spells are in seconds, volumes in litres, temperatures in Celsius; every moment carries its UTC
offset, and a time typed without one is local time. Letter case, spare spaces and decimal commas
do not matter. A text that cannot be read, or a value outside the range stated, is an `InputError`
that says what would do.
"""

import math
import re
from datetime import date, datetime, time, timedelta

from .errors import InputError
from .words import quoted

__all__ = [
    "count",
    "instant",
    "iso_readings",
    "litres",
    "moment",
    "number",
    "seconds",
    "sg",
    "temp_c",
]

_MOST_BUBBLES = 1_000_000
_LONGEST_SECONDS = 86_400.0
_LARGEST_LITRES = 10_000.0
_LITRES_PER = {
    **dict.fromkeys(("", "l", "litre", "liter"), 1.0),
    **dict.fromkeys(("ml", "millilitre", "milliliter"), 0.001),
    "cl": 0.01,
    **dict.fromkeys(("uk gal", "uk gallon", "imperial gallon"), 4.54609),
    **dict.fromkeys(("us gal", "us gallon"), 3.785411784),
}

# What phones and spreadsheets put where a minus or a degree sign is meant.
_LOOKALIKES = str.maketrans(
    {"\N{MINUS SIGN}": "-", "\N{MASCULINE ORDINAL INDICATOR}": "\N{DEGREE SIGN}"}
)

_SIZE = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_NUMBER = re.compile(rf"[+-]?{_SIZE}")
_TEMPERATURE = re.compile(rf"([+-]?{_SIZE}) ?°? ?([cf]?)")
_SPELL = re.compile(
    rf"(?:({_SIZE}) ?(?:h|hrs?|hours?))? ?"
    rf"(?:({_SIZE}) ?(?:m|mins?|minutes?))? ?"
    rf"(?:({_SIZE}) ?(?:s|secs?|seconds?))?"
)
_STOPWATCH = re.compile(r"([0-9]{1,4}):([0-5][0-9])")
_VOLUME = re.compile(rf"({_SIZE}) ?([a-z ]*)")
_CLOCK = r"[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?"
_TODAY = re.compile(rf"(today|yesterday)?(?: ?\b({_CLOCK}))?")
_DAY = re.compile(r"day ?([0-9]{1,4}(?:[.,][0-9]*)?)")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_INSTANT = re.compile(
    rf"({_DATE.pattern})(?:[T ]([0-9]{{2}}:[0-9]{{2}}(?::[0-9]{{2}}(?:\.[0-9]+)?)?) ?"
    r"(Z|[+-][0-9]{2}(?::?[0-9]{2})?)?)?"
)
_ANY_DATE = re.compile(rf"([0-9]{{1,4}})[-/.]([0-9]{{1,2}})[-/.]([0-9]{{1,4}})(?:[T ]({_CLOCK}))?")


def count(text: str) -> int:
    """Bubbles counted, a whole number.

    Parameters
    ----------
    text : str
        Such as "12", "0", "none" or "nothing".

    Returns
    -------
    int
        From 0 to 1 000 000.
    """
    tidy = _tidy(text)
    if tidy in {"none", "nothing"}:
        return 0
    if tidy.isascii() and tidy.isdigit():
        if float(tidy) <= _MOST_BUBBLES:
            return int(float(tidy))
        raise InputError(f"{quoted(text)} is more bubbles than anyone can count; check the number")
    if re.fullmatch(_SIZE, tidy):
        raise InputError(
            f"{quoted(text)} is not a whole count; count for longer, e.g. 32 --over 10m"
        )
    raise InputError(f"cannot read {quoted(text)} as a count; write a whole number, or none")


def seconds(text: str) -> float:
    """Length of a spell of counting.

    Parameters
    ----------
    text : str
        Such as "55s", "90" (seconds), "5 min", "1m30s", "1:30" or "2h".

    Returns
    -------
    float
        Above 0 and up to 86 400 [s].
    """
    tidy = _STOPWATCH.sub(r"\1m\2s", _tidy(text))
    match = _SPELL.fullmatch(f"{tidy}s" if re.fullmatch(_SIZE, tidy) else tidy)
    if not tidy or not match:
        raise InputError(f"cannot read {quoted(text)} as a time span; write 55s, 5m or 1m30s")
    hours, minutes, rest = (_value(part) if part else 0.0 for part in match.groups())
    spell = 3600.0 * hours + 60.0 * minutes + rest
    if not 0.0 < spell <= _LONGEST_SECONDS:
        raise InputError(f"{quoted(text)} is not between 0 and 24 hours; write 55s, 5m or 1m30s")
    return spell


def temp_c(text: str) -> float:
    """Temperature of a vessel or its room; Fahrenheit has to say so.

    Parameters
    ----------
    text : str
        Such as "18.5" (Celsius), "18C" or "65 F".

    Returns
    -------
    float
        From -10 to 50 [C].
    """
    match = _TEMPERATURE.fullmatch(_tidy(text))
    if not match:
        raise InputError(f"cannot read {quoted(text)} as a temperature; write 18.5 or 65F")
    degrees, unit = _value(match[1]), match[2]
    if not unit and 50.0 < degrees <= 120.0:
        raise InputError(
            f"{quoted(text)} is too warm for Celsius; was Fahrenheit meant? Then write {match[1]}F"
        )
    celsius = (degrees - 32.0) / 1.8 if unit == "f" else degrees
    if not -10.0 <= celsius <= 50.0:
        raise InputError(f"{quoted(text)} is outside -10 to 50 C; write it like 18.5 or 65F")
    return celsius


def sg(text: str) -> float:
    """Specific gravity, however the maker writes it.

    Parameters
    ----------
    text : str
        Such as "1.004", "1004", ".996", "996" or "1,004".

    Returns
    -------
    float
        From 0.7 to 1.3.
    """
    tidy = _tidy(text)
    value = _value(tidy) if _NUMBER.fullmatch(tidy) else math.nan
    gravity = value / 1000.0 if 700.0 <= value <= 1300.0 else value
    if not 0.7 <= gravity <= 1.3:  # written so that nan is refused too
        raise InputError(
            f"{quoted(text)} is not a gravity; write it like 1.004 or 1004 (4 Oechsle is 1.004)"
        )
    return gravity


def number(text: str, name: str) -> float:
    """Any plain number.

    Parameters
    ----------
    text : str
        Such as "12.5" or "-4,5".
    name : str
        What the number is, for the message.

    Returns
    -------
    float
        Finite.
    """
    tidy = _tidy(text)
    if not _NUMBER.fullmatch(tidy) or not math.isfinite(_value(tidy)):
        raise InputError(f"{name} is {quoted(text)}; write a plain number such as 12.5")
    return _value(tidy)


def litres(text: str) -> float:
    """Volume of wine; a gallon has to say whose.

    Parameters
    ----------
    text : str
        Such as "4.5" (litres), "4.5 L", "750ml", "1 UK gal" or "1 US gal".

    Returns
    -------
    float
        Above 0 and up to 10 000 [L].
    """
    match = _VOLUME.fullmatch(_tidy(text))
    unit = match[2].removesuffix("s") if match else "?"
    if match and unit in {"gal", "gallon"}:
        raise InputError(
            f"{quoted(text)} could be UK or US gallons; "
            f"write {match[1]} UK gal or {match[1]} US gal"
        )
    if not match or unit not in _LITRES_PER:
        raise InputError(
            f"cannot read {quoted(text)} as a volume; write 4.5, 750ml, 1 UK gal or 1 US gal"
        )
    volume = _value(match[1]) * _LITRES_PER[unit]
    if not 0.0 < volume <= _LARGEST_LITRES:
        raise InputError(f"{quoted(text)} is not between 0 and 10000 litres; check the unit")
    return volume


def instant(text: str) -> datetime:
    """Moment in ISO 8601, the strict form a diary holds; a date alone is the start of that day.

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
        If it is in any other form, or there is no such moment.
    """
    if match := _INSTANT.fullmatch(text.strip()):
        try:
            when = datetime.fromisoformat(f"{match[1]}T{match[2] or '00:00'}{match[3] or ''}")
            return when if when.tzinfo else _local(when)
        except (ValueError, OverflowError, OSError):
            pass  # the 31st of June, or a year the machine's clock cannot hold
    raise InputError(f"cannot read {quoted(text)} as a time; write 2026-11-24T21:30")


def moment(
    text: str, *, now: datetime, clock: time | None = None, pitched: datetime | None = None
) -> datetime:
    """Moment a person means.

    Parameters
    ----------
    text : str
        ISO 8601 with or without the time or an offset, "now", "21:30", "today 21:30",
        "yesterday 21:30", "today", "yesterday", or "day 12.5" (counted from pitching).
    now : datetime
        The present moment.
    clock : time, optional
        Clock time a date alone stands for; that of `now` unless given.
    pitched : datetime, optional
        When the yeast went in, needed for "day 12".

    Returns
    -------
    datetime
        Aware; local time unless the text names an offset.

    Raises
    ------
    InputError
        If it cannot be read, can be read two ways, or counts days and `pitched` is not known.
    """
    tidy = _tidy(text)
    here = now.astimezone().replace(microsecond=0)
    usual = here.time() if clock is None else clock
    if tidy == "now":
        return here
    if match := _DAY.fullmatch(tidy):
        if pitched is None:
            raise InputError(f"{quoted(text)} counts from pitching, not known; write a date")
        return (pitched + timedelta(days=_value(match[1]))).astimezone()
    try:
        if tidy and (match := _TODAY.fullmatch(tidy)):
            day = here.date() - timedelta(days=match[1] == "yesterday")
            return _local(datetime.combine(day, _clock(match[2]) if match[2] else usual))
        if _DATE.fullmatch(tidy):
            return _local(datetime.combine(date.fromisoformat(tidy), usual))
        return instant(tidy.upper())
    except (ValueError, OverflowError, InputError):
        raise InputError(_advice(text)) from None


def iso_readings(text: str) -> tuple[str, ...]:
    """ISO 8601 texts that a date in another form may stand for, to offer in a message.

    Parameters
    ----------
    text : str
        Such as "3/4/2026" or "24.11.2026 21:30".

    Returns
    -------
    tuple of str
        Day-month order first; two when the text can be read two ways, none when it is no date.

    Examples
    --------
    >>> iso_readings("3/4/2026"), iso_readings("24.11.2026 21:30")
    (('2026-04-03', '2026-03-04'), ('2026-11-24T21:30',))
    """
    match = _ANY_DATE.fullmatch(_tidy(text).upper())
    if not match:
        return ()
    first, middle, last = (int(part) for part in match.groups()[:3])
    if len(match[1]) == 4:
        orders = [(first, middle, last)]
    else:
        year = last if len(match[3]) == 4 else 2000 + last
        orders = [(year, middle, first), (year, first, middle)]
    readings = []
    for year, month, day in orders:
        try:
            clock = f"T{_clock(match[4]).isoformat('minutes')}" if match[4] else ""
            readings.append(f"{date(year, month, day).isoformat()}{clock}")
        except ValueError:
            continue  # no thirteenth month, so not in this order
    return tuple(dict.fromkeys(readings))


def _tidy(text: str) -> str:
    """Text in lower case, with single spaces and the minus and degree signs that `re` knows."""
    return " ".join(text.split()).lower().translate(_LOOKALIKES)


def _value(size: str) -> float:
    return float(size.replace(",", "."))


def _clock(text: str) -> time:
    """Clock time; an hour of one digit gets its zero."""
    return time.fromisoformat(text if text[1] != ":" else f"0{text}")


def _local(naive: datetime) -> datetime:
    """Local time with its offset; a midnight that a clock change skips stays on its own day."""
    when = naive.astimezone()
    return when if when.date() == naive.date() else naive.replace(fold=1).astimezone()


def _advice(text: str) -> str:
    """Say what is wrong with a text that names no moment, and what would do."""
    readings = iso_readings(text)
    if len(readings) > 1:
        return f"{quoted(text)} can be read two ways; write {' or '.join(readings)}"
    forms = "".join(readings) or "2026-11-24, 21:30, yesterday 21:30 or day 12"
    return f"cannot read {quoted(text)} as a time; write {forms}"
