"""Best fit and posterior draws of a ferment's tail, with an opinion of their own worth.

The mode is found by a trust-region Newton method on derivatives taken by central differences in
one vectorised call; the posterior by adaptive multiple importance sampling around it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import gammaln, logsumexp

from .likelihood import log_prior, log_tallies
from .priors import priors

if TYPE_CHECKING:
    from .tail import Tail

__all__ = ["Draws", "Fit", "fit", "importance_draws", "mode"]

Floats = NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]  # (m, p) -> (m,)

FEWEST_COUNTS = 3  # below this a decline is a guess, and the priors alone would speak
_STARTS = 256  # draws of the priors among which the search for the mode begins
_ROUNDS = (600, 800, 1600)  # proposals of each round of the sampler
_FREEDOM = 6.0  # of the Student-t proposals: tails heavier than the posterior's
_ENOUGH = 200.0  # effective draws that pin an 80 % limit to about a tenth of the spread
_FLAT = 0.01  # gradient of a peak that only begins the sampling: nearer makes no better draws
_WIDEST = 3.0  # spread given to directions in which the density hardly bends
_STEP = 1e-4  # of the differences, in natural logarithms: rounding and curvature both near 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Weighted draws of a density: m points of p parameters."""

    theta: Floats  # (m, p)
    weights: Floats  # (m,), summing to 1

    @property
    def effective(self) -> float:
        """Number of equal draws that would be worth as much (Kish)."""
        return float(1.0 / np.sum(self.weights**2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What the counts of a tail, and the priors, say of its curve.

    Attributes
    ----------
    tail : Tail
        The counts that went in.
    draws : Draws
        Posterior draws, columns in the order of `priors.PARAMETERS`.
    best : ndarray, shape (p,)
        The mode.
    distrust : str
        Why the spread should not be believed; empty when it may be.
    """

    tail: Tail
    draws: Draws
    best: Floats
    distrust: str


def fit(tail: Tail, *, litres: float | None, rng: np.random.Generator) -> Fit:
    """Posterior of the decay curve, given the counts of a tail.

    Parameters
    ----------
    tail : Tail
        At least `FEWEST_COUNTS` counts that it trusts.
    litres : float or None
        Wine in the vessel [L], where known; it narrows how many bubbles a point makes.
    rng : numpy.random.Generator
        Source of the draws; the same state gives the same answer.

    Returns
    -------
    Fit

    Raises
    ------
    ValueError
        If the tail holds fewer than `FEWEST_COUNTS` counts that it trusts.
    """
    if tail.trusted < FEWEST_COUNTS:
        raise ValueError(f"a fit needs {FEWEST_COUNTS} counts or more, got {tail.trusted}")
    table = priors(litres)

    def log_density(theta: Floats) -> Floats:
        return log_prior(theta, table) + log_tallies(theta, tail)

    centre, spread = np.log([p.centre for p in table]), np.array([p.spread for p in table])
    starts = centre + spread * rng.standard_normal((_STARTS, len(table)))
    first = (tail.bubbles[0] + 0.5) / tail.seconds[0] * 60.0
    starts[:, 0] = np.log(first) + 0.3 * rng.standard_normal(_STARTS)
    best, covariance = mode(log_density, starts[np.argmax(log_density(starts))], flat=_FLAT)
    draws = importance_draws(log_density, best, covariance, rng=rng)
    distrust = (
        ""
        if draws.effective >= _ENOUGH
        else f"only {draws.effective:.0f} effective draws: the spread is rough"
    )
    return Fit(tail=tail, draws=draws, best=best, distrust=distrust)


def mode(log_density: LogDensity, start: Floats, *, flat: float = 1e-5) -> tuple[Floats, Floats]:
    """Find the peak of a log density, and the covariance its curvature implies.

    Parameters
    ----------
    log_density : callable, (m, p) -> (m,)
        Evaluated at many points at once.
    start : ndarray, shape (p,)
        Where to begin.
    flat : float
        Length of the gradient at which the peak is near enough.

    Returns
    -------
    best : ndarray, shape (p,)
    covariance : ndarray, shape (p, p)
        Inverse of minus the Hessian at the peak; directions in which the density hardly bends
        are given a spread of at most `_WIDEST`.

    Notes
    -----
    Nearly exact trust-region Newton steps (scipy, ``trust-exact``).
    """

    def loss(x: Floats) -> float:
        return -float(log_density(x[None])[0])

    def slope(x: Floats) -> Floats:
        return -_gradient(log_density, x)

    def bend(x: Floats) -> Floats:
        return -_hessian(log_density, x)

    result = minimize(
        loss,
        start,
        jac=slope,
        hess=bend,
        method="trust-exact",
        options={"gtol": flat, "maxiter": 200},
    )
    best = np.asarray(result.x, float)
    curvature, axes = np.linalg.eigh(bend(best))
    covariance = (axes / np.maximum(curvature, 1.0 / _WIDEST**2)) @ axes.T
    return best, np.asarray(covariance, float)


def importance_draws(
    log_density: LogDensity, centre: Floats, covariance: Floats, *, rng: np.random.Generator
) -> Draws:
    """Draw from a density by adaptive multiple importance sampling.

    Parameters
    ----------
    log_density : callable, (m, p) -> (m,)
        Up to a constant.
    centre, covariance : ndarray, shapes (p,), (p, p)
        A first guess, for instance from `mode`.
    rng : numpy.random.Generator
        Source of the proposals.

    Returns
    -------
    Draws

    Notes
    -----
    Student-t proposals are moved to the weighted mean and covariance of all draws so far, round
    after round; every draw is weighted against the mixture of all proposals [1]_. When too few
    draws are effective, further rounds of the last size follow, four at most.

    References
    ----------
    .. [1] J.-M. Cornuet, J.-M. Marin, A. Mira and C. P. Robert, "Adaptive multiple importance
       sampling", Scand. J. Stat. 39 (2012) 798. Cited from memory.
    """
    proposals: list[tuple[Floats, Floats, int]] = []
    theta = np.empty((0, len(centre)))
    log_p = np.empty(0)
    draws = None
    sizes = [*_ROUNDS, *[_ROUNDS[-1]] * 4]
    for i, size in enumerate(sizes):
        if draws is not None:
            if i >= len(_ROUNDS) and draws.effective >= _ENOUGH:
                break
            centre, covariance = _moments(draws, centre, covariance)
        root = np.asarray(np.linalg.cholesky(covariance), float)
        proposals.append((centre, root, size))
        fresh = _student(centre, root, size, rng)
        theta = np.concatenate([theta, fresh])
        log_p = np.concatenate([log_p, log_density(fresh)])
        mixture = logsumexp(
            [np.log(n / len(theta)) + _log_student(theta, c, r) for c, r, n in proposals], axis=0
        )
        weights = np.exp(log_p - mixture - np.max(log_p - mixture))
        draws = Draws(theta=theta, weights=weights / weights.sum())
    assert draws is not None
    return draws


def _moments(draws: Draws, centre: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Weighted mean and covariance, shrunk to the last ones while few draws are effective."""
    trust = draws.effective / (draws.effective + 5.0 * len(centre))
    mean = draws.weights @ draws.theta
    off = draws.theta - mean
    spread = (draws.weights[:, None] * off).T @ off
    return trust * mean + (1.0 - trust) * centre, trust * spread + (1.0 - trust) * covariance


def _student(centre: Floats, root: Floats, size: int, rng: np.random.Generator) -> Floats:
    """Multivariate Student-t draws, shape (size, p)."""
    normal = rng.standard_normal((size, len(centre))) @ root.T
    return np.asarray(centre + normal * np.sqrt(_FREEDOM / rng.chisquare(_FREEDOM, (size, 1))))


def _log_student(theta: Floats, centre: Floats, root: Floats) -> Floats:
    """Log density of the multivariate Student-t, shape (m,)."""
    p = len(centre)
    z = np.linalg.solve(root, (theta - centre).T)
    constant = (
        gammaln(0.5 * (_FREEDOM + p))
        - gammaln(0.5 * _FREEDOM)
        - 0.5 * p * np.log(_FREEDOM * np.pi)
        - np.sum(np.log(np.diag(root)))
    )
    kernel = -0.5 * (_FREEDOM + p) * np.log1p(np.sum(z**2, axis=0) / _FREEDOM)
    return np.asarray(constant + kernel, float)


def _gradient(log_density: LogDensity, x: Floats) -> Floats:
    """Central differences, all in one call."""
    steps = _STEP * np.eye(len(x))
    values = log_density(np.concatenate([x + steps, x - steps]))
    return (values[: len(x)] - values[len(x) :]) / (2.0 * _STEP)


def _hessian(log_density: LogDensity, x: Floats) -> Floats:
    """Central differences of the second order, all in one call."""
    p, h = len(x), 10.0 * _STEP  # a wider step: rounding is divided by its square
    e = h * np.eye(p)
    i, j = np.triu_indices(p, 1)
    corners = [x + e[i] + e[j], x + e[i] - e[j], x - e[i] + e[j], x - e[i] - e[j]]
    values = log_density(np.concatenate([x[None], x + e, x - e, *corners]))
    middle, plus, minus = values[0], values[1 : p + 1], values[p + 1 : 2 * p + 1]
    pp, pm, mp, mm = np.split(values[2 * p + 1 :], 4)
    out = np.diag((plus - 2.0 * middle + minus) / h**2)
    out[i, j] = out[j, i] = (pp - pm - mp + mm) / (4.0 * h**2)
    return out
