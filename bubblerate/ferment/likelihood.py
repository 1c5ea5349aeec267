"""How likely a curve is, given a jar: a term each for counts, gravity and priors, added up.

`theta` has shape (m, p), its columns named as in `as_curve`; terms have shape (m,). Priors are
stated for quantities a maker could name: see `theta`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .counting import log_odds_of_soundness, log_of_counts
from .curve import Curve, as_curve, thermal_days, thermal_days_at
from .modes import Slopes
from .priors import (
    GRAVITY_FREEDOM,
    MOST_SUGAR_POINTS,
    MOST_SUGAR_SPREAD,
    READING_SD_POINTS,
)
from .theta import centre_and_spread, column_names

if TYPE_CHECKING:
    from .evidence import Evidence
    from .priors import Prior

__all__ = [
    "Terms",
    "expected_points",
    "log_density",
    "log_expected",
    "log_gravity",
    "log_prior",
    "log_tallies",
    "terms",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Terms:
    """What the log density of m ferments is made of."""

    evidence: Evidence
    curve: Curve
    log_mean: Floats  # (m, n), ln of the bubbles expected in each count
    log_odds: Floats  # (m, n), log odds that each count is sound and no outlier
    off_priors: Floats  # (m, p + 1), residuals of the priors, in their spreads
    off_readings: Floats  # (m, k), residuals of the gravity, in errors of a reading

    @property
    def log_density(self) -> Floats:
        """Log posterior density up to a constant, shape (m,)."""
        counts = log_of_counts(self.log_odds, self.evidence.tail.bubbles, self.evidence.weights)
        return _normal(self.off_priors) + counts + _student_t(self.off_readings)

    @property
    def slopes(self) -> Slopes:
        """The same for climbing: predictors, and the Fisher information of each."""
        mean, size = np.exp(self.log_mean), self.curve.overdispersion**-2.0
        sound = self.evidence.weights / (1.0 + np.exp(np.clip(-self.log_odds, -50.0, 50.0)))
        scatter = np.sum(2.0 * sound * (mean / (size + mean)) ** 2, axis=-1, keepdims=True)
        student = (GRAVITY_FREEDOM + 1.0) / (GRAVITY_FREEDOM + self.off_readings**2)
        predictors = {
            "counts": (self.log_mean, sound * mean / (1.0 + mean / size)),
            "scatter": (np.log(self.curve.overdispersion), scatter),
            "priors": (self.off_priors, np.ones_like(self.off_priors)),
            "readings": (self.off_readings, student),
        }
        values, information = zip(*predictors.values(), strict=True)
        return Slopes(
            log_density=self.log_density,
            predictors=np.concatenate(values, axis=-1),
            information=np.concatenate(information, axis=-1),
        )


def terms(theta: Floats, evidence: Evidence, priors: tuple[Prior, ...]) -> Terms:
    """Work out the terms of the density.

    Parameters
    ----------
    theta : ndarray, shape (m, p)
    evidence : Evidence
        With n counts and k readings.
    priors : tuple of Prior
        From `choose_priors`.

    Returns
    -------
    Terms
    """
    curve = as_curve(theta, column_names(priors))
    thermal = thermal_days(evidence.tail.days, evidence.tail.temp_offset_10c, curve.q10)
    log_mean = log_expected(curve, thermal, evidence)
    return Terms(
        evidence=evidence,
        curve=curve,
        log_mean=log_mean,
        log_odds=log_odds_of_soundness(evidence.tail.bubbles, log_mean, curve.overdispersion),
        off_priors=_off_priors(theta, curve, priors),
        off_readings=_off_readings(curve, thermal, evidence),
    )


def log_density(theta: Floats, evidence: Evidence, priors: tuple[Prior, ...]) -> Floats:
    """Log posterior density, up to a constant.

    Parameters
    ----------
    theta, evidence, priors
        As in `terms`.

    Returns
    -------
    ndarray, shape (m,)
    """
    return terms(theta, evidence, priors).log_density


def log_prior(theta: Floats, curve: Curve, priors: tuple[Prior, ...]) -> Floats:
    """Log density of the priors, up to a constant.

    Parameters
    ----------
    theta : ndarray, shape (m, p)
    curve : Curve
        The same in natural units.
    priors : tuple of Prior

    Returns
    -------
    ndarray, shape (m,)

    Notes
    -----
    Independent normals of logarithms, except for the finish. If both sugars together exceed
    `MOST_SUGAR_POINTS`, the density falls off as a normal of their logarithm.
    """
    return _normal(_off_priors(theta, curve, priors))


def _off_priors(theta: Floats, curve: Curve, priors: tuple[Prior, ...]) -> Floats:
    """Residuals of the priors, in their spreads, and one for too much sugar; shape (m, p + 1)."""
    centre, spread = centre_and_spread(priors)
    columns = column_names(priors)
    values = theta.copy()
    values[:, columns.index("rate")] = curve.log_per_point[:, 0]
    values[:, columns.index("start")] = np.log(curve.fall)[:, 0]
    values[:, columns.index("lasts")] = np.log(curve.sugar)[:, 0]
    if "end" in columns:
        values[:, columns.index("end")] = curve.finish[:, 0]
    values[:, columns.index("share")] = np.log(curve.second)[:, 0]
    over = np.maximum(np.log((curve.sugar + curve.second) / MOST_SUGAR_POINTS), 0.0)
    return np.concatenate([(values - centre) / spread, over / MOST_SUGAR_SPREAD], axis=-1)


def _normal(off: Floats) -> Floats:
    """Log density of standard normal residuals, up to a constant, summed over the last axis."""
    return np.asarray(-0.5 * np.einsum("mp,mp->m", off, off), float)


def log_tallies(curve: Curve, thermal: Floats, evidence: Evidence) -> Floats:
    r"""Log likelihood of the counts of a tail.

    Parameters
    ----------
    curve : Curve
        Of m ferments.
    thermal : ndarray, shape (m, n)
        Thermal days of the counts.
    evidence : Evidence
        With n counts.

    Returns
    -------
    ndarray, shape (m,)
        Each count has its weight and may be an outlier: see `bubblerate.ferment.counting`.

    Notes
    -----
    The mean of a count is the rate of the curve, times the length of the count, times
    :math:`Q_{10}^{(T - T_{usual})/10}`. A zero is data, and a longer count weighs more.
    """
    bubbles, log_mean = evidence.tail.bubbles, log_expected(curve, thermal, evidence)
    log_odds = log_odds_of_soundness(bubbles, log_mean, curve.overdispersion)
    return log_of_counts(log_odds, bubbles, evidence.weights)


def log_expected(curve: Curve, thermal: Floats, evidence: Evidence) -> Floats:
    """Ln of the bubbles expected in each count, at the warmth and bubble size of its evening.

    Parameters
    ----------
    curve, thermal, evidence
        As in `log_tallies`.

    Returns
    -------
    ndarray, shape (m, n)
    """
    tail = evidence.tail
    log_mean = (
        curve.log_per_min(thermal)
        + np.log(tail.seconds / 60.0)
        + tail.temp_offset_10c * np.log(curve.q10)
    )
    if curve.log_bubbles.shape[1]:
        earlier = np.concatenate([np.zeros_like(curve.rate), curve.log_bubbles], axis=-1)
        log_mean = log_mean + earlier[:, tail.stretch]
    return log_mean


def log_gravity(curve: Curve, thermal: Floats, evidence: Evidence) -> Floats:
    """Log likelihood of the gravity read since the tail began, up to a constant.

    Parameters
    ----------
    curve : Curve
        Of m ferments.
    thermal : ndarray, shape (m, n)
        Thermal days of the counts.
    evidence : Evidence
        With k readings.

    Returns
    -------
    ndarray, shape (m,)

    Notes
    -----
    The sugar left is the points still to fall, so gravity is the finish plus what is left. Errors
    are Student-t: robust regression of K. L. Lange, R. J. A. Little and J. M. G. Taylor, J. Am.
    Stat. Assoc. 84 (1989) 881 (from memory).
    """
    return _student_t(_off_readings(curve, thermal, evidence))


def _off_readings(curve: Curve, thermal: Floats, evidence: Evidence) -> Floats:
    """Residuals of the gravity since the tail began, in errors of one reading; shape (m, k)."""
    if not len(evidence.reading_days):
        return np.empty((len(curve.rate), 0))
    expected = expected_points(curve, thermal, evidence)
    return np.asarray((evidence.reading_points - expected) / READING_SD_POINTS, float)


def _student_t(off: Floats) -> Floats:
    """Log density of residuals, up to a constant, summed over the last axis."""
    power = 0.5 * (GRAVITY_FREEDOM + 1.0)
    return np.asarray(-power * np.sum(np.log1p(off**2 / GRAVITY_FREEDOM), axis=-1), float)


def expected_points(curve: Curve, thermal: Floats, evidence: Evidence) -> Floats:
    """Gravity at each reading, in points above 1.000, shape (m, k)."""
    t = thermal_days_at(evidence.reading_days, thermal, evidence.tail.days)
    return np.asarray(curve.finish + curve.points_left(t), float)
