"""Checks how likely each entry is if the fitted curve is true (posterior predictive checks).

The draws carry the uncertainty of the curve, so these chances include it. Times are in days, rates
in bubbles a minute.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, stdtr

from ..physics.airlock import Air, weather_gas
from ..physics.constants import ATM_HPA
from .likelihood import expected_points
from .priors import GRAVITY_FREEDOM, HEADSPACE_SHARE, READING_SD_POINTS, ROOM_C, USUAL_ABV_PCT

if TYPE_CHECKING:
    from ..diary.visit import Visit
    from .fit import Fit

__all__ = ["expected_per_min", "last_count_surprise", "reading_surprise", "weather_per_min"]

Floats = NDArray[np.float64]

_WEATHER_HOURS = (1.0, 60.0)  # hours between two visits whose air can be compared; our choice
_AIR_C = (0.0, 40.0)  # range in which the formulas for the gas hold


def reading_surprise(fit: Fit) -> Floats:
    """Chance of a reading at least this far off, either way, for each in the tail.

    Parameters
    ----------
    fit : Fit
        With k gravity readings in its tail.

    Returns
    -------
    ndarray, shape (k,)
        In [0, 1]; Student-t around each draw's gravity.

    Notes
    -----
    Posterior predictive: A. Gelman, X.-L. Meng and H. Stern, Stat. Sin. 6 (1996) 733 (from memory).
    """
    evidence = fit.evidence
    expected = expected_points(fit.curve, fit.thermal, evidence)
    off = (evidence.reading_points - expected) / READING_SD_POINTS
    below = fit.draws.weights @ stdtr(GRAVITY_FREEDOM, off)
    return np.asarray(2.0 * np.minimum(below, 1.0 - below), float)


def expected_per_min(fit: Fit) -> Floats:
    """Rate of the curve at each count, at the usual temperature.

    Parameters
    ----------
    fit : Fit
        Of n counts.

    Returns
    -------
    ndarray, shape (n,)
        Mean over the draws [bubbles/min], with the bubble of the latest stretch.
    """
    return np.asarray(fit.draws.weights @ np.exp(fit.curve.log_per_min(fit.thermal)), float)


def last_count_surprise(fit: Fit) -> tuple[float, float]:
    """How far the last count is off its curve, and the chance of one at least this far off.

    Parameters
    ----------
    fit : Fit

    Returns
    -------
    excess_per_min : float
        Counted minus expected at that evening's warmth [bubbles/min].
    chance : float
        Chance of a count at least this far off, either way: negative binomial around each draw.

    Notes
    -----
    The distribution function by the incomplete beta function (DLMF 8.17).
    """
    curve, tail, weights = fit.curve, fit.tail, fit.draws.weights
    warmer = tail.temp_offset_10c[-1] * np.log(curve.q10)
    per_min = np.exp((curve.log_per_min(fit.thermal[:, -1:]) + warmer)[:, 0])
    excess = 60.0 * float(tail.bubbles[-1] / tail.seconds[-1]) - float(weights @ per_min)
    mean, size = per_min * tail.seconds[-1] / 60.0, curve.overdispersion[:, 0] ** -2.0
    n, p = float(tail.bubbles[-1]), size / (size + mean)
    no_more = float(weights @ betainc(size, n + 1.0, p))
    fewer = float(weights @ betainc(size, n, p)) if n > 0.0 else 0.0
    return excess, 2.0 * min(no_more, 1.0 - fewer)


def weather_per_min(fit: Fit, before: Visit, after: Visit) -> float:
    """Bubbles a minute that weather alone drives out between two visits.

    Parameters
    ----------
    fit : Fit
    before, after : Visit
        With temperature [C] and pressure of the air [hPa] as noted; what one of them lacks counts
        as unchanged.

    Returns
    -------
    float
        [bubbles/min]; negative if air is drawn in; 0 if litres are unknown, if the visits are less
        than 1 or more than 60 hours apart, or if the formulas do not hold.

    Notes
    -----
    The gas is from `bubblerate.physics.airlock.weather_gas`, for a wine of 12 % vol saturated with
    it and a headspace of 7 % (common practice, no source). It is spread evenly over the time.
    """
    litres, bubble = fit.evidence.litres, fit.evidence.bubble_ml
    hours = (after.when - before.when).total_seconds() / 3600.0
    if litres is None or bubble is None or not _WEATHER_HOURS[0] <= hours <= _WEATHER_HOURS[1]:
        return 0.0
    temps, pressures = (before.temp_c, after.temp_c), (before.pressure_hpa, after.pressure_hpa)
    usual = fit.tail.usual_c if fit.tail.usual_c is not None else ROOM_C
    temp_c = [usual if None in temps else float(t or 0.0) for t in temps]
    pressure_hpa = [ATM_HPA if None in pressures else float(p or 0.0) for p in pressures]
    if not all(_AIR_C[0] <= t <= _AIR_C[1] for t in temp_c):
        return 0.0
    first, then = (Air(temp_c=t, pressure_hpa=p) for t, p in zip(temp_c, pressure_hpa, strict=True))
    gas = weather_gas(
        first,
        then,
        litres=litres,
        headspace_litres=HEADSPACE_SHARE * litres,
        abv_pct=USUAL_ABV_PCT,
    )
    return gas.per_min(bubble_ml=bubble.ml, hours=hours)
