"""Turns what people type, with units, into numbers.

Times are in seconds, volumes in litres, temperatures in Celsius. Letter case, extra spaces and
decimal commas do not matter. A text that cannot be read, or a value out of range, raises an
`InputError` that says what would do.
"""

import math
import re

from ..errors import InputError
from ..physics.constants import UK_GALLON_LITRES, US_GALLON_LITRES
from ..text import plain, quoted
from .lookalikes import seeing_letters, tidied

__all__ = [
    "FahrenheitMeantError",
    "added_l",
    "grams",
    "litres",
    "number",
    "seconds",
    "sg",
    "temp_c",
]

_LONGEST_SECONDS = 86_400.0
LITRES = (0.05, 10_000.0)  # a jug to a vat
ADDED_L = (0.001, LITRES[1])  # a spoonful to a vat
SUGAR_G = (0.1, 1e6)
_LITRES_PER = {
    **dict.fromkeys(("", "l", "litre", "liter"), 1.0),
    **dict.fromkeys(("ml", "millilitre", "milliliter"), 0.001),
    "cl": 0.01,
    **dict.fromkeys(("uk gal", "uk gallon", "imperial gallon"), UK_GALLON_LITRES),
    **dict.fromkeys(("us gal", "us gallon"), US_GALLON_LITRES),
}

_GRAMS_PER = {
    **dict.fromkeys(("", "g", "gram", "gramme"), 1.0),
    **dict.fromkeys(("kg", "kilo", "kilogram"), 1000.0),
    **dict.fromkeys(("oz", "ounce"), 28.349523125),  # avoirdupois, exact by definition since 1959
    **dict.fromkeys(("lb", "pound"), 453.59237),
}


_SIZE = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_NUMBER = re.compile(rf"[+-]?{_SIZE}")
_TEMPERATURE = re.compile(rf"([+-]?{_SIZE}) ?°? ?([cf]?)")
_MINUTES, _SECONDS = "(?:m|mins?|minutes?)", "(?:s|secs?|seconds?)"
_SPELL = re.compile(
    rf"(?:({_SIZE}) ?(?:h|hrs?|hours?))? ?"
    rf"(?:({_SIZE}) ?{_MINUTES})? ?"
    rf"(?:({_SIZE}) ?{_SECONDS})?"
)
_STOPWATCH = re.compile(r"([0-9]{1,4}):([0-5][0-9])")
_MEASURE = re.compile(rf"({_SIZE}) ?([a-z ]*)")


class FahrenheitMeantError(InputError):
    """A temperature too warm for Celsius that makes sense in Fahrenheit."""


@seeing_letters
def seconds(text: str) -> float:
    """Read how long was counted.

    Parameters
    ----------
    text : str
        Such as "55s", "90" (seconds), "5 min", "1m30s", "1:30" or "2h".

    Returns
    -------
    float
        From 1 to 86 400 [s].

    Raises
    ------
    InputError
        If it is not a length of time, or outside that range.
    """
    tidy = _STOPWATCH.sub(r"\1m\2s", tidied(text))
    match = _SPELL.fullmatch(f"{tidy}s" if re.fullmatch(_SIZE, tidy) else tidy)
    if not tidy or not match:
        raise InputError(f"cannot read {quoted(text)} as a time span; write 55s, 5m or 1m30s")
    hours, minutes, rest = (_value(part) if part else 0.0 for part in match.groups())
    spell = 3600.0 * hours + 60.0 * minutes + rest
    if not 1.0 <= spell <= _LONGEST_SECONDS:
        raise InputError(f"{quoted(text)} is not from 1 s to 24 hours; write 55s, 5m or 1m30s")
    return spell


@seeing_letters
def temp_c(text: str) -> float:
    """Read the temperature of a vessel or its room; Fahrenheit has to be named.

    Parameters
    ----------
    text : str
        Such as "18.5" (Celsius), "18C" or "65 F".

    Returns
    -------
    float
        From -10 to 50 [C].

    Raises
    ------
    InputError
        If it is none, or out of range; `FahrenheitMeantError` if it makes sense in Fahrenheit.
    """
    match = _TEMPERATURE.fullmatch(tidied(text))
    if not match:
        raise InputError(f"cannot read {quoted(text)} as a temperature; write 18.5 or 65F")
    degrees, unit = _value(match[1]), match[2]
    if not unit and 50.0 < degrees <= 120.0:
        raise FahrenheitMeantError(
            f"{quoted(text)} is too warm for Celsius; did you mean Fahrenheit? Then write "
            f"{match[1]}F"
        )
    celsius = (degrees - 32.0) / 1.8 if unit == "f" else degrees
    if not -10.0 <= celsius <= 50.0:
        raise InputError(f"{quoted(text)} is outside -10 to 50 C; write it like 18.5 or 65F")
    return celsius


@seeing_letters
def sg(text: str) -> float:
    """Read a specific gravity, in any of the usual forms.

    Parameters
    ----------
    text : str
        Such as "1.004", "1004", ".996", "996" or "1,004".

    Returns
    -------
    float
        From 0.7 to 1.3.

    Raises
    ------
    InputError
        If it is not a gravity.
    """
    tidy = tidied(text)
    value = _value(tidy) if _NUMBER.fullmatch(tidy) else math.nan
    gravity = value / 1000.0 if 700.0 <= value <= 1300.0 else value
    if not 0.7 <= gravity <= 1.3:  # written this way to refuse nan too
        raise InputError(
            f"{quoted(text)} is not a gravity; write it like 1.004 or 1004 (4 Oechsle is 1.004)"
        )
    return gravity


@seeing_letters
def number(text: str, name: str) -> float:
    """Read any plain number.

    Parameters
    ----------
    text : str
        Such as "12.5" or "-4,5".
    name : str
        Name of the number, for the message.

    Returns
    -------
    float
        Finite.

    Raises
    ------
    InputError
        If it is not a plain number.
    """
    tidy = tidied(text)
    if not _NUMBER.fullmatch(tidy) or not math.isfinite(_value(tidy)):
        raise InputError(f"{name} is {quoted(text)}; write a plain number such as 12.5")
    return _value(tidy)


@seeing_letters
def litres(text: str) -> float:
    """Read a volume of wine; a gallon has to be UK or US.

    Parameters
    ----------
    text : str
        Such as "4.5" (litres), "4.5 L", "750ml", "1 UK gal" or "1 US gal".

    Returns
    -------
    float
        From 0.05 to 10 000 [L].

    Raises
    ------
    InputError
        If it is not a volume, does not say whose gallon, or is outside that range.
    """
    return _volume_l(text, *LITRES)


@seeing_letters
def added_l(text: str) -> float:
    """Read a volume put into a wine [L]; like `litres`, but from 0.001, a spoonful."""
    return _volume_l(text, *ADDED_L)


@seeing_letters
def grams(text: str) -> float:
    """Read a weight of sugar.

    Parameters
    ----------
    text : str
        Such as "200" (grams), "200 g", "0.2kg", "7 oz" or "1 lb".

    Returns
    -------
    float
        From 0.1 to 1 000 000 [g].

    Raises
    ------
    InputError
        If it is not a weight, or outside that range.
    """
    match = _MEASURE.fullmatch(tidied(text))
    unit = match[2].removesuffix("s") if match else "?"
    if not match or unit not in _GRAMS_PER:
        raise InputError(f"cannot read {quoted(text)} as a weight; write 200, 0.2 kg or 7 oz")
    weight_g = _value(match[1]) * _GRAMS_PER[unit]
    least, most = SUGAR_G
    if not least <= weight_g <= most:
        raise InputError(f"{quoted(text)} is not between 0.1 and 1000000 grams; check the unit")
    return weight_g


def _volume_l(text: str, least: float, most: float) -> float:
    match = _MEASURE.fullmatch(tidied(text))
    unit = match[2].removesuffix("s") if match else "?"
    if match and unit in {"gal", "gallon"}:
        raise InputError(
            f"{quoted(text)} could be UK or US gallons; "
            f"write {match[1]} UK gal or {match[1]} US gal"
        )
    if not match or unit not in _LITRES_PER:
        example = "write 4.5, 750ml, 1 UK gal or 1 US gal"
        raise InputError(f"cannot read {quoted(text)} as a volume; {example}")
    volume = _value(match[1]) * _LITRES_PER[unit]
    if not least <= volume <= most:
        raise InputError(
            f"{quoted(text)} is not between {plain(least)} and {plain(most)} litres; check the unit"
        )
    return volume


def _value(size: str) -> float:
    return float(size.replace(",", "."))
