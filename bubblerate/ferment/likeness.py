"""Which whole ferments of the atlas are like a jar, each weighing as much as it explains.

All that was counted since pitching takes part, that before the peak too, with litres, start gravity
and readings. The curve nearest to a jar is still another's: counts may stray from it for days, and
of many such answers the width alone is true. Shapes: c candidates, g gains, n counts, k readings.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from .atlas import MOST_EXTRACT_POINTS, Candidates
from .priors import (
    EVENING_SCATTER,
    GRAVITY_FREEDOM,
    LITRES_UNKNOWN_SPREAD,
    PER_MIN_PER_POINT_DAY,
    READING_SD_POINTS,
    USUAL_LITRES,
    WEIGHED_BUBBLE_ML,
    WEIGHED_BUBBLE_SPREAD,
)

if TYPE_CHECKING:
    from .atlas import Atlas
    from .whole import Whole

__all__ = ["Likeness", "find_likeness"]

Floats = NDArray[np.float64]

# Measured on curves of others, but for the screening.
_PACES: Final = np.array([0.75, 0.87, 1.0, 1.15, 1.33])  # each curve is tried at
_WANDER: Final = 0.25  # ln: a jar from its nearest curve, for a week or so
_WANDER_DAYS: Final = 7.0
_EVENING_CORRELATION: Final = 0.3  # of an evening's scatter, a day apart
_RISE_VARIANCE: Final = 0.12  # ln squared, more of both before the peak
_CURVE_OFF_POINTS: Final = 0.75  # by which the nearest curve misses a gravity
_LIKE_OG_POINTS: Final = 25.0  # spread of the starts of ferments that are like one
_MAKER_SPREAD_POINTS: Final = 2.0  # where the maker says at what gravity it ends
_WILD_LN: Final = 1.4  # a count further from its neighbours is of another jar, or a digit too many
_FEWEST_AROUND: Final = 3  # counts, of which one can be told to be wild
_NEAR_DAYS: Final = 1.5  # neighbours of a count
_MOST_OFF: Final = 5.0  # standard deviations: no count weighs more than one so far off
_LOTS, _LOT_VARIANCE, _LOT_SHARED = 14, 0.06, 0.02  # of counts, in the screening
_KEEP, _KEEP_COUNTS = 700, 12000  # candidates looked at closely; more where counts are few
_GAINS: Final = np.linspace(-2.4, 2.4, 7)  # in standard deviations
_DRAWS: Final = 1000  # taken of all by systematic resampling: about as many as of a fit
_SPREADS: Final = (0.7548776662, 0.6180339887)  # steps that fill an interval evenly


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Likeness:
    """What whole ferments like a jar do, as k draws that weigh the same.

    Attributes
    ----------
    like : Candidates
        A ferment for each draw.
    log_gain : ndarray, shape (k,)
        Ln of the bubbles a minute where all of the fall went in a day.
    """

    like: Candidates
    log_gain: Floats

    @property
    def weights(self) -> Floats:
        """Of the draws, shape (k,), adding up to 1."""
        return np.full(len(self.log_gain), 1.0 / len(self.log_gain))

    def crossing_days(self, threshold_per_min: float) -> Floats:
        """Day from which the rate stays below a threshold, shape (k,); infinite if never."""
        return self.like.last_above(np.log(threshold_per_min) - self.log_gain)

    def log_per_min(self, days: Floats) -> Floats:
        """Ln of the rate [bubbles/min] at n `days`, shape (k, n)."""
        return np.asarray(self.like.log_share(days) + self.log_gain[:, None], float)

    @property
    def per_min_a_point(self) -> Floats:
        """Bubbles a minute that a fall of one point a day makes, shape (k,)."""
        return np.asarray(np.exp(self.log_gain) / self.like.fall, float)

    def points_to_fall(self, day: float) -> Floats:
        """What the gravity has still to fall on a day [points], shape (k,)."""
        return self.like.fall * (1.0 - self.like.fallen(np.array([day]))[:, 0])


def find_likeness(atlas: Atlas, whole: Whole) -> Likeness:
    """Lay a jar beside the whole ferments of an atlas.

    Parameters
    ----------
    atlas : Atlas
    whole : Whole
        What was seen of the jar.

    Returns
    -------
    Likeness

    Notes
    -----
    All candidates are screened by their distance to the counts in lots; the nearest are weighed by
    a normal density of how far the counts are off, whose covariance is that of an evening's
    scatter, of a slow wander of the jar from the curve, and of chance, and whose level is
    integrated out on a grid. A count is off by its deviance residual [1]_, as a difference of
    logarithms: where chance is all there is, the density is that of Poisson, zeros included.
    Errors of readings are Student-t.

    References
    ----------
    .. [1] P. McCullagh and J. A. Nelder, "Generalized Linear Models", 2nd ed., 1989, section 2.4
       (from memory).
    """
    candidates = _candidates(atlas, whole)
    spread = LITRES_UNKNOWN_SPREAD if whole.litres is None else WEIGHED_BUBBLE_SPREAD
    litres = USUAL_LITRES if whole.litres is None else whole.litres
    usual = np.log(candidates.fall * PER_MIN_PER_POINT_DAY * litres / WEIGHED_BUBBLE_ML)
    near, level = _nearest(candidates, whole, usual, spread)
    return _weighed(candidates.some(near), whole, usual[near], spread, level[near])


def _candidates(atlas: Atlas, whole: Whole) -> Candidates:
    """Every curve at every pace, from this start where it is known."""
    row, pace = np.tile(np.arange(len(atlas)), len(_PACES)), np.repeat(_PACES, len(atlas))
    shift, extract = (np.modf(0.5 + step * np.arange(len(row)))[0] for step in _SPREADS)
    fall, og, log_prior = atlas.fall[row], atlas.og[row], np.zeros(len(row))
    if whole.og_points is not None:  # the same share of the sugar goes, beside other extract
        eaten = fall / (og - atlas.extract[row])
        log_prior = -0.5 * ((og - whole.og_points) / _LIKE_OG_POINTS) ** 2
        fall = eaten * np.maximum(whole.og_points - MOST_EXTRACT_POINTS * extract, 5.0)
        og = np.full(len(row), whole.og_points)
    finish = og - fall
    if whole.finish_points is not None:
        log_prior = log_prior - 0.5 * ((finish - whole.finish_points) / _MAKER_SPREAD_POINTS) ** 2
    candidates = Candidates(
        atlas=atlas,
        row=row,
        pace=pace,
        shift=whole.pitched_within_days * shift,
        fall=fall,
        finish=finish,
        log_prior=log_prior,
    )
    return replace(candidates, log_prior=log_prior + _log_readings(candidates, whole))


def _log_readings(candidates: Candidates, whole: Whole) -> Floats:
    """Log likelihood of the readings, shape (c,)."""
    remains = candidates.fall[:, None] * (1.0 - candidates.fallen(whole.reading_days))
    off = whole.reading_points - (candidates.finish[:, None] + remains)
    z = off / np.hypot(READING_SD_POINTS, _CURVE_OFF_POINTS)
    power = 0.5 * (GRAVITY_FREEDOM + 1.0)
    return np.asarray(-power * np.sum(np.log1p(z**2 / GRAVITY_FREEDOM), axis=1), float)


def _nearest(
    candidates: Candidates, whole: Whole, usual: Floats, spread: float
) -> tuple[NDArray[np.int64], Floats]:
    """The candidates worth a closer look, and the level of all above their usual gain."""
    n = len(whole.days)
    lot = np.arange(n) * min(_LOTS, n) // n
    own = 1.0 / (_own_variance(whole) + _LOT_VARIANCE)
    weight = np.bincount(lot, own)
    days, seen = (np.bincount(lot, own * v) / weight for v in (whole.days, whole.log_per_min))
    weight = weight / (1.0 + _LOT_SHARED * weight)  # evenings share their error
    above = seen.astype(np.float32) - usual[:, None].astype(np.float32)
    off = np.clip(above - candidates.log_share(days), -4.0, 4.0)
    few = weight.astype(np.float32)
    level = (off @ few).astype(float) / (weight.sum() + spread**-2)
    off -= level[:, None].astype(np.float32)
    np.clip(off, -1.2, 1.2, out=off)
    square = np.square(off, out=off) @ few
    score = candidates.log_prior - 0.5 * (square + (level / spread) ** 2)
    keep = min(max(_KEEP, _KEEP_COUNTS // n), len(score) - 1)
    return np.argpartition(-score, keep)[:keep], level


def _weighed(
    like: Candidates, whole: Whole, usual: Floats, spread: float, level: Floats
) -> Likeness:
    """Weigh candidates at several gains, the evenings leaning on each other."""
    covariance = _covariance(whole)
    root = np.linalg.inv(np.linalg.cholesky(covariance))
    one = root.sum(axis=1)
    sd = float((one @ one + spread**-2) ** -0.5)
    log_mean = like.log_share(whole.days) + usual[:, None] + np.log(whole.seconds / 60.0)
    scale, most = np.sqrt(_smooth(whole) + 0.5), _MOST_OFF * np.sqrt(np.diag(covariance))

    def off(above: Floats) -> Floats:
        """What the counts are off at levels (c, g), whitened: shape (c, g, n)."""
        residual = _deviance_residuals(whole.bubbles, log_mean, above) / scale
        return np.asarray(np.clip(residual, -most, most) @ root.T, float)

    level = level[:, None]
    for _ in range(2):  # towards the level at which each explains most
        level = level + (off(level) @ one - level / spread**2) * sd**2
    levels = level + sd * _GAINS
    square = np.sum(off(levels) ** 2, axis=2) + (levels / spread) ** 2
    log_weight = like.log_prior[:, None] - 0.5 * square
    weight = np.exp(log_weight - log_weight.max())
    total = np.cumsum(weight)
    chosen = np.searchsorted(total, total[-1] * (np.arange(_DRAWS) + 0.5) / _DRAWS)
    i, g = np.divmod(chosen, len(_GAINS))
    return Likeness(like=like.some(i), log_gain=usual[i] + levels[i, g])


def _deviance_residuals(bubbles: Floats, log_mean: Floats, above: Floats) -> Floats:
    """Signed roots of the Poisson deviance of counts (n,), around means (c, n) at levels (c, g)."""
    mean = np.exp(log_mean)[:, None, :] * np.exp(above)[:, :, None]
    log_ratio = (log_mean - np.log(np.maximum(bubbles, 1.0)))[:, None, :] + above[:, :, None]
    more = mean - bubbles
    deviance = 2.0 * np.maximum(more - bubbles * log_ratio, 0.0)  # rounding may leave it below 0
    return np.asarray(np.copysign(np.sqrt(deviance), -more), float)


def _covariance(whole: Whole) -> Floats:
    """Covariance of the log counts around the nearest curve, shape (n, n)."""
    gap = np.abs(whole.days[:, None] - whole.days)
    shared = EVENING_SCATTER**2 * _EVENING_CORRELATION**gap
    wander = _WANDER**2 * np.exp(-gap / _WANDER_DAYS)
    return np.asarray(shared + wander + np.diag(_own_variance(whole)), float)


def _own_variance(whole: Whole) -> Floats:
    """Variance of each log count that it shares with no other, shape (n,)."""
    smooth = _smooth(whole)
    rising = whole.days < whole.days[np.argmax(smooth / whole.seconds)] - 0.25
    disturbed = EVENING_SCATTER**2 * (1.0 / whole.trust - 1.0)
    wild = _wild(whole.log_per_min)
    return np.asarray(1.0 / (smooth + 0.5) + wild + disturbed + _RISE_VARIANCE * rising, float)


def _smooth(whole: Whole) -> Floats:
    """Bubbles to expect in each count by its neighbours, shape (n,), to say how it scatters."""
    bubbles = whole.bubbles + 1.0
    trusted = bubbles / (1.0 + 0.03 * bubbles) / (1.0 + 9.0 * _wild(whole.log_per_min))
    near = np.exp(-0.5 * ((whole.days[:, None] - whole.days) / _NEAR_DAYS) ** 2) * trusted
    log_per_min = near @ whole.log_per_min / near.sum(axis=1)
    return np.asarray(np.exp(log_per_min) * whole.seconds / 60.0, float)


def _wild(log_per_min: Floats) -> Floats:
    """Variance of a count far above or below the two before it and the two after it; else 0.

    The first may be as low as it likes, and so may the last: a ferment that ends at once is no
    outlier.
    """
    if len(log_per_min) < _FEWEST_AROUND:
        return np.zeros(len(log_per_min))
    padded = np.pad(log_per_min, 2, mode="edge")
    before, after = 0.5 * (padded[:-4] + padded[1:-3]), 0.5 * (padded[3:-1] + padded[4:])
    before[0] = after[-1] = -np.inf
    above = log_per_min - np.maximum(before, after)
    below = np.minimum(before, after) - log_per_min
    off = np.maximum(above, below)
    return np.where(off > _WILD_LN, 4.0 * off**2, 0.0)
