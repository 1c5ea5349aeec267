"""Terms of the log density of a ferment's tail: tallies and priors, which add.

A point in parameter space is one row of `theta`, shape (m, len(PARAMETERS)), all natural
logarithms, so that every real vector is a possible ferment. Terms return shape (m,). The first is
the rate of bubbles at the start of the tail, which the counts pin; what has a prior in its stead
is `gas`, the bubbles that a falling point makes. (The one is the other times the fall at the start,
which holds no `gas`, so the change of variable has Jacobian 1.)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln

from .decay import log_gas_per_day
from .priors import EVENING_SCATTER, PARAMETERS

if TYPE_CHECKING:
    from .priors import Prior
    from .tail import Tail

__all__ = [
    "Curve",
    "curve",
    "evening_weights",
    "log_negative_binomial",
    "log_prior",
    "log_tallies",
    "thermal_days",
]

Floats = NDArray[np.float64]


EVENING_CORRELATION = 0.5  # of that scatter a day apart: weather and room heat outlast an evening
_LEAST_SPREAD = 1e-7  # of rates between evenings, squared: this near to Poisson it makes no odds


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """Parameters of m decay curves in natural units, each of shape (m, 1)."""

    rate: Floats  # bubbles a minute at the start, at the usual temperature
    uptake: Floats
    sugar: Floats
    half: Floats
    dying: Floats
    seeping: Floats
    seep: Floats
    scatter: Floats
    q10: Floats

    @property
    def fall(self) -> dict[str, Floats]:
        """What the functions of `decay` take."""
        return {
            "uptake": self.uptake,
            "sugar": self.sugar,
            "half": self.half,
            "dying": self.dying,
        }

    @property
    def gas(self) -> dict[str, Floats]:
        """The same and the gas that seeps beside it."""
        return {**self.fall, "seeping": self.seeping, "seep": self.seep}

    @property
    def log_per_point(self) -> Floats:
        """Ln of the bubbles a minute that a fall of one point a day makes."""
        return np.log(self.rate) - log_gas_per_day(0.0, **self.gas)

    def log_per_min(self, days: ArrayLike) -> Floats:
        """Ln of the rate [bubbles/min] at thermal `days`, at the usual temperature."""
        return self.log_per_point + log_gas_per_day(days, **self.gas)


def curve(theta: Floats) -> Curve:
    """Rows of log parameters as named columns in natural units.

    Parameters
    ----------
    theta : ndarray, shape (m, 9)
        Natural logarithms, in the order of `PARAMETERS`.

    Returns
    -------
    Curve
        The same in natural units, each of shape (m, 1).
    """
    columns = np.exp(theta)[:, :, None]
    return Curve(**{name: columns[:, i] for i, name in enumerate(PARAMETERS)})


def log_prior(theta: Floats, table: tuple[Prior, ...]) -> Floats:
    """Log density of the priors, up to a constant; shape (m,)."""
    centre = np.log([p.centre for p in table])
    spread = np.array([p.spread for p in table])
    values = np.concatenate([curve(theta).log_per_point, theta[:, 1:]], axis=-1)
    return np.asarray(-0.5 * np.sum(((values - centre) / spread) ** 2, axis=-1), float)


def log_tallies(theta: Floats, tail: Tail) -> Floats:
    r"""Log likelihood of the counts of a tail.

    Parameters
    ----------
    theta : ndarray, shape (m, 9)
        Rows of log parameters.
    tail : Tail
        The n counts.

    Returns
    -------
    ndarray, shape (m,)

    Notes
    -----
    Each count is negative binomial around the rate of the curve times the length of the count
    times :math:`Q_{10}^{(T - T_{usual})/10}`: a zero is data, and a longer count weighs more.
    """
    c = curve(theta)
    log_mean = (
        c.log_per_min(thermal_days(tail.days, tail.warmth, c.q10))
        + np.log(tail.seconds / 60.0)
        + tail.warmth * np.log(c.q10)
    )
    each = log_negative_binomial(tail.bubbles, log_mean, c.scatter)
    return np.asarray(np.sum(evening_weights(tail) * each, axis=-1), float)


def evening_weights(tail: Tail) -> Floats:
    r"""How much of a count's say is its own, since neighbouring evenings share their scatter.

    Parameters
    ----------
    tail : Tail
        The n counts.

    Returns
    -------
    ndarray, shape (n,)
        In [0, 1]; nearly 1 where few bubbles were counted, for chance is not shared; 0 where the
        tail itself does not trust the count.

    Notes
    -----
    With a correlation :math:`\rho^{|t_i - t_j|}` between evenings, the scatter :math:`\phi^2` of
    count i is as good as shared by :math:`\sum_j \rho^{|t_i - t_j|}` counts, and its counting
    error :math:`1/n` by none. The weight is the ratio of the two variances, taken once from the
    counts, so that it does not move with the parameters. Counting twice as often never weighs less.
    """
    shared = EVENING_CORRELATION ** np.diff(tail.days)  # with the count before
    before, after = np.zeros(len(tail)), np.zeros(len(tail))
    for i in range(1, len(tail)):  # sums over all counts before, and all after, in two passes
        before[i] = shared[i - 1] * (1.0 + before[i - 1])
        after[-1 - i] = shared[-i] * (1.0 + after[-i])
    chance, scatter = 1.0 / (tail.bubbles + 1.0), EVENING_SCATTER**2
    own = (chance + scatter) / (chance + scatter * (1.0 + before + after))
    return np.asarray(own * tail.trust, float)


def log_negative_binomial(counts: ArrayLike, log_mean: ArrayLike, scatter: ArrayLike) -> Floats:
    r"""Log probability of counts whose rate itself scatters.

    Parameters
    ----------
    counts : array_like
        Whole numbers, at least 0.
    log_mean : array_like
        Natural logarithm of the expected count.
    scatter : array_like
        Relative scatter of the rate between evenings (coefficient of variation); 0 is Poisson.

    Returns
    -------
    ndarray
        Of the broadcast shape.

    Notes
    -----
    Mean :math:`\mu`, variance :math:`\mu + \phi^2\mu^2`, size :math:`1/\phi^2` (the NB2 form).

    Examples
    --------
    >>> log_negative_binomial([0, 2], np.log(2.0), 0.0).round(4)  # Poisson: e^-2, 2 e^-2
    array([-2.    , -1.3069])
    """
    n, log_mu, phi = np.broadcast_arrays(
        np.asarray(counts, float), np.asarray(log_mean, float), np.asarray(scatter, float)
    )
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
    log_zero = -np.divide(shrink, spread, out=np.array(mu), where=spread > 0.0)
    return np.asarray(rising - gammaln(n + 1.0) + n * (log_mu - shrink) + log_zero, float)


def thermal_days(days: Floats, warmth: Floats, q10: Floats) -> Floats:
    """Time as the yeast feels it: days at the usual temperature that do the same.

    Parameters
    ----------
    days : ndarray, shape (n,)
        Calendar time [days], rising from the start of the tail.
    warmth : ndarray, shape (n,)
        (temperature - usual) / 10 C at these times; between them the speed changes steadily.
    q10 : ndarray, shape (m, 1)
        Factor by which 10 C speeds the yeast up.

    Returns
    -------
    ndarray, shape (m, n)
        Thermal time [days], 0 at the first.
    """
    speed = np.exp(np.log(q10) * warmth)  # (m, n)
    steps = 0.5 * (speed[:, 1:] + speed[:, :-1]) * np.diff(days)
    return np.concatenate([np.zeros((len(q10), 1)), np.cumsum(steps, axis=-1)], axis=-1)
