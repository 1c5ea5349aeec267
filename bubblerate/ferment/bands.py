"""Quantiles of rate and gravity over time, smooth enough to be drawn.

The quantile of some hundred draws that count jumps from one draw to the next, so a line of such
quantiles is jagged though every curve behind it is smooth. Here a quantile is the mean of the draws
near its rank, weighted by how likely each is to hold that rank: it moves from the plain one by less
than chance moves both. What is forecast is then smoothed over time, no further than by that.
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

_DRAWS: Final = 1000  # that stand for all of them; more tell no more
_SEED: Final = 1  # any will do; fixed, so that the same diary gives the same picture
_SMOOTHED: Final = 0.05  # of what is forecast, either way
_NEXT_TO_NOTHING: Final = -60.0  # ln of a rate: below it all are none


def smooth_quantiles(values: Floats, levels: ArrayLike, *, effective: float) -> Floats:
    r"""Quantiles over draws that all count alike, smooth along the other axis.

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
    With n independent draws the rank of the quantile at level p is good to
    :math:`\sqrt{p (1 - p) / (n + 2)}`. The sorted draws are averaged with the normal
    weights of that spread about p: the estimator of Harrell and Davis [1]_, its beta weights taken
    as normal.

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
    curve, lived = _some(fit, _DRAWS)
    thermal = thermal_days_at(days, lived, fit.tail.days)
    points = curve.finish + curve.points_left(thermal)
    return sg_at(smooth_quantiles(points, levels, effective=_effective(fit.draws.weights)))


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

    Notes
    -----
    At the usual temperature every curve is smooth, and so are their quantiles but for chance. So
    the logarithm of each is smoothed by straight lines fitted to its neighbours in time, and moves
    by no more than the error that chance leaves it.
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
    flat = 1e-3 * reach**2  # flat where there are no neighbours to show a slope
    share = weight * (s2 + flat - s1 * away) / (s0 * (s2 + flat) - s1**2)
    return np.asarray(lines @ share.T, float)


def _effective(weights: Floats) -> float:
    """Number of equal draws that weighted ones are worth (Kish)."""
    return float(1.0 / np.sum(weights**2))


def _some(fit: Fit, n: int) -> tuple[Curve, Floats]:
    """So many draws of a fit that count alike: their curves, and the time that they lived."""
    rows = equal_rows(fit.draws.weights, n, _SEED)
    parts = {field.name: getattr(fit.curve, field.name) for field in fields(fit.curve)}
    curve = replace(
        fit.curve, **{name: part if len(part) == 1 else part[rows] for name, part in parts.items()}
    )
    return curve, fit.thermal if len(fit.thermal) == 1 else fit.thermal[rows]
