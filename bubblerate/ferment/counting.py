"""How likely a count is: negative binomial if sound, any number if it is an outlier."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln

from .decay import softplus
from .priors import OUTLIER_DECADES, OUTLIER_SHARE

__all__ = ["log_negative_binomial", "log_odds_of_soundness", "log_of_counts"]

Floats = NDArray[np.float64]

_LEAST_SPREAD = 1e-7  # relative variance of rates: below it, same as Poisson
_LEAST_STIRLING = 8.0  # above it, four terms of the series are right to 1e-11
_HALF_LOG_2PI = 0.5 * np.log(2.0 * np.pi)


def log_odds_of_soundness(bubbles: Floats, log_mean: Floats, overdispersion: Floats) -> Floats:
    """Log odds that each count is sound and not an outlier.

    Parameters
    ----------
    bubbles : ndarray, shape (n,)
        Bubbles counted.
    log_mean : ndarray, shape (m, n)
        Natural logarithm of the bubbles expected.
    overdispersion : ndarray, shape (m, 1)
        Relative scatter of the rate between evenings.

    Returns
    -------
    ndarray, shape (m, n)

    Notes
    -----
    One count in `1/OUTLIER_SHARE` may be any number at all: a mixture with outliers, as G. E. P.
    Box and G. C. Tiao, Biometrika 55 (1968) 119 (from memory).
    """
    sound = log_negative_binomial(bubbles, log_mean, overdispersion)
    return np.asarray(sound + (np.log1p(-OUTLIER_SHARE) - _log_outlier(bubbles)), float)


def log_of_counts(log_odds: Floats, bubbles: Floats, weights: Floats) -> Floats:
    """Log likelihood of counts, each of which may be an outlier and has its weight.

    Parameters
    ----------
    log_odds : ndarray, shape (m, n)
        From `log_odds_of_soundness`.
    bubbles, weights : ndarray, shape (n,)
        Bubbles counted, and the weight of each count.

    Returns
    -------
    ndarray, shape (m,)
    """
    return np.asarray(softplus(log_odds) @ weights + float(_log_outlier(bubbles) @ weights), float)


def _log_outlier(bubbles: Floats) -> Floats:
    """Log probability of each number as an outlier, uniform in its logarithm; shape (n,)."""
    spread = OUTLIER_DECADES * np.log(10.0) * (bubbles + 1.0)
    return np.asarray(np.log(OUTLIER_SHARE / spread), float)


def log_negative_binomial(
    counts: ArrayLike, log_mean: ArrayLike, overdispersion: ArrayLike
) -> Floats:
    r"""Log probability of counts if the rate itself scatters.

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
    size = 1.0 / np.maximum(spread, _LEAST_SPREAD)
    both = n + size
    log_p = _log_gamma(both) + n * log_mu - both * np.log(mu + size)
    log_p += size * np.log(size) - gammaln(size) - gammaln(n + 1.0)
    near = spread < _LEAST_SPREAD
    if not np.any(near):
        return np.asarray(log_p, float)
    # ln Gamma(n + 1/v) - ln Gamma(1/v) + n ln v goes to n (n - 1) v / 2 as v goes to 0, but its
    # terms grow and cancel. So for a small v the limit is more exact than the terms
    poisson = 0.5 * n * (n - 1.0) * spread - gammaln(n + 1.0) + n * log_mu - mu
    return np.asarray(np.where(near, poisson, log_p), float)


def _log_gamma(z: Floats) -> Floats:
    """Ln of the gamma function above 0 (Stirling's series, DLMF 5.11.1), in a fifth of the time."""
    inverse = 1.0 / z
    square = inverse * inverse
    series = inverse * (1 / 12 - square * (1 / 360 - square * (1 / 1260 - square / 1680)))
    found = (z - 0.5) * np.log(z) - z + (series + _HALF_LOG_2PI)
    if z.min() < _LEAST_STIRLING:
        small = z < _LEAST_STIRLING
        found[small] = gammaln(z[small])
    return np.asarray(found, float)
