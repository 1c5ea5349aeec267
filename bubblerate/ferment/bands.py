"""Quantiles of rate and gravity over time, for pictures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..physics.scales import sg_at
from .chances import quantiles
from .curve import thermal_days_at
from .forecast import heard, pool_weights

if TYPE_CHECKING:
    from datetime import datetime

    from .fit import Fit
    from .whole import Whole

__all__ = ["gravity_bands", "rate_bands", "rates_ahead"]

Floats = NDArray[np.float64]


def rate_bands(fit: Fit, days: Floats, levels: ArrayLike) -> Floats:
    """Quantiles of the rate along the tail, as the jar felt it on warm and cold evenings.

    Parameters
    ----------
    fit : Fit
    days : ndarray, shape (k,)
        Days since the start of the tail, at least 0.
    levels : array_like, shape (q,)
        Quantile levels in (0, 1).

    Returns
    -------
    ndarray, shape (q, k)
        Rate [bubbles/min], with the bubble of the latest stretch.
    """
    curve, tail = fit.curve, fit.tail
    thermal = thermal_days_at(days, fit.thermal, tail.days)
    warmer = np.interp(days, tail.days, tail.temp_offset_10c) * np.log(curve.q10)
    log_rate = curve.log_per_min(thermal) + warmer
    bands = [quantiles(column, fit.draws.weights, levels) for column in log_rate.T]
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
    bands = [quantiles(column, fit.draws.weights, levels) for column in points.T]
    return sg_at(np.asarray(bands, float).T)


def rates_ahead(
    fit: Fit | None, whole: Whole | None, since: datetime, days: Floats, levels: ArrayLike
) -> Floats:
    """Quantiles of the rate at the usual temperature, as `forecast` has it.

    Parameters
    ----------
    fit : Fit or None
    whole : Whole or None
        One of the two must be there.
    since : datetime
        No earlier than the last count.
    days : ndarray, shape (k,)
        Days since then.
    levels : array_like, shape (q,)
        Quantile levels in (0, 1).

    Returns
    -------
    ndarray, shape (q, k)
        Rate [bubbles/min], with the bubble of the latest stretch.
    """
    log_rates, weights, beside = [], [], heard(fit, whole)
    if fit is not None:
        thermal = thermal_days_at(fit.tail.day_of(since) + days, fit.thermal, fit.tail.days)
        log_rates.append(fit.curve.log_per_min(thermal))
        weights.append(fit.draws.weights)
    if beside is not None:
        like = beside.likeness
        log_rates.append(like.log_per_min(beside.day_of(since) + days))
        weights.append(like.weights)
    weight = pool_weights(weights)
    bands = [quantiles(column, weight, levels) for column in np.concatenate(log_rates).T]
    return np.asarray(np.exp(bands).T, float)
