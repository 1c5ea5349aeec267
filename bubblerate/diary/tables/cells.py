"""What people write into one cell of a table: a count in any of its forms, a gravity, a length.

Spells are in seconds. A text that cannot be read is an `InputError` that says what would do.
"""

import re
from collections.abc import Callable, Mapping

from ...errors import InputError
from ...text import quoted
from .. import units
from ..counts import counted as said
from ..units import tidied
from .headings import Column, Kind

__all__ = ["GRAVITIES", "counted", "length_s", "temp_c"]

_NUMBER = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_IN_WORDS = re.compile(r" (?:in|over|per) |every ")  # which `counted` reads
_PER_MINUTE = re.compile(
    rf"({_NUMBER}) ?(?:bubbles? ?)?(?:(?:per|a|in a|every|/) ?m(?:in(?:ute)?)?|bpm)"
)
_WHOLE = re.compile(r"([0-9]+)[.,]00?")  # as tables with gaps are often saved
_NONE = {"none", "nothing", "0"}
_MOST_PER_MIN = 1e6


def counted(text: str, column: Column, length_s: float | None) -> tuple[int, float]:
    """Bubbles, and the spell in which they were counted [s].

    Parameters
    ----------
    text : str
        A bare number, which means what the heading says, or "none", "12 in 90 s",
        "one every 55 s", "3.2 a minute".
    column : Column
        Of kind "bubbles", "rate" or "spacing".
    length_s : float or None
        How long was counted, if another column says so [s].

    Notes
    -----
    A rate that no whole count in that spell would give is written as the nearest count, in the
    spell in which it gives that rate: so it weighs what it is worth.

    Examples
    --------
    >>> from .headings import columns
    >>> [per_min] = columns(["per minute"])
    >>> counted("12", per_min, None), counted("3.2", per_min, 300.0), counted("3.2", per_min, None)
    ((12, 60.0), (16, 300.0), (3, 56.25))
    >>> counted("one every 55 s", per_min, None)
    (1, 55.0)
    """
    tidy = tidied(text)
    spell_s = length_s or (column.spell_s if column.kind == "bubbles" else None)
    if match := _PER_MINUTE.fullmatch(tidy):
        return _at_rate(match[1], 60.0, spell_s)
    if _IN_WORDS.search(tidy):
        found = said(text)
        return found.bubbles, found.seconds
    if tidy in _NONE - {"0"} or (tidy == "0" and column.kind != "spacing"):
        return 0, spell_s or column.spell_s or 60.0
    if column.kind == "spacing":
        minutes = column.unit and re.fullmatch(_NUMBER, tidy)
        return _spaced(f"{text} {column.unit}" if minutes else text)
    if column.kind == "rate":
        return _at_rate(text, column.spell_s or 60.0, spell_s)
    if match := _WHOLE.fullmatch(tidy):
        return units.count(match[1]), spell_s or 60.0
    if re.fullmatch(_NUMBER, tidy) and not tidy.isdigit():
        raise InputError(
            f"{quoted(text)} is not a whole count; if it is a rate, name the column "
            "Bubbles per minute"
        )
    return units.count(text), spell_s or 60.0


def temp_c(text: str) -> float:
    """Temperature [C]; where Fahrenheit seems to be meant, the heading is the place to say so."""
    try:
        return units.temp_c(text)
    except InputError as err:
        if "Fahrenheit" not in str(err):
            raise
        raise InputError(
            f"{quoted(text)} is too warm for Celsius; was Fahrenheit meant? Then name the column "
            "Temp F"
        ) from None


def length_s(text: str) -> float:
    """How long was counted [s]; behind a number of nobody knows what stands a "?"."""
    if text.endswith("?"):
        raise InputError(
            f"{quoted(text.rstrip(' ?'))} may be seconds or minutes; name the column Seconds or "
            "Minutes"
        )
    return units.seconds(text)


def _oechsle(text: str) -> float:
    """Gravity of points above water; no library is loaded for it."""
    return units.sg(f"{1.0 + units.number(text, 'Oechsle') / 1000.0:.4f}")


def _brix(text: str) -> float:
    """Gravity of Brix, Plato or Balling on a hydrometer; numpy is loaded for these only."""
    from ...physics.scales import sg_from_brix

    return sg_from_brix(units.number(text, "Brix"))


# Readers of gravity in each scale; where a row fills several, the first is taken.
GRAVITIES: Mapping[Kind, Callable[[str], float]] = {
    "sg": units.sg,
    "oechsle": _oechsle,
    "brix": _brix,
}


def _spaced(text: str) -> tuple[int, float]:
    """One bubble in so many seconds; where they come faster, those of a minute."""
    tidy = tidied(text)
    if re.fullmatch(_NUMBER, tidy) and 0.01 <= (spacing := units.number(tidy, "spacing")) < 1.0:
        return round(60.0 / spacing), 60.0
    if tidy == "0":
        raise InputError(f"{quoted(text)} is no time between bubbles; if none came, write none")
    return 1, units.seconds(text)


def _at_rate(text: str, per_s: float, length_s: float | None) -> tuple[int, float]:
    """Whole count and the spell in which it gives a rate of so many in `per_s` seconds."""
    rate = units.number(text, "the rate")
    if not 0.0 <= rate <= _MOST_PER_MIN:
        raise InputError(f"{quoted(text)} is no rate of bubbles; write a number such as 3.2")
    spell_s = length_s or per_s
    if rate == 0.0:
        return 0, spell_s
    told = rate * spell_s / per_s
    bubbles = max(1, round(told))
    decimals = len(re.sub(r".*[.,]|^[^.,]*$", "", text.strip()))
    rounding = 0.5 * 10.0**-decimals * spell_s / per_s
    if abs(told - bubbles) <= rounding * (1.0 + 1e-9):
        return bubbles, spell_s
    spell_s = round(per_s * bubbles / rate, 2)
    if spell_s > 86_400.0:
        raise InputError(f"{quoted(text)} is less than a bubble a day; write none")
    return bubbles, spell_s
