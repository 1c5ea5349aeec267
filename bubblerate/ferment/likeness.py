"""Finds the whole ferments of the atlas that are most like a jar, with weights.

All counts since pitching are used, even those before the peak, with litres, start gravity and
readings. The nearest curve is still not the jar's own. The jar may stray from it for days, as its
counts show and, after them, by chance. Shapes: c candidates, g gains, n counts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from .atlas import DAYS, MOST_EXTRACT_POINTS, Candidates, last_above
from .priors import (
    GRAVITY_FREEDOM,
    LITRES_UNKNOWN_SPREAD,
    PER_MIN_PER_POINT_DAY,
    READING_SD_POINTS,
    USUAL_LITRES,
    WEIGHED_BUBBLE_ML,
    WEIGHED_BUBBLE_SPREAD,
)
from .wander import Wander, covariance, deviance_residuals, own_variance, smooth

if TYPE_CHECKING:
    from .atlas import Atlas
    from .whole import Whole

__all__ = ["Likeness", "find_likeness"]

Floats = NDArray[np.float64]

# Measured on fermentation curves of other people, except for the screening.
_PACES: Final = np.array([0.75, 0.87, 1.0, 1.15, 1.33])  # paces at which each curve is tried
_CURVE_OFF_POINTS: Final = 0.75  # points by which the nearest curve misses a gravity
_LIKE_OG_POINTS: Final = 25.0  # spread of the start gravities of similar ferments
_MAKER_SPREAD_POINTS: Final = 2.0  # if the maker says where it ends
_MOST_OFF: Final = 5.0  # standard deviations: no count weighs more than one this far off
_LOTS, _LOT_VARIANCE, _LOT_SHARED = 8, 0.06, 0.02  # lots of counts in the screening
_KEEP, _KEEP_COUNTS = 700, 12000  # candidates looked at closely; more if counts are few
_GAINS: Final = np.linspace(-2.4, 2.4, 7)  # in standard deviations
_DRAWS: Final = 1000  # draws by systematic resampling: about as many as a fit has
_SEED: Final = 1  # any seed; fixed, so that a diary always gives the same answer
_SPREADS: Final = (0.7548776662, 0.6180339887)  # steps that fill an interval uniformly


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Likeness:
    """What whole ferments like a jar do, as k draws of equal weight.

    Attributes
    ----------
    like : Candidates
        A ferment for each draw.
    log_gain : ndarray, shape (k,)
        Ln of the bubbles a minute if the whole fall took one day.
    wander : Wander
        How far the jar strays from each curve.
    """

    like: Candidates
    log_gain: Floats
    wander: Wander

    @property
    def weights(self) -> Floats:
        """Weights of the draws, shape (k,); they add up to 1."""
        return np.full(len(self.log_gain), 1.0 / len(self.log_gain))

    @property
    def effective_curves(self) -> float:
        """Number of curves, if all were as likely, that the draws stand for (Kish)."""
        return float(len(self.like.row) ** 2 / np.sum(np.bincount(self.like.row) ** 2))

    def crossing_days(self, threshold_per_min: float) -> Floats:
        """Day from which the rate stays below a threshold, shape (k,); infinite if never."""
        return last_above(self.log_per_min(DAYS), np.log(threshold_per_min))

    def log_per_min(self, days: Floats) -> Floats:
        """Ln of the rate [bubbles/min] at n `days`, shape (k, n)."""
        curves = self.like.log_share(days) + self.log_gain[:, None]
        return np.asarray(curves + self.wander.at(days), float)

    @property
    def per_min_a_point(self) -> Floats:
        """Bubbles a minute that a fall of one point a day makes, shape (k,)."""
        return np.asarray(np.exp(self.log_gain) / self.like.fall, float)

    def points_to_fall(self, day: float) -> Floats:
        """How far the gravity still has to fall on a day [points], shape (k,)."""
        return self.like.fall * (1.0 - self.like.fallen(np.array([day]))[:, 0])


def find_likeness(atlas: Atlas, whole: Whole) -> Likeness:
    """Compare a jar with the whole ferments of an atlas.

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
    All candidates are screened by their distance to the counts, taken in lots. The nearest are
    weighed by a normal density of the differences. Its covariance adds the scatter of an evening, a
    slow wander of the jar from the curve, and chance; its level is integrated out on a grid. The
    difference of a count is its deviance residual [1]_, as a difference of logarithms: with chance
    alone the density is Poisson, zeros included. Errors of readings are Student-t.

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
    """Every curve at every pace, from this start gravity if it is known."""
    row, pace = np.tile(np.arange(len(atlas)), len(_PACES)), np.repeat(_PACES, len(atlas))
    shift, extract = (np.modf(0.5 + step * np.arange(len(row)))[0] for step in _SPREADS)
    fall, og, log_prior = atlas.fall[row], atlas.og[row], np.zeros(len(row))
    if whole.og_points is not None:  # the same share of the sugar goes; only the extract differs
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
    """The candidates worth a closer look, and their level above the usual gain."""
    n = len(whole.days)
    lot = np.arange(n) * min(_LOTS, n) // n
    own = 1.0 / (own_variance(whole) + _LOT_VARIANCE)
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
    """Weigh candidates at several gains, with correlated evenings."""
    shared = covariance(whole)
    root = np.linalg.inv(np.linalg.cholesky(shared))
    one = root.sum(axis=1)
    sd = float((one @ one + spread**-2) ** -0.5)
    log_mean = like.log_share(whole.days) + usual[:, None] + np.log(whole.seconds / 60.0)
    scale, most = np.sqrt(smooth(whole) + 0.5), _MOST_OFF * np.sqrt(np.diag(shared))
    # single precision loses a hundred-thousandth of an evening's scatter
    counted, mean, sd_of, furthest, white_of = (
        v.astype(np.float32) for v in (whole.bubbles, log_mean, scale, most, root.T)
    )

    def off(above: Floats) -> Floats:
        """Whitened differences of the counts at levels (c, g), shape (c, g, n)."""
        residual = deviance_residuals(counted, mean, above.astype(np.float32))
        residual /= sd_of
        np.clip(residual, -furthest, furthest, out=residual)
        white = residual.reshape(-1, len(white_of)) @ white_of
        return np.asarray(white, float).reshape(residual.shape)

    level = level[:, None]
    for _ in range(2):  # towards the level at which each candidate explains most
        level = level + (off(level) @ one - level / spread**2) * sd**2
    levels = level + sd * _GAINS
    white = off(levels)
    square = np.sum(white**2, axis=2) + (levels / spread) ** 2
    log_weight = like.log_prior[:, None] - 0.5 * square
    weight = np.exp(log_weight - log_weight.max())
    total = np.cumsum(weight)
    chosen = np.searchsorted(total, total[-1] * (np.arange(_DRAWS) + 0.5) / _DRAWS)
    i, g = np.divmod(chosen, len(_GAINS))
    chance = np.random.default_rng(_SEED).standard_normal(_DRAWS)
    wander = Wander(days=whole.days, root=root, white=white[i, g], chance=chance)
    return Likeness(like=like.some(i), log_gain=usual[i] + levels[i, g], wander=wander)
