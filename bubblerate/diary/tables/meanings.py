"""Reads what the maker says a column means, if its heading is unknown."""

from collections.abc import Sequence

from ...errors import InputError
from ...text import quoted
from ..lookalikes import tidied
from .headings import Found, Meant

__all__ = ["meanings"]

_PER_MINUTE = Found(kind="rate", spell_s=60.0)
_MEANINGS = {
    "date": Found(kind="date"),
    "time": Found(kind="time"),
    "day": Found(kind="day"),
    "bubbles": Found(kind="bubbles"),
    "per minute": _PER_MINUTE,
    "rate": _PER_MINUTE,
    "seconds": Found(kind="length"),
    "temp": Found(kind="temp"),
    "sg": Found(kind="sg"),
    "event": Found(kind="event"),
    "litres": Found(kind="litres"),
    "note": Found(kind="note"),
    "jar": Found(kind="vessel"),
}


def meanings(said: Sequence[str]) -> Meant:
    """Read what columns mean, as the maker says.

    Parameters
    ----------
    said : sequence of str
        Each a heading, "=", and one of date, time, day, bubbles, per minute (or rate), seconds,
        temp, sg, event, litres, note, jar.

    Returns
    -------
    mapping of str to Found
        By heading; letter case and extra spaces do not matter.

    Raises
    ------
    InputError
        If one cannot be read, or a heading or a meaning is given twice.

    Examples
    --------
    >>> meanings(["Plopp = bubbles"])["plopp"].kind
    'bubbles'
    """
    found: dict[str, Found] = {}
    for text in said:
        heading, mark, meaning = text.rpartition("=")
        known = _MEANINGS.get(tidied(meaning))
        if not mark or not heading.strip() or known is None:
            raise InputError(
                f'cannot read --column {quoted(text)}; write "heading=meaning", where the meaning '
                f"is one of {', '.join(_MEANINGS)}"
            )
        if tidied(heading) in found or (known.kind != "note" and known in found.values()):
            raise InputError(
                f"--column {quoted(text)} was given twice with different meanings; leave one out"
            )
        found[tidied(heading)] = known
    return found
