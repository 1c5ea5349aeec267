"""Reads gravity as people type it: SG, Oechsle or Brix, perhaps with a temperature.

Gives SG as read, and temperatures in Celsius. numpy is loaded only for Brix.
"""

import re
from typing import Literal, NamedTuple

from ..errors import InputError
from ..text import plain, quoted
from . import units
from .lookalikes import tidied

__all__ = ["SCALES", "Reading", "Scale", "gravity", "reading", "scale_named"]

Scale = Literal["sg", "oechsle", "brix"]
SCALES: tuple[Scale, ...] = ("sg", "oechsle", "brix")

_OECHSLE = (-300.0, 300.0)  # SG from 0.7 to 1.3
_DIGITS = 4  # digits of an SG that was read on another scale
_SAID: tuple[tuple[str, Scale], ...] = (
    (r"(?:(?:sg|s\.g\.) )?(.*?)(?: ?(?:sg|s\.g\.))?", "sg"),
    (r"(.+?) ?\u00b0? ?(?:oechsle|\u00f6chsle|oe)", "oechsle"),
    (r"(.+?) ?\u00b0? ?(?:brix|bx|plato|balling)", "brix"),
)


class Reading(NamedTuple):
    """A gravity as read [SG], and the temperature of the sample if given [C]."""

    sg: float
    sample_c: float | None = None


def reading(text: str, *, scale: Scale = "sg", sample: str | None = None) -> Reading:
    """Read the gravity that a person means, with the temperature of its sample.

    Parameters
    ----------
    text : str
        Such as "1.004", "1004", ".996", "4 Oe", "1.0 Brix" or "1.004 at 17C".
    scale : Scale
        In which a bare number is read.
    sample : str, optional
        Temperature of the sample if typed apart: "17" or "63F".

    Returns
    -------
    Reading

    Raises
    ------
    InputError
        If it is no gravity, if no hydrometer reads that, or if there are two temperatures.

    Examples
    --------
    >>> reading("1.004 at 17C"), reading("4 Oe")
    (Reading(sg=1.004, sample_c=17.0), Reading(sg=1.004, sample_c=None))
    """
    words, at, behind = tidied(text).partition(" at ")
    if at and sample is not None:
        raise InputError(f"{quoted(text)} already says its temperature; leave out the other")
    warmth = behind if at else sample
    sample_c = None if warmth is None else round(units.temp_c(warmth), 1)
    return Reading(gravity(words if at else text, scale=scale), sample_c)


def gravity(text: str, *, scale: Scale = "sg") -> float:
    """Read a gravity in SG; a text that names its scale is read in that scale.

    Parameters
    ----------
    text : str
        As for `reading`, without a temperature.
    scale : Scale
        In which a bare number is read.

    Returns
    -------
    float
        From 0.7 to 1.3 [SG].

    Raises
    ------
    InputError
        If it is not a gravity.
    """
    named, bare = _named(text)
    return _READ[scale](text) if named is None else _READ[named](bare)


def scale_named(text: str, *, scale: Scale = "sg") -> Scale:
    """Find the scale in which `reading` reads a text: the one it names, or the one given.

    Examples
    --------
    >>> scale_named("8.2 Brix"), scale_named("1.004")
    ('brix', 'sg')
    """
    return _named(tidied(text).partition(" at ")[0])[0] or scale


def _named(text: str) -> tuple[Scale | None, str]:
    """The scale that a text names, and its number."""
    tidy = tidied(text)
    for form, named in reversed(_SAID):
        match = re.fullmatch(form, tidy)
        if match and match[1] != tidy:
            return named, match[1]
    return None, text


def _oechsle(text: str) -> float:
    """Gravity from points above water."""
    points = units.number(text, "Oechsle")
    low, high = _OECHSLE
    if not low <= points <= high:
        raise InputError(f"Oechsle {plain(points)} is outside {plain(low)} to {plain(high)}")
    return round(1.0 + points / 1000.0, _DIGITS)


def _brix(text: str) -> float:
    """Gravity from Brix, Plato or Balling on a hydrometer."""
    from ..physics.scales import sg_from_brix

    try:
        return round(float(sg_from_brix(units.number(text, "Brix"))), _DIGITS)
    except ValueError as err:  # no such solution; the message gives the limits
        raise InputError(str(err)) from None


_READ = {"sg": units.sg, "oechsle": _oechsle, "brix": _brix}
