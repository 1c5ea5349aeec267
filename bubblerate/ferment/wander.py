"""How far a jar's counts stray from the curve of a ferment like it.

Neighbouring evenings share their scatter, and a jar strays from any curve for a week or so at a
time. Both are modelled as correlated from day to day. The rest of each count is chance, or a
disturbance. Shapes: c curves, g levels, n counts; differences are of natural logarithms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from .priors import EVENING_SCATTER

if TYPE_CHECKING:
    from .whole import Whole

__all__ = ["Wander", "covariance", "deviance_residuals", "own_variance", "smooth"]

Floats = NDArray[np.float64]
Real = NDArray[np.floating[Any]]  # single or double precision

# Measured on fermentation curves of other people, but for the rise: by simulated ones, how it rises
# says little about how it ends.
_WANDER: Final = 0.25  # ln: how far a jar strays from its nearest curve, for a week or so
_WANDER_DAYS: Final = 7.0
_EVENING_CORRELATION: Final = 0.3  # correlation of the evening scatter, one day apart
_RISE_VARIANCE: Final = 0.5  # ln squared, added to both before the peak
_WILD_LN: Final = 1.4  # a count further from its neighbours is another jar's or a typing mistake
_FEWEST_AROUND: Final = 3  # counts needed to tell that one of them is wild
_NEAR_DAYS: Final = 1.5  # days: how near the neighbours of a count are


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wander:
    """How far a jar strays from each of k curves, learnt from its n counts.

    Attributes
    ----------
    days : ndarray, shape (n,)
        Days of the counts.
    root : ndarray, shape (n, n)
        Matrix that whitens the differences.
    white : ndarray, shape (k, n)
        Difference of the counts from each curve, whitened.
    chance : ndarray, shape (k,)
        Standard normal: the part that no count tells.
    """

    days: Floats
    root: Floats
    white: Floats
    chance: Floats

    def at(self, days: Floats) -> Floats:
        """Ln of the jar's rate relative to its curve, on m `days`; shape (k, m).

        Normal given the counts: C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for
        Machine Learning", 2006, section 2.2 (from memory). A jar's chance is a single number, so
        that it strays smoothly.
        """
        leans = _wander(days, self.days) @ self.root.T
        untold = np.sqrt(np.maximum(_WANDER**2 - np.sum(leans**2, axis=1), 0.0))
        return np.asarray(self.white @ leans.T + self.chance[:, None] * untold, float)


def deviance_residuals(bubbles: Real, log_mean: Real, above: Real) -> Real:
    """Signed roots of the Poisson deviance of counts (n,), around means (c, n) at levels (c, g)."""
    mean = np.exp(log_mean)[:, None, :] * np.exp(above)[:, :, None]
    log_ratio = (log_mean - np.log(np.maximum(bubbles, 1.0)))[:, None, :] + above[:, :, None]
    mean -= bubbles  # the part of the mean above what was counted
    log_ratio *= -bubbles
    log_ratio += mean
    deviance = np.maximum(log_ratio, 0.0, out=log_ratio)  # rounding may leave it below 0
    deviance *= 2.0
    signed: Real = np.copysign(np.sqrt(deviance, out=deviance), np.negative(mean, out=mean))
    return signed


def covariance(whole: Whole) -> Floats:
    """Covariance of the log counts about the nearest curve, shape (n, n)."""
    gap = np.abs(whole.days[:, None] - whole.days)
    shared = EVENING_SCATTER**2 * _EVENING_CORRELATION**gap
    own = np.diag(own_variance(whole))
    return np.asarray(shared + _wander(whole.days, whole.days) + own, float)


def _wander(days: Floats, others: Floats) -> Floats:
    """Covariance of the wander between two sets of days, shape (m, n)."""
    return np.asarray(_WANDER**2 * np.exp(-np.abs(days[:, None] - others) / _WANDER_DAYS), float)


def own_variance(whole: Whole) -> Floats:
    """Variance of each log count that no other count shares, shape (n,)."""
    expected = smooth(whole)
    rising = whole.days < whole.days[np.argmax(expected / whole.seconds)] - 0.25
    disturbed = EVENING_SCATTER**2 * (1.0 / whole.trust - 1.0)
    wild = _wild(whole.log_per_min)
    return np.asarray(1.0 / (expected + 0.5) + wild + disturbed + _RISE_VARIANCE * rising, float)


def smooth(whole: Whole) -> Floats:
    """Bubbles that the neighbours of each count expect, shape (n,), to tell its scatter."""
    bubbles = whole.bubbles + 1.0
    trusted = bubbles / (1.0 + 0.03 * bubbles) / (1.0 + 9.0 * _wild(whole.log_per_min))
    near = np.exp(-0.5 * ((whole.days[:, None] - whole.days) / _NEAR_DAYS) ** 2) * trusted
    log_per_min = near @ whole.log_per_min / near.sum(axis=1)
    return np.asarray(np.exp(log_per_min) * whole.seconds / 60.0, float)


def _wild(log_per_min: Floats) -> Floats:
    """Extra variance of a count far above or below the two before and the two after it; else 0.

    The last count may be as low as it likes: a ferment that ends at once is no outlier.
    """
    if len(log_per_min) < _FEWEST_AROUND:
        return np.zeros(len(log_per_min))
    padded = np.pad(log_per_min, 2, mode="edge")
    before, after = 0.5 * (padded[:-4] + padded[1:-3]), 0.5 * (padded[3:-1] + padded[4:])
    before[0], after[-1] = after[0], -np.inf
    above = log_per_min - np.maximum(before, after)
    below = np.minimum(before, after) - log_per_min
    off = np.maximum(above, below)
    return np.where(off > _WILD_LN, 4.0 * off**2, 0.0)
