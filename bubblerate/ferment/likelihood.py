"""Terms of the log density of a ferment, which add: tallies, gravity and priors.

`theta` is of shape (m, p), its columns named as in `as_curve`; terms return shape (m,). Priors are
on what a maker could name, of which three columns are mixed: the bubbles that a falling point makes
are the rate less the fall at the start, and this fall is shared by two sugars. Both changes of
variable have Jacobian 1.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln

from .curve import Curve, as_curve, thermal_days, thermal_days_at
from .priors import (
    GRAVITY_FREEDOM,
    MOST_SUGAR_POINTS,
    MOST_SUGAR_SPREAD,
    OUTLIER_DECADES,
    OUTLIER_SHARE,
    READING_SD_POINTS,
)

if TYPE_CHECKING:
    from .evidence import Evidence
    from .priors import Prior

__all__ = [
    "centre_and_spread",
    "column_names",
    "expected_points",
    "log_density",
    "log_expected",
    "log_gravity",
    "log_negative_binomial",
    "log_prior",
    "log_tallies",
    "tally_terms",
    "to_theta",
]

Floats = NDArray[np.float64]

_LEAST_SPREAD = 1e-7  # of rates between evenings, squared: this near to Poisson it makes no odds


_COLUMNS = {"gas": "rate", "fall": "start", "second": "share"}  # instead of these priors


def column_names(priors: tuple[Prior, ...]) -> tuple[str, ...]:
    """Names of the columns of `theta`, for the priors of a fit."""
    return tuple(_COLUMNS.get(prior.name, prior.name) for prior in priors)


def to_theta(values: Floats, priors: tuple[Prior, ...]) -> Floats:
    """Rows of what the priors are on, as `theta`.

    Parameters
    ----------
    values : ndarray, shape (m, p)
        In the order of the table; natural logarithms but for what is linear.
    priors : tuple of Prior

    Returns
    -------
    ndarray, shape (m, p)
        Columns named by `column_names`.
    """
    value = dict(zip((prior.name for prior in priors), values.T, strict=True))
    second = value["second"] + value["pace"]  # ln of its fall at the start
    start = np.logaddexp(value["fall"], second)
    mixed = {"rate": value["gas"] + start, "start": start, "share": second - value["fall"]}
    columns = value | mixed
    return np.column_stack([columns[name] for name in column_names(priors)])


def centre_and_spread(priors: tuple[Prior, ...]) -> tuple[Floats, Floats]:
    """Centre and spread of each prior, shape (p,): natural logarithms, but for what is linear."""
    centre = np.array([p.centre if p.linear else np.log(p.centre) for p in priors])
    return centre, np.array([p.spread for p in priors])


def log_density(theta: Floats, evidence: Evidence, priors: tuple[Prior, ...]) -> Floats:
    """Log posterior density, up to a constant.

    Parameters
    ----------
    theta : ndarray, shape (m, p)
    evidence : Evidence
    priors : tuple of Prior
        What `priors` says of the evidence.

    Returns
    -------
    ndarray, shape (m,)
    """
    curve = as_curve(theta, column_names(priors))
    thermal = thermal_days(evidence.tail.days, evidence.tail.temp_offset_10c, curve.q10)
    total = log_prior(theta, curve, priors) + log_tallies(curve, thermal, evidence)
    if len(evidence.reading_days):
        total = total + log_gravity(curve, thermal, evidence)
    return np.asarray(total, float)


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
    Independent normals, of logarithms but for the finish; beyond `MOST_SUGAR_POINTS` of both sugars
    together the density falls as a normal of their logarithm.
    """
    centre, spread = centre_and_spread(priors)
    named = dict(zip(column_names(priors), theta.T, strict=True))
    named["gas"] = curve.log_per_point[:, 0]
    named["fall"] = np.log(curve.fall)[:, 0]
    named["second"] = np.log(curve.second)[:, 0]
    values = np.column_stack([named[prior.name] for prior in priors])
    over = np.maximum(np.log((curve.sugar + curve.second)[:, 0] / MOST_SUGAR_POINTS), 0.0)
    off = np.sum(((values - centre) / spread) ** 2, axis=-1) + (over / MOST_SUGAR_SPREAD) ** 2
    return np.asarray(-0.5 * off, float)


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

    Notes
    -----
    Each count is negative binomial around the rate of the curve times the length of the count
    times :math:`Q_{10}^{(T - T_{usual})/10}`: a zero is data, and a longer count weighs more. One
    in `1/OUTLIER_SHARE` may be any number at all: a mixture with outliers, as G. E. P. Box and
    G. C. Tiao, Biometrika 55 (1968) 119 (from memory).
    """
    sound, outlier = tally_terms(curve, thermal, evidence)
    return np.asarray(np.sum(evidence.weights * np.logaddexp(sound, outlier), axis=-1), float)


def tally_terms(curve: Curve, thermal: Floats, evidence: Evidence) -> tuple[Floats, Floats]:
    """Log probability that each count was made as it was, soundly or as an outlier.

    Parameters
    ----------
    curve, thermal, evidence
        As in `log_tallies`.

    Returns
    -------
    sound : ndarray, shape (m, n)
    outlier : ndarray, shape (n,)
    """
    tail = evidence.tail
    sound = log_negative_binomial(
        tail.bubbles, log_expected(curve, thermal, evidence), curve.overdispersion
    )
    outlier = -np.log(OUTLIER_DECADES * np.log(10.0) * (tail.bubbles + 1.0))
    return sound + np.log1p(-OUTLIER_SHARE), outlier + np.log(OUTLIER_SHARE)


def log_expected(curve: Curve, thermal: Floats, evidence: Evidence) -> Floats:
    """Ln of the bubbles expected in each count, with the warmth and the bubble of its evening.

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
        earlier = np.concatenate([np.zeros((len(thermal), 1)), curve.log_bubbles], axis=-1)
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
    The sugar left is the points still to fall, so the gravity is the finish and what is left.
    Errors are Student-t: robust regression of K. L. Lange, R. J. A. Little and J. M. G. Taylor,
    J. Am. Stat. Assoc. 84 (1989) 881 (from memory).
    """
    z = (evidence.reading_points - expected_points(curve, thermal, evidence)) / READING_SD_POINTS
    power = 0.5 * (GRAVITY_FREEDOM + 1.0)
    return np.asarray(-power * np.sum(np.log1p(z**2 / GRAVITY_FREEDOM), axis=-1), float)


def expected_points(curve: Curve, thermal: Floats, evidence: Evidence) -> Floats:
    """Gravity at each reading, in points above 1.000, shape (m, k)."""
    t = thermal_days_at(evidence.reading_days, thermal, evidence.tail.days)
    return np.asarray(curve.finish + curve.points_left(t), float)


def log_negative_binomial(
    counts: ArrayLike, log_mean: ArrayLike, overdispersion: ArrayLike
) -> Floats:
    r"""Log probability of counts whose rate itself scatters.

    Parameters
    ----------
    counts : array_like
        Whole numbers, at least 0.
    log_mean : array_like
        Natural logarithm of the expected count.
    overdispersion : array_like
        Relative scatter of the rate between evenings (coefficient of variation); 0 is Poisson.

    Returns
    -------
    ndarray
        Of the broadcast shape.

    Notes
    -----
    Mean :math:`\mu`, variance :math:`\mu + \phi^2\mu^2`, size :math:`1/\phi^2` (the NB2 form:
    A. C. Cameron and P. K. Trivedi, "Regression Analysis of Count Data", 1998; from memory).

    Examples
    --------
    >>> log_negative_binomial([0, 2], np.log(2.0), 0.0).round(4)  # Poisson: e^-2, 2 e^-2
    array([-2.    , -1.3069])
    """
    n, log_mu, phi = (np.asarray(v, float) for v in (counts, log_mean, overdispersion))
    mu, spread = np.exp(log_mu), phi**2
    # ln Gamma(n + 1/v) - ln Gamma(1/v) + n ln v tends to n (n - 1) v / 2 as v tends to 0, while
    # its terms grow and cancel: below the limit the tendency is nearer the truth than the terms
    size = 1.0 / np.maximum(spread, _LEAST_SPREAD)
    rising = np.where(
        spread < _LEAST_SPREAD,
        0.5 * n * (n - 1.0) * spread,
        gammaln(n + size) - gammaln(size) - n * np.log(size),
    )
    shrink = np.log1p(spread * mu)
    log_zero = -np.where(spread > 0.0, shrink / np.where(spread > 0.0, spread, 1.0), mu)
    return np.asarray(rising - gammaln(n + 1.0) + n * (log_mu - shrink) + log_zero, float)
