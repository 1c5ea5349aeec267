"""When the bubbling falls below a threshold, and how far the gravity has still to go.

All of it is read off the weighted draws of a `Fit`; the only time that enters is the moment asked
about. The future is taken to stand at the vessel's usual temperature.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..physics.constants import MINUTES_PER_DAY
from ..physics.scales import sg_at
from .curve import thermal_days_at
from .priors import ML_GAS_PER_POINT_LITRE

if TYPE_CHECKING:
    from .fit import Fit
    from .sampling import Draws

__all__ = [
    "HORIZON_DAYS",
    "Crossing",
    "Forecast",
    "Span",
    "forecast",
    "gravity_bands",
    "rate_bands",
]

Floats = NDArray[np.float64]

HORIZON_DAYS = 60.0  # beyond it a date is not given
_CLOCK_DAYS = 1e-9  # what sums of dates may be off


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A median and the interval that should hold the truth four times in five."""

    low80: float
    median: float
    high80: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """When the rate falls below a threshold; a time more than `HORIZON_DAYS` ahead is None.

    Before the first count of the tail nothing is known: a time at that count means then or earlier.

    Attributes
    ----------
    threshold_per_min : float
        The rate asked about [bubbles/min].
    low95, low80, median, high80, high95 : datetime or None
        Limits of the 95 and 80 % intervals, and the median.
    p_already : float
        Chance that the rate is below the threshold at the moment asked about.
    p_not_in_60_days : float
        Chance that it will not be within `HORIZON_DAYS`.
    """

    threshold_per_min: float
    low95: datetime | None
    low80: datetime | None
    median: datetime | None
    high80: datetime | None
    high95: datetime | None
    p_already: float
    p_not_in_60_days: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """What counts and gravity lead to, as of one moment.

    Attributes
    ----------
    at : datetime
        The moment asked about.
    per_min : Span
        Rate at that moment, at the usual temperature [bubbles/min].
    crossing : Crossing
        When it falls below the threshold.
    threshold_points_per_day : Span or None
        What the threshold means as a fall of gravity [points/day]; None without litres.
    points_to_fall : Span or None
        What the gravity has still to fall [points]; None where neither litres nor gravity is known.
    finish_sg : Span or None
        Gravity at which it will end [SG]; None where no gravity took part.
    bubble_ml : Span or None
        Gas that leaves for each bubble counted [mL]; None without litres and gravity.
    distrust : str
        Why the spread should not be believed; empty when it may be.
    """

    at: datetime
    per_min: Span
    crossing: Crossing
    threshold_points_per_day: Span | None
    points_to_fall: Span | None
    finish_sg: Span | None
    bubble_ml: Span | None
    distrust: str


def forecast(fit: Fit, *, at: datetime, threshold_per_min: float) -> Forecast:
    """Read the dates and rates off a fit.

    Parameters
    ----------
    fit : Fit
        Of counts made no later than `at`.
    at : datetime
        The moment asked about, aware.
    threshold_per_min : float
        Rate whose crossing is looked for [bubbles/min], above 0.

    Returns
    -------
    Forecast

    Raises
    ------
    ValueError
        If the threshold is not above 0, or the last count is later than `at`.

    Notes
    -----
    Each draw of the fit has its own crossing (`bubblerate.ferment.crossing`), in thermal days,
    turned into calendar days; intervals are weighted quantiles of the draws.
    """
    if not threshold_per_min > 0.0:
        raise ValueError(f"threshold_per_min must be above 0, got {threshold_per_min}")
    tail, litres = fit.tail, fit.evidence.litres
    now = tail.day_of(at)
    if now < tail.days[-1] - _CLOCK_DAYS:
        raise ValueError(f"the last count is later than the moment asked about, {at}")
    now = max(now, float(tail.days[-1]))
    curve = fit.curve
    thermal_now = thermal_days_at(np.array([now]), fit.thermal, tail.days)
    per_point = np.exp(curve.log_per_point)
    thermal_crossing = fit.crossing_days(threshold_per_min)
    days = _calendar_days(thermal_crossing, fit.thermal, tail.days)
    gravity_read = len(fit.evidence.reading_days)

    def span(values: Floats, told: object = True) -> Span | None:
        return _span(values, fit.draws) if told else None

    return Forecast(
        at=at,
        per_min=_span(np.exp(curve.log_per_min(thermal_now)), fit.draws),
        crossing=_crossing(days - now, fit.draws, at, threshold_per_min),
        threshold_points_per_day=span(threshold_per_min / per_point, litres),
        points_to_fall=span(
            curve.points_left(thermal_now) - curve.points_never, litres or gravity_read
        ),
        finish_sg=span(sg_at(curve.finish + curve.points_never), gravity_read),
        bubble_ml=span(
            ML_GAS_PER_POINT_LITRE * (litres or 0.0) / MINUTES_PER_DAY / per_point,
            fit.evidence.tells_bubble,
        ),
        distrust=fit.distrust,
    )


def rate_bands(fit: Fit, days: Floats, levels: ArrayLike, *, usual: bool) -> Floats:
    """Quantiles of the rate along the tail and beyond, for a picture.

    Parameters
    ----------
    fit : Fit
    days : ndarray, shape (k,)
        Days since the start of the tail, at least 0.
    levels : array_like, shape (q,)
        Quantile levels in (0, 1).
    usual : bool
        Whether to give the rate at the usual temperature, rather than as the jar felt it on warm
        and cold evenings; past the last count the two are the same.

    Returns
    -------
    ndarray, shape (q, k)
        Rate [bubbles/min], with the bubble of the latest stretch.
    """
    curve, tail = fit.curve, fit.tail
    thermal = thermal_days_at(days, fit.thermal, tail.days)
    log_rate = curve.log_per_min(thermal)
    if not usual:
        log_rate = log_rate + np.interp(days, tail.days, tail.temp_offset_10c) * np.log(curve.q10)
    bands = [_quantiles(column, fit.draws, levels) for column in log_rate.T]
    return np.asarray(np.exp(bands).T, float)


def gravity_bands(fit: Fit, days: Floats, levels: ArrayLike) -> Floats:
    """Quantiles of the gravity along the tail and beyond, for a picture.

    Parameters
    ----------
    fit : Fit
        In which gravity of the tail took part: without it nothing is known of where it ends.
    days : ndarray, shape (k,)
        Days since the start of the tail, at least 0.
    levels : array_like, shape (q,)
        Quantile levels in (0, 1).

    Returns
    -------
    ndarray, shape (q, k)
        SG of the wine itself: the error of a reading comes on top.
    """
    curve, tail = fit.curve, fit.tail
    thermal = thermal_days_at(days, fit.thermal, tail.days)
    points = curve.finish + curve.points_left(thermal)
    bands = [_quantiles(column, fit.draws, levels) for column in points.T]
    return sg_at(np.asarray(bands, float).T)


def _calendar_days(thermal: Floats, thermal_at_counts: Floats, count_days: Floats) -> Floats:
    """Calendar days since the start of the tail at which each draw has lived so many thermal days.

    Shapes (m,), (m, n), (n,); between counts time is interpolated, after the last it runs on.
    """
    if len(count_days) == 1:
        return np.asarray(thermal + count_days[0], float)
    i = np.clip(np.sum(thermal_at_counts <= thermal[:, None], axis=-1), 1, len(count_days) - 1)
    rows = np.arange(len(thermal))
    before, after = thermal_at_counts[rows, i - 1], thermal_at_counts[rows, i]
    gap = after - before
    share = (thermal - before) / np.where(gap > 0.0, gap, 1.0)  # two counts may share their moment
    within = count_days[i - 1] + share * (count_days[i] - count_days[i - 1])
    beyond = thermal - thermal_at_counts[:, -1]
    return np.asarray(np.where(beyond > 0.0, count_days[-1] + beyond, within), float)


def _crossing(ahead: Floats, draws: Draws, at: datetime, threshold: float) -> Crossing:
    """Gather the draws of days ahead, shape (m,), into dates and chances."""

    def when(level: float) -> datetime | None:
        days = float(_quantiles(ahead, draws, level))
        return at + timedelta(days=days) if days <= HORIZON_DAYS else None

    return Crossing(
        threshold_per_min=threshold,
        low95=when(0.025),
        low80=when(0.1),
        median=when(0.5),
        high80=when(0.9),
        high95=when(0.975),
        p_already=_chance(ahead <= 0.0, draws),
        p_not_in_60_days=_chance(ahead > HORIZON_DAYS, draws),
    )


def _span(values: Floats, draws: Draws) -> Span:
    low, median, high = _quantiles(values.ravel(), draws, [0.1, 0.5, 0.9])
    return Span(low80=float(low), median=float(median), high80=float(high))


def _chance(true: NDArray[np.bool_], draws: Draws) -> float:
    return float(min(1.0, np.sum(draws.weights[true])))


def _quantiles(values: Floats, draws: Draws, levels: ArrayLike) -> Floats:
    """Weighted quantiles, each draw standing in the middle of its weight."""
    order = np.argsort(values)
    weight = draws.weights[order]
    middle = np.cumsum(weight) - 0.5 * weight
    return np.asarray(np.interp(np.asarray(levels, float), middle, values[order]), float)
