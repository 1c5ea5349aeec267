"""Quantiles of rate and gravity over time, smooth enough to draw.

A plain quantile of a few hundred draws jumps from one draw to the next, so its line is jagged
although every curve is smooth. Here a quantile is the mean of the draws near its rank, weighted by
how likely each is to have that rank. It differs from the plain one by less than the error that
chance gives both. A forecast is then smoothed over time, by no more than that error.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from ..physics.scales import sg_at
from .curve import thermal_days_at
from .draws_table import equal_rows
from .forecast import pool_weights, whole_share

if TYPE_CHECKING:
    from datetime import datetime

    from .curve import Curve
    from .fit import Fit
    from .whole import Whole

__all__ = ["gravity_bands", "rate_bands", "rates_ahead", "smooth_quantiles"]

Floats = NDArray[np.float64]

_DRAWS: Final = 1000  # draws that stand for all of them; more do not help
_SEED: Final = 1  # any seed; fixed, so that a diary always gives the same picture
_SMOOTHED: Final = 0.05  # days of smoothing of the forecast, either way
_NEXT_TO_NOTHING: Final = -60.0  # ln of a rate: below it counts as none


def smooth_quantiles(values: Floats, levels: ArrayLike, *, effective: float) -> Floats:
    r"""Quantiles over draws of equal weight, smooth along the other axis.

    Parameters
    ----------
    values : ndarray, shape (m, k)
        Finite.
    levels : array_like, shape (q,)
        Quantile levels in (0, 1).
    effective : float
        Number of independent draws that these are worth.

    Returns
    -------
    ndarray, shape (q, k)

    Notes
    -----
    With n independent draws, the rank of the quantile at level p is right to :math:`\sqrt{p (1 - p)
    / (n + 2)}`. The sorted draws are averaged with normal weights of that spread around p: the
    estimator of Harrell and Davis [1]_, with normal instead of beta weights.

    References
    ----------
    .. [1] F. E. Harrell, C. E. Davis, "A new distribution-free quantile estimator", Biometrika 69
       (1982) 635 (from memory).

    Examples
    --------
    >>> draws = np.linspace(0.0, 1.0, 1001)[:, None]
    >>> smooth_quantiles(draws, [0.25, 0.5], effective=200.0).round(3).ravel()
    array([0.25, 0.5 ])
    """
    level = np.asarray(levels, float)[:, None]
    spread = _rank_error(level, effective)
    edges = ndtr((np.linspace(0.0, 1.0, len(values) + 1) - level) / spread)  # (q, m + 1)
    share = np.diff(edges)
    return np.asarray(share / share.sum(axis=1, keepdims=True) @ np.sort(values, axis=0), float)


def _rank_error(level: Floats, effective: float) -> Floats:
    return np.asarray(np.sqrt(level * (1.0 - level) / (effective + 2.0)), float)


def rate_bands(fit: Fit, days: Floats, levels: ArrayLike) -> Floats:
    """Quantiles of the rate along the tail, on warm and cold evenings as they were.

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
    (curve, lived), tail = _some(fit, _DRAWS), fit.tail
    thermal = thermal_days_at(days, lived, tail.days)
    warmer = np.interp(days, tail.days, tail.temp_offset_10c) * np.log(curve.q10)
    log_rate = curve.log_per_min(thermal) + warmer
    known = np.maximum(log_rate, _NEXT_TO_NOTHING)
    return np.exp(smooth_quantiles(known, levels, effective=_effective(fit.draws.weights)))


def gravity_bands(fit: Fit, days: Floats, levels: ArrayLike) -> Floats:
    """Quantiles of the gravity along the tail and beyond, for a picture.

    Parameters
    ----------
    fit : Fit
        One that used gravity of the tail: without it nothing is known about the end.
    days : ndarray, shape (k,)
        Days since the start of the tail, at least 0.
    levels : array_like, shape (q,)
        Quantile levels in (0, 1).

    Returns
    -------
    ndarray, shape (q, k)
        SG of the wine itself: the error of a reading is extra.
    """
    curve, lived = _some(fit, _DRAWS)
    thermal = thermal_days_at(days, lived, fit.tail.days)
    points = curve.finish + curve.points_left(thermal)
    return sg_at(smooth_quantiles(points, levels, effective=_effective(fit.draws.weights)))


def rates_ahead(
    fit: Fit | None, whole: Whole | None, since: datetime, days: Floats, levels: ArrayLike
) -> Floats:
    """Quantiles of the rate at the usual temperature, as in `forecast`.

    Parameters
    ----------
    fit : Fit or None
    whole : Whole or None
        One of the two must be given.
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

    Notes
    -----
    At the usual temperature every curve is smooth, and so are their quantiles except for chance. So
    the logarithm of each is smoothed by straight lines fitted to its neighbours in time, and moves
    by no more than the error due to chance.
    """
    log_rates, weights, share = [], [], whole_share(fit, whole)
    if fit is not None:
        curve, lived = _some(fit, round((1.0 - share) * _DRAWS))
        thermal = thermal_days_at(fit.tail.day_of(since) + days, lived, fit.tail.days)
        log_rates.append(curve.log_per_min(thermal))
        weights.append(fit.draws.weights)
    if whole is not None:
        like = whole.likeness
        log_rate = like.log_per_min(whole.day_of(since) + days)
        n = _DRAWS - sum(len(rows) for rows in log_rates)
        log_rates.append(log_rate[equal_rows(like.weights, n, _SEED)])
        weights.append(like.weights)
    known = np.maximum(np.concatenate(log_rates), _NEXT_TO_NOTHING)
    level = np.asarray(levels, float)
    effective = _effective(pool_weights(weights, share))
    error = _rank_error(level, effective)
    sides = np.concatenate([level, level - error, level + error])
    found = smooth_quantiles(known, np.clip(sides, 1e-6, 1.0 - 1e-6), effective=effective)
    line, low, high = found.reshape(3, len(level), len(days))
    return np.exp(np.clip(_by_neighbours(days, line), low, high))


def _by_neighbours(days: Floats, lines: Floats) -> Floats:
    """Lines of shape (q, k), each point from a straight line fitted to its neighbours in time."""
    away = days - days[:, None]  # (k, k): row i, as seen from day i
    reach = max(_SMOOTHED * float(np.ptp(days)), 1e-9)
    weight = np.exp(-0.5 * (away / reach) ** 2)
    s0, s1, s2 = (np.sum(weight * away**n, axis=1, keepdims=True) for n in range(3))
    flat = 1e-3 * reach**2  # flat if no neighbours show a slope
    share = weight * (s2 + flat - s1 * away) / (s0 * (s2 + flat) - s1**2)
    return np.asarray(lines @ share.T, float)


def _effective(weights: Floats) -> float:
    """Number of equally weighted draws that these are worth (Kish)."""
    return float(1.0 / np.sum(weights**2))


def _some(fit: Fit, n: int) -> tuple[Curve, Floats]:
    """Some draws of a fit, of equal weight: their curves and their thermal time."""
    rows = equal_rows(fit.draws.weights, n, _SEED)
    parts = {field.name: getattr(fit.curve, field.name) for field in fields(fit.curve)}
    curve = replace(
        fit.curve, **{name: part if len(part) == 1 else part[rows] for name, part in parts.items()}
    )
    return curve, fit.thermal if len(fit.thermal) == 1 else fit.thermal[rows]
