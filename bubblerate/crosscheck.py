"""Do the gravity readings stand still, and do bubbles and gravity tell the same story.

Gravity is SG corrected for temperature, falls are in points (0.001 SG), bubbles in millilitres.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .diary import BREAKS
from .forecast import Span
from .hydrometer import corrected_sg

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .config import Hydrometer
    from .diary import Visit

__all__ = ["FINISH_SG", "GravityCheck", "Reading", "Steadiness", "gravity_check", "readings"]

Floats = NDArray[np.float64]

ML_GAS_PER_POINT_LITRE = 540.0  # 1 point of fall frees 1 g of CO2 a litre, 0.54 L at 20 C

# Where a ferment of unknown kind is expected to end: between table wine (0.990 to 0.998) and mead
# (0.996 to 1.010). Common practice, no source. A vessel's own `finish` goes before it.
FINISH_SG = 0.998

READING_SD_POINTS = 1.0  # a hydrometer read with care is good to 1 or 2 points
_COUNTING_SD = 0.2  # relative error of bubbles summed between evenings
_BUBBLE_ML = (1.1, 0.4)  # centre and log spread: 0.64 to 1.7 mL seen, a little leaking past
_ABSURD_BUBBLE_ML = 3.4  # twice the largest seen: gas must be leaving by another way
_TINY_BUBBLE_ML = 0.45  # well under the smallest seen: the bubbles are not of sugar
_STORY_DAYS = (1.0, 14.0)  # span of a pair of readings that says something of the present
_WIDEST_GAP_DAYS = 4.0  # between counts that are summed up
_NOW_FALLING_DAYS = 10.0  # an older reading says how it fell once, not how it falls


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One gravity reading, corrected to the hydrometer's own temperature."""

    when: datetime
    sg: float
    temp_c: float | None  # of the vessel, if it was noted


@dataclass(frozen=True, slots=True, kw_only=True)
class Steadiness:
    """What steady means for a question: so little fall over so many days."""

    days: float
    points: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GravityCheck:
    """What the readings say, and how they sit with the bubbles.

    Attributes
    ----------
    readings : tuple of Reading
        All since sugar was last added, at least one.
    finish_sg : float
        Gravity at which this vessel is expected to end.
    finish_known : bool
        Whether the maker has said so; otherwise `finish_sg` is only what is usual.
    steady : bool or None
        True: within the tolerance for long enough; False: fallen by more at the last reading; None:
        cannot say yet.
    steady_days : float
        Days spanned by the latest readings that lie within the tolerance of each other.
    steady_since : datetime
        The first of those readings.
    fall_points, fall_days : float or None
        Fall between the last two readings, and the days between them; negative is a rise.
    bubble_ml : Span or None
        Gas that left for each bubble counted; None without litres, readings and counts between.
    expected_fall_points : Span or None
        Fall that the bubbles between the last two readings account for.
    leak : bool
        The gravity fell by far more than the bubbles account for.
    gas_only : bool
        The bubbles speak of a far larger fall than the gravity shows.
    """

    readings: tuple[Reading, ...]
    finish_sg: float
    finish_known: bool
    steady: bool | None
    steady_days: float
    steady_since: datetime
    fall_points: float | None
    fall_days: float | None
    bubble_ml: Span | None
    expected_fall_points: Span | None
    leak: bool
    gas_only: bool

    @property
    def latest(self) -> Reading:
        """The last reading."""
        return self.readings[-1]

    @property
    def above_finish_points(self) -> float:
        """How far the last reading stands above the expected finish."""
        return (self.latest.sg - self.finish_sg) * 1000.0


def readings(visits: Sequence[Visit], hydrometer: Hydrometer) -> tuple[Reading, ...]:
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


def gravity_check(
    visits: Sequence[Visit],
    *,
    hydrometer: Hydrometer,
    litres: float | None,
    finish_sg: float | None,
    steadiness: Steadiness,
) -> GravityCheck | None:
    """Judge the readings by themselves and against the bubbles counted between them.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows, oldest first.
    hydrometer : Hydrometer
        Its calibration temperature and offset.
    litres : float or None
        Wine in the vessel [L]; without it bubbles and gravity cannot be compared.
    finish_sg : float or None
        Expected finish, where the maker has said so.
    steadiness : Steadiness
        What steady means for the question asked.

    Returns
    -------
    GravityCheck or None
        None where there is no reading.
    """
    seen = readings(visits, hydrometer)
    if not seen:
        return None
    steady, since = _steady(seen, steadiness)
    fall = (seen[-2].sg - seen[-1].sg) * 1000.0 if len(seen) > 1 else None
    story = _story(seen, visits, litres)
    return GravityCheck(
        readings=seen,
        finish_sg=FINISH_SG if finish_sg is None else finish_sg,
        finish_known=finish_sg is not None,
        steady=steady,
        steady_days=_days(since, seen[-1].when),
        steady_since=since,
        fall_points=fall,
        fall_days=_days(seen[-2].when, seen[-1].when) if len(seen) > 1 else None,
        bubble_ml=_bubble_ml(seen, visits, litres),
        expected_fall_points=None if story is None else story[0],
        leak=story is not None and story[1] == "leak",
        gas_only=story is not None and story[1] == "gas",
    )


def _steady(seen: Sequence[Reading], rule: Steadiness) -> tuple[bool | None, datetime]:
    """Whether the latest readings stand still, and since when."""
    first = len(seen) - 1
    low = high = seen[-1].sg
    while first > 0:
        low, high = min(low, seen[first - 1].sg), max(high, seen[first - 1].sg)
        if (high - low) * 1000.0 > rule.points + 1e-6:  # rounding of the correction
            break
        first -= 1
    since = seen[first].when
    if _days(since, seen[-1].when) >= rule.days - 0.125:  # an evening is an evening
        return True, since
    if first == len(seen) - 1 and first > 0:
        recent = _days(seen[-2].when, seen[-1].when) <= _NOW_FALLING_DAYS
        if recent and seen[-2].sg > seen[-1].sg:
            return False, since
    return None, since


def _story(
    seen: Sequence[Reading], visits: Sequence[Visit], litres: float | None
) -> tuple[Span, str] | None:
    """Fall that the bubbles between the last telling pair account for, and what to make of it."""
    for before in reversed(seen[:-1]):
        span = _days(before.when, seen[-1].when)
        if not _STORY_DAYS[0] <= span <= _STORY_DAYS[1]:
            continue
        bubbles = _bubbles_between(visits, before.when, seen[-1].when)
        if bubbles is None or litres is None:
            return None
        fall = (before.sg - seen[-1].sg) * 1000.0
        per_ml = bubbles / (ML_GAS_PER_POINT_LITRE * litres)
        ml, spread = _BUBBLE_ML
        low, median, high = (per_ml * ml * np.exp(z * np.hypot(spread, _COUNTING_SD)) for z in _Z80)
        slack = 2.0 * np.sqrt(2.0) * READING_SD_POINTS
        word = ""
        if fall - slack > per_ml * _ABSURD_BUBBLE_ML:
            word = "leak"
        elif fall + slack < per_ml * _TINY_BUBBLE_ML:
            word = "gas"
        return Span(low80=float(low), median=float(median), high80=float(high)), word
    return None


_Z80 = (-1.2815515655446004, 0.0, 1.2815515655446004)  # normal quantiles at 10, 50 and 90 %


def _bubble_ml(
    seen: Sequence[Reading], visits: Sequence[Visit], litres: float | None
) -> Span | None:
    """Posterior of the gas per bubble from every pair of readings with counts between, on a grid.

    Falls are normal around what the bubbles account for, with the error of two readings and of
    the summing up; the prior is log-normal.
    """
    if litres is None:
        return None
    log_ml = np.linspace(np.log(0.05), np.log(50.0), 1201)
    log_p = -0.5 * ((log_ml - np.log(_BUBBLE_ML[0])) / _BUBBLE_ML[1]) ** 2
    told = False
    for before, after in pairwise(seen):
        bubbles = _bubbles_between(visits, before.when, after.when)
        if bubbles is None:
            continue
        told = True
        expected = bubbles * np.exp(log_ml) / (ML_GAS_PER_POINT_LITRE * litres)
        sd = np.hypot(np.sqrt(2.0) * READING_SD_POINTS, _COUNTING_SD * expected)
        fall = (before.sg - after.sg) * 1000.0
        log_p += -0.5 * ((fall - expected) / sd) ** 2 - np.log(sd)
    if not told:
        return None
    p = np.exp(log_p - log_p.max())
    low, median, high = np.exp(np.interp([0.1, 0.5, 0.9], np.cumsum(p) / p.sum(), log_ml))
    return Span(low80=float(low), median=float(median), high80=float(high))


def _bubbles_between(visits: Sequence[Visit], start: datetime, end: datetime) -> float | None:
    """Bubbles that left between two moments, by the trapezoid through the evenings counted.

    None when the evenings do not cover the time, or an event in it changed what a bubble is.
    """
    if any(v.event in BREAKS and start < v.when < end for v in visits):
        return None
    counted = [v for v in visits if v.per_min is not None]
    times = np.array([_days(start, v.when) for v in counted])
    span = _days(start, end)
    near = (times > -_WIDEST_GAP_DAYS) & (times < span + _WIDEST_GAP_DAYS)
    knots = np.clip(times[near], 0.0, span)
    edges = np.concatenate([[0.0], knots, [span]])
    if not near.any() or span == 0.0 or np.max(np.diff(edges)) > _WIDEST_GAP_DAYS:
        return None
    rates = np.array([v.per_min for v in counted])[near]
    at_edges = np.interp(edges, times[near], rates)
    return float(np.trapezoid(at_edges, edges) * 1440.0)


def _since_fed(visits: Sequence[Visit]) -> Sequence[Visit]:
    """Rows from the last addition of sugar or juice on; before it the gravity was another's."""
    added = [i for i, v in enumerate(visits) if v.event in {"fed", "topped-up"}]
    return visits[added[-1] :] if added else visits


def _days(start: datetime, end: datetime) -> float:
    return (end - start) / timedelta(days=1)
