"""What the fitted curve leaves over of each count, as it would be if the curve were true.

A residual is the place of a count among those the fit predicts for its evening, turned into a
standard normal score, so that counts of 2 and of 200 stand on one scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, ndtri

from .likelihood import log_expected

if TYPE_CHECKING:
    from .fit import Fit

__all__ = ["Residuals", "residuals"]

Floats = NDArray[np.float64]

_LIKELY_OUTLIER = 0.5
_SURELY = 1e-12  # scores stay finite


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Residuals:
    """Scores of the n counts of a tail, each array of shape (n,).

    Attributes
    ----------
    days : ndarray
        Time since the tail began [days].
    score : ndarray
        Standard normal where the fit is right; above 0 where more was counted.
    low, high : ndarray
        What the count leaves open, being a whole number: `score` is drawn at random between them.
    outlier : ndarray of bool
        More likely another jar, or a digit too many, than a count of this one.
    weighs : ndarray of bool
        False where the tail trusts the count little or not at all: cold, or soon after a
        disturbance.
    """

    days: Floats
    score: Floats
    low: Floats
    high: Floats
    outlier: NDArray[np.bool_]
    weighs: NDArray[np.bool_]


def residuals(fit: Fit, *, rng: np.random.Generator) -> Residuals:
    """Hold each count against what the fit predicts for its evening.

    Parameters
    ----------
    fit : Fit
    rng : numpy.random.Generator
        Source of the draws between.

    Returns
    -------
    Residuals

    Notes
    -----
    Randomised quantile residuals [1]_ of the posterior prediction, a mixture of negative binomials
    over the draws: with F the chance of at most n bubbles, the place is drawn evenly from F(n - 1)
    to F(n). The counts took part in the fit, so with few of them the scores are somewhat too small.

    References
    ----------
    .. [1] P. K. Dunn, G. K. Smyth, "Randomized quantile residuals", J. Comput. Graph. Stat. 5
       (1996) 236 (from memory).
    """
    curve, tail = fit.curve, fit.tail
    mean, size = (
        np.exp(log_expected(curve, fit.thermal, fit.evidence)),
        curve.overdispersion**-2.0,
    )  # (m, n), (m, 1)
    p = size / (size + mean)
    at_most = fit.draws.weights @ betainc(size, tail.bubbles + 1.0, p)  # (n,)
    # betainc has no value at 0, where fewer cannot be
    fewer = fit.draws.weights @ betainc(size, np.maximum(tail.bubbles, 1.0), p)
    fewer = np.where(tail.bubbles > 0.0, fewer, 0.0)
    low, score, high = (
        ndtri(np.clip(fewer + share * (at_most - fewer), _SURELY, 1.0 - _SURELY))
        for share in (0.0, rng.uniform(size=len(tail)), 1.0)
    )
    return Residuals(
        days=tail.days,
        score=score,
        low=low,
        high=high,
        outlier=fit.outlier_chance > _LIKELY_OUTLIER,
        weighs=tail.trust == 1.0,
    )
