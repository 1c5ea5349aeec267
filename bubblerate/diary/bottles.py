"""Reads bottles as people write them: how many of which size, and what closes them.

In a diary a filling is "6x75", or "5x75+1x50" with two sizes; sizes are in centilitres.
"""

import re
from enum import StrEnum

from ..errors import InputError
from ..text import plain, quoted
from . import units
from .lookalikes import tidied

__all__ = ["FILLING", "FILLING_FORM", "Closure", "closure", "filling"]


class Closure(StrEnum):
    """What closes the bottles."""

    CORK = "cork"  # straight, driven in; bottles lie on their side
    TAPERED = "tapered"  # a cork pushed in by hand; bottles stand upright
    CAP = "cap"  # screw cap
    CROWN = "crown"  # crown cap, crimped on, for sparkling wine


FILLING_FORM = "bottles and their size in cl, such as 6x75"
_SIZE_CL = (5.0, 3000.0)  # from a tasting sample to a cask; common practice, no source
_MOST = 99_999

_LOT = r"[1-9][0-9]{0,4}x[1-9][0-9]{0,3}(?:\.[0-9]*[1-9])?"
FILLING = rf"{_LOT}(?:\+{_LOT})*"
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_TYPED = rf"([0-9]{{1,6}}) ?[x\N{{MULTIPLICATION SIGN}}*] ?({_NUMBER} ?[a-z]*)"


def filling(text: str) -> str:
    """Read bottles filled, in the form of a diary.

    Parameters
    ----------
    text : str
        Such as "6x75", "6 x 75 cl", "6x750ml" or "5x75cl + 1x50cl"; a size without a unit is in
        centilitres.

    Returns
    -------
    str
        Such as "6x75" or "5x75+1x50".

    Raises
    ------
    InputError
        If it does not say how many of which size, from 5 cl to 30 L.

    Examples
    --------
    >>> filling("6 x 750ml"), filling("5x75cl + 1x50cl")
    ('6x75', '5x75+1x50')
    """
    return "+".join(_lot(part, text) for part in re.split(r" ?(?:\+|and) ?", tidied(text)))


def one(text: str) -> str:
    """Read one bottle of a size, such as "37.5cl", in the form of a diary.

    Raises
    ------
    InputError
        If it is no size of a bottle.

    Examples
    --------
    >>> one("37.5cl"), one("750 ml")
    ('1x37.5', '1x75')
    """
    try:
        return _lot(f"1x{tidied(text)}", text)
    except InputError:
        raise InputError(f"cannot read {quoted(text)} as a size; write 75cl or 37.5cl") from None


def lots(filled: str) -> list[tuple[str, int]]:
    """Split a filling from a diary into sizes [cl] and numbers.

    Examples
    --------
    >>> lots("5x75+1x37.5")
    [('75', 5), ('37.5', 1)]
    """
    return [(size, int(n)) for n, _, size in (lot.partition("x") for lot in filled.split("+")) if n]


def _lot(part: str, text: str) -> str:
    match = re.fullmatch(_TYPED, part)
    number, size_cl = (int(match[1]), _size_cl(match[2])) if match else (0, 0.0)
    low, high = _SIZE_CL
    if not 1 <= number <= _MOST or not low <= size_cl <= high:
        raise InputError(f"cannot read {quoted(text)} as bottles; write {FILLING_FORM}")
    return f"{number}x{plain(size_cl)}"


def _size_cl(text: str) -> float:
    """Read the size of a bottle [cl], with or without a unit; 0 if it is none."""
    try:
        return round(100.0 * units.added_l(text if text[-1].isalpha() else f"{text} cl"), 4)
    except InputError:
        return 0.0


def closure(text: str) -> Closure:
    """Read what closes the bottles, in any letter case, singular or plural.

    Raises
    ------
    InputError
        If it is none of `Closure`.

    Examples
    --------
    >>> closure("Corks") is Closure.CORK
    True
    """
    word = tidied(text)
    for known in Closure:
        if word in (known, f"{known}s", f"{known} cork", f"{known} corks"):
            return known
    raise InputError(f"no closure {quoted(text)}; write {', '.join(Closure)}")
