"""Reads doses as people write them: sulphite, sorbate, finings.

Sulphite is potassium metabisulphite, in grams or tablets; sorbate is potassium sorbate, in grams.
Finings are "2.5ml" or "5g" in a diary, of each part if there are two.
"""

import re
from typing import Final

from ..errors import InputError
from ..physics.constants import TABLET_G
from ..text import plain, quoted
from .lookalikes import tidied

__all__ = ["DOSE_G", "FININGS", "FININGS_FORM", "finings", "sorbate_g", "sulphite_g"]

DOSE_G: Final = (0.01, 10_000.0)  # from a pinch in a bottle to a vat
FININGS_FORM: Final = "millilitres or grams, such as 2.5ml"
FININGS: Final = r"[0-9]{1,6}(?:\.[0-9]{0,3}[1-9])?(?:ml|g)"

_NUMBER: Final = r"[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+"
_WEIGHT: Final = re.compile(rf"({_NUMBER}) ?(mg|g|grams?|grammes?|kg)")
_TABLETS: Final = re.compile(
    rf"(?:({_NUMBER})|([0-9]+) ?/ ?([1-9][0-9]*)|(half(?: an?)?)|an?|one) ?tab(?:let)?s?"
)
_AMOUNT: Final = re.compile(rf"({_NUMBER}) ?(ml|g|grams?|l)")
_GRAMS_PER: Final = {"mg": 0.001, "kg": 1000.0}
_LEAST, _MOST = 0.001, 999_999.0


def sulphite_g(text: str) -> float:
    """Read potassium metabisulphite put in.

    Parameters
    ----------
    text : str
        Such as "0.44g", "440 mg", "1 tablet", "1/2 tablet" or "half a tablet"; a number alone could
        be either.

    Returns
    -------
    float
        From 0.01 to 10 000 [g]; a tablet is `TABLET_G`.

    Raises
    ------
    InputError
        If it is no such weight, or leaves open whether grams or tablets.

    Examples
    --------
    >>> sulphite_g("1 tablet"), sulphite_g("1/2 tablet"), sulphite_g("0.3 g")
    (0.44, 0.22, 0.3)
    """
    tidy = tidied(text)
    if re.fullmatch(_NUMBER, tidy):
        tablets = f"{tidy} tablet" if _value(tidy) == 1.0 else f"{tidy} tablets"
        raise InputError(
            f"{quoted(text)} could be grams or tablets; write {quoted(f'{tidy}g')} or "
            f"{quoted(tablets)}"
        )
    match = _TABLETS.fullmatch(tidy)
    if match is None:
        return _weighed(text, 'write 0.44g or "1 tablet"')
    number, over, under, half = match.groups()
    if number:
        share = _value(number)
    elif over:
        share = int(over) / int(under)
    else:
        share = 0.5 if half else 1.0
    return _inside(share * TABLET_G, text)


def sorbate_g(text: str) -> float:
    """Read potassium sorbate put in [g], such as "1.2g"; a spoon is not a weight.

    Raises
    ------
    InputError
        If it is not a weight from 0.01 to 10 000 g.
    """
    tidy = tidied(text)
    return _weighed(f"{tidy}g" if re.fullmatch(_NUMBER, tidy) else text, "weigh it and write 1.2g")


def finings(text: str) -> str:
    """Read finings put in, in the form of a diary.

    Parameters
    ----------
    text : str
        Such as "2.5 ml" or "5g", of each part where there are two.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If it is no such amount.

    Examples
    --------
    >>> finings("2,5 mL"), finings("5 grams")
    ('2.5ml', '5g')
    """
    match = _AMOUNT.fullmatch(tidied(text))
    amount = _value(match[1]) * (1000.0 if match[2] == "l" else 1.0) if match else 0.0
    if match is None or not _LEAST <= amount <= _MOST:
        raise InputError(f"cannot read {quoted(text)} as finings; write {FININGS_FORM}")
    return f"{plain(round(amount, 3))}{'ml' if match[2] in ('ml', 'l') else 'g'}"


def _weighed(text: str, advice: str) -> float:
    match = _WEIGHT.fullmatch(tidied(text))
    if match is None:
        raise InputError(f"cannot read {quoted(text)} as a weight; {advice}")
    return _inside(_value(match[1]) * _GRAMS_PER.get(match[2], 1.0), text)


def _inside(grams: float, text: str) -> float:
    least, most = DOSE_G
    if not least <= grams <= most:
        raise InputError(f"{quoted(text)} is not between 0.01 and 10000 grams; check the unit")
    return round(grams, 4)


def _value(number: str) -> float:
    return float(number.replace(",", "."))
