"""Brix by refractometer: sugar before there is alcohol, afterwards an estimate of gravity.

The estimate is shown but no sum uses it; nothing is ever bottled because of it.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from ..errors import InputError
from ..text import quoted
from . import units
from .events import ADDED, Event
from .lookalikes import tidied
from .number import NUMBERS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from ..physics.refraction import RefractedSG
    from .visit import Diary, Visit

__all__ = ["brix_read", "estimate", "must_sg", "still_sugar"]

# Yeast just pitched has made no alcohol yet; common practice, no source.
_LAG = timedelta(hours=12)


def brix_read(text: str) -> float:
    """Read Brix as a refractometer shows it [g per 100 g], to a tenth.

    Raises
    ------
    InputError
        If it is not a number from 0 to 40.
    """
    tidy = tidied(text)
    for unit in ("brix", "bx", "%"):
        tidy = tidy.removesuffix(unit).rstrip(" °")
    brix, column = round(units.number(tidy, "Brix"), 1), NUMBERS["refractometer_brix"]
    if not column.holds(brix):
        raise InputError(f"Brix is {quoted(text)}; write {column.wanted}")
    return brix


def must_sg(brix: float) -> float:
    """Gravity [SG] of a must without alcohol yet, from its Brix [g per 100 g]."""
    from ..physics.scales import sg_from_brix

    return round(sg_from_brix(brix), 4)


def still_sugar(diary: Diary, when: datetime) -> bool:
    """Whether there is no alcohol yet: before pitching, and for half a day after.

    Parameters
    ----------
    diary : Diary
        Its rows before the reading.
    when : datetime
        Of the reading, aware.
    """
    pitched = [visit.when for visit in diary.live if visit.event is Event.PITCHED]
    begun = diary.pitched if not pitched else pitched[-1]
    bubbled = any(visit.bubbles for visit in diary.batch if visit.when <= when)
    return not bubbled and (begun is None or when - begun <= _LAG)


def estimate(diary: Diary, visit: Visit) -> RefractedSG | None:
    """Estimate the gravity from a reading by refractometer.

    Parameters
    ----------
    diary : Diary
        The rows before it.
    visit : Visit
        With `refractometer_brix`.

    Returns
    -------
    RefractedSG or None
        None if the must was not read, if something was added since, or if no wine shows such a
        value.
    """
    from ..physics.refraction import sg_by_refractometer

    before = [row for row in diary.batch if row.when <= visit.when]
    must = _must_brix(before)
    if must is None or visit.refractometer_brix is None or any(v.event in ADDED for v in before):
        return None
    try:
        return sg_by_refractometer(must, visit.refractometer_brix)
    except ValueError:
        return None


def _must_brix(before: Sequence[Visit]) -> float | None:
    """Brix of the must from its first gravity, if read before there was alcohol."""
    from ..physics.scales import brix_from_sg

    first = next((row for row in before if row.sg is not None), None)
    if first is None or first.sg is None or first.when - before[0].when > _LAG:
        return None
    if any(row.bubbles for row in before if row.when < first.when):
        return None
    if first.refractometer_brix is not None:
        return first.refractometer_brix
    try:
        return float(brix_from_sg(first.sg))
    except ValueError:
        return None
