"""Corrects gravity readings, and tells whether they are steady.

Gravity is SG, falls are in points (0.001 SG), times in days.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from ..diary.events import ADDED
from ..physics.hydrometer import corrected_sg
from ..physics.scales import fall_points, points
from .priors import SAME_HAND_SD_POINTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.settings import Hydrometer
    from ..diary.visit import Visit

__all__ = [
    "Fall",
    "Reading",
    "Steadiness",
    "corrected_readings",
    "creep",
    "days",
    "last_fall",
    "steady",
    "still_since",
]

_EVENING_DAYS = 0.125  # any hour of an evening counts, give or take three
_NOW_FALLING_DAYS = 10.0  # an older reading tells how it fell, not how it falls now
_FEWEST_FOR_SLOPE = 3
_SURE_OF_SLOPE = 2.0  # standard errors
_CREEP = 0.7  # share of the tolerance a day: slower than this is steady


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One gravity reading, corrected to the hydrometer's own temperature."""

    when: datetime
    sg: float
    temp_c: float | None  # temperature of the vessel, if noted


@dataclass(frozen=True, slots=True, kw_only=True)
class Steadiness:
    """What steady means for a question: no more than this fall over this many days."""

    days: float
    points: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """A fall of gravity and the days it took; negative points are a rise."""

    points: float
    days: float


def corrected_readings(visits: Sequence[Visit], hydrometer: Hydrometer) -> tuple[Reading, ...]:
    """Gravity readings since sugar was last added, corrected for temperature and offset.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows, oldest first.
    hydrometer : Hydrometer
        Its calibration temperature and offset.

    Returns
    -------
    tuple of Reading
        Corrected by `bubblerate.physics.hydrometer.corrected_sg`.

    Raises
    ------
    ValueError
        If a reading or its temperature is outside the range of that.
    """
    return tuple(
        Reading(
            when=v.when,
            sg=float(
                corrected_sg(
                    v.sg,
                    hydrometer.calibration_c if v.sample_c is None else v.sample_c,
                    calibration_c=hydrometer.calibration_c,
                    offset=hydrometer.offset,
                )
            ),
            temp_c=v.temp_c,
        )
        for v in _since_fed(visits)
        if v.sg is not None
    )


def still_since(readings: Sequence[Reading], steadiness: Steadiness) -> datetime:
    """Find the first of the latest readings that lie within the tolerance of each other.

    Parameters
    ----------
    readings : sequence of Reading
        Oldest first, at least one.
    steadiness : Steadiness
        Its points are the tolerance.

    Returns
    -------
    datetime
    """
    first = len(readings) - 1
    low = high = readings[-1].sg
    while first > 0:
        low, high = min(low, readings[first - 1].sg), max(high, readings[first - 1].sg)
        if fall_points(high, low) > steadiness.points + 1e-6:  # for rounding
            break
        first -= 1
    return readings[first].when


def steady(readings: Sequence[Reading], steadiness: Steadiness) -> bool | None:
    """Say whether the latest readings are steady.

    Parameters
    ----------
    readings : sequence of Reading
        Oldest first, at least one.
    steadiness : Steadiness
        What steady means.

    Returns
    -------
    bool or None
        True: within the tolerance for long enough; False: falling; None: cannot say yet.
    """
    if creep(readings, steadiness) is not None:
        return False
    since = still_since(readings, steadiness)
    if days(since, readings[-1].when) >= steadiness.days - _EVENING_DAYS:
        return True
    last = last_fall(readings)
    if last is not None and since == readings[-1].when and last.days <= _NOW_FALLING_DAYS:
        return False if last.points > 0.0 else None
    return None


def last_fall(readings: Sequence[Reading]) -> Fall | None:
    """Fall to the last reading from the one before [points, days]; None if there is none."""
    if len(readings) < 2:
        return None
    before, last = readings[-2:]
    return Fall(points=fall_points(before.sg, last.sg), days=days(before.when, last.when))


def creep(readings: Sequence[Reading], steadiness: Steadiness) -> Fall | None:
    """Find a slow fall that several readings show together, though no two of them do.

    Parameters
    ----------
    readings : sequence of Reading
        Oldest first.
    steadiness : Steadiness
        A fall slower than about its points over its days counts as steady.

    Returns
    -------
    Fall or None
        None if the readings do not show it surely, or it is over.

    Notes
    -----
    Least squares, twice. Over double the days of the rule the slope must be sure; over the days of
    the rule it must go on, since a steep fall long ago is none today. Sure means two standard
    errors, with `SAME_HAND_SD_POINTS` as the error of a reading.
    """
    slopes = []
    for spans in (1.0, 2.0):
        late = [
            r
            for r in readings
            if days(r.when, readings[-1].when) <= spans * steadiness.days + _EVENING_DAYS
        ]
        t = np.array([days(readings[-1].when, r.when) for r in late])
        above = points(np.array([r.sg for r in late]))
        spread = float(np.sum((t - t.mean()) ** 2))
        if spread == 0.0:
            return None
        slopes.append(-float(np.sum((t - t.mean()) * above)) / spread)
    sure = len(late) >= _FEWEST_FOR_SLOPE and (
        slopes[-1] > _SURE_OF_SLOPE * SAME_HAND_SD_POINTS / np.sqrt(spread)
    )
    if not sure or min(slopes) <= _CREEP * steadiness.points / steadiness.days:
        return None
    return Fall(points=-slopes[-1] * float(t[0]), days=-float(t[0]))


def days(start: datetime, end: datetime) -> float:
    """Days from one moment to another."""
    return (end - start) / timedelta(days=1)


def _since_fed(visits: Sequence[Visit]) -> Sequence[Visit]:
    """Rows from the last addition of sugar or juice on; before it the wine was another."""
    added = [i for i, v in enumerate(visits) if v.event in ADDED]
    return visits[added[-1] :] if added else visits
