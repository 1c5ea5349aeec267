"""Reads one cell of a table: a count in any form, a temperature, a length of time.

Times are in seconds. A text that cannot be read raises an `InputError` that says what would do.
"""

import re

from ...errors import InputError
from ...text import quoted
from .. import counts, units
from ..lookalikes import tidied
from .headings import Column

__all__ = ["counted", "length_s", "temp_c"]

_NUMBER = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_FRACTION = r"[0-9]*[.,](?!00?$)[0-9]+"  # tables with gaps are often saved with "8.0"
_OWN_TIME = re.compile(r" (?:in|over) |every ")
_RATE = re.compile(r"/|\bper\b|\ba\b|bpm")
_NONE = {"none", "nothing"}


def counted(text: str, column: Column, length_s: float | None) -> counts.Counted:
    """Read bubbles, and how long they were counted [s].

    Parameters
    ----------
    text : str
        A plain number, which means what the heading says, or "none", "12 in 90 s",
        "one every 55 s", "3.2 a minute".
    column : Column
        Of kind "bubbles", "rate" or "spacing".
    length_s : float or None
        How long was counted [s], if another column says so.

    Returns
    -------
    Counted

    Raises
    ------
    InputError
        If it is not a count in any form.

    Examples
    --------
    >>> from .headings import columns
    >>> [per_min] = columns(["per minute"])
    >>> counted("3.2", per_min, 300.0), counted("3.2", per_min, None)
    (Counted(bubbles=16, seconds=300.0), Counted(bubbles=3, seconds=56.25))
    >>> counted("one every 55 s", per_min, None)
    Counted(bubbles=1, seconds=55.0)
    """
    tidy = tidied(text)
    over_s = length_s or (column.spell_s if column.kind == "bubbles" else None)
    if _OWN_TIME.search(tidy):
        return counts.counted(text)
    if tidy in _NONE or (tidy == "0" and column.kind != "spacing"):
        return counts.Counted(0, over_s or column.spell_s or 60.0)
    if column.kind == "spacing" and not _RATE.search(tidy):
        minutes = column.unit and re.fullmatch(_NUMBER, tidy)
        return counts.spaced(f"{text} {column.unit}" if minutes else text)
    if column.kind == "rate" and re.fullmatch(f"-?{_NUMBER}", tidy):
        return counts.at_rate(text, per_s=column.spell_s or 60.0, over_s=over_s)
    if re.fullmatch(_FRACTION, tidy):
        raise InputError(
            f"{quoted(text)} is not a whole count; if it is a rate, call the column Bubbles per "
            "minute"
        )
    return counts.counted(text, over_s=over_s)


def temp_c(text: str) -> float:
    """Read a temperature [C]; if Fahrenheit seems to be meant, the heading should say so."""
    try:
        return units.temp_c(text)
    except units.FahrenheitMeantError:
        raise InputError(
            f"{quoted(text)} is too warm for Celsius; did you mean Fahrenheit? Then name the "
            "column "
            "Temp F"
        ) from None


def length_s(text: str) -> float:
    """Read how long was counted [s]; the unit is "?" if nobody can know it."""
    if text.endswith("?"):
        raise InputError(
            f"{quoted(text.rstrip(' ?'))} may be seconds or minutes; name the column Seconds or "
            "Minutes"
        )
    return units.seconds(text)
