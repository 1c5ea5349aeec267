"""Best fit and posterior draws of a ferment's tail, with an opinion of their own worth.

The mode is found by a quasi-Newton method on slopes taken by central differences in one vectorised
call; the posterior by adaptive multiple importance sampling around it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from .curve import Curve, curve
from .likelihood import log_density, names
from .priors import priors

if TYPE_CHECKING:
    from .evidence import Evidence
    from .tail import Tail

__all__ = ["Draws", "Fit", "fit", "importance_draws", "mode"]

Floats = NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]  # (m, p) -> (m,)

FEWEST_COUNTS = 3  # below this a decline is a guess, and the priors alone would speak
_STARTS = 256  # draws of the priors among which the search for the mode begins
_ROUNDS, _MOST_ROUNDS, _ROUND = 8, 16, 300  # of the sampler, and the proposals of each
_FREEDOM = 20.0  # of the Student-t proposals: tails heavier than a normal's
_ENOUGH = 200.0  # effective draws that pin an 80 % limit to about a tenth of the spread
_FLAT = 0.3  # slope of a peak that only begins the sampling: nearer makes no better draws
_CURVED = 0.25  # share of the curvature at the peak that is believed away from it
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
    """What counts, gravity and the priors say of a ferment's tail.

    Attributes
    ----------
    known : Evidence
        What went in.
    names : tuple of str
        Of the p parameters.
    draws : Draws
        Posterior draws, columns in the order of `names`.
    best : ndarray, shape (p,)
        The mode.
    distrust : str
        Why the spread should not be believed; empty when it may be.
    """

    known: Evidence
    names: tuple[str, ...]
    draws: Draws
    best: Floats
    distrust: str

    @property
    def tail(self) -> Tail:
        """The counts."""
        return self.known.tail

    @property
    def curve(self) -> Curve:
        """The draws in natural units."""
        return curve(self.draws.theta, self.names)


def fit(known: Evidence, *, rng: np.random.Generator) -> Fit:
    """Posterior of the decay curve, given counts and gravity.

    Parameters
    ----------
    known : Evidence
        With at least `FEWEST_COUNTS` counts that its tail trusts.
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
    counts = known.tail
    if counts.trusted < FEWEST_COUNTS:
        raise ValueError(f"a fit needs {FEWEST_COUNTS} counts or more, got {counts.trusted}")
    table = priors(known)

    def density(theta: Floats) -> Floats:
        return log_density(theta, known, table)

    centre = np.array([p.centre if p.linear else np.log(p.centre) for p in table])
    spread = np.array([p.spread for p in table])
    starts = centre + spread * rng.standard_normal((_STARTS, len(table)))
    first = (counts.bubbles[0] + 0.5) / counts.seconds[0] * 60.0
    starts[:, 0] = np.log(first) + 0.3 * rng.standard_normal(_STARTS)
    best, covariance = mode(density, starts[np.argmax(density(starts))], scale=spread, flat=_FLAT)
    # far from its peak the posterior is wider than there, but never much wider than the priors
    wide = _CURVED * np.linalg.inv(covariance) + (1.0 - _CURVED) * np.diag(1.0 / spread**2)
    draws = importance_draws(density, best, np.asarray(np.linalg.inv(wide), float), rng=rng)
    distrust = (
        ""
        if draws.effective >= _ENOUGH
        else f"only {draws.effective:.0f} effective draws: the spread is rough"
    )
    return Fit(known=known, names=names(table), draws=draws, best=best, distrust=distrust)


def mode(
    log_density: LogDensity, start: Floats, *, scale: Floats, flat: float = 1e-5
) -> tuple[Floats, Floats]:
    """Find the peak of a log density, and the covariance its curvature implies.

    Parameters
    ----------
    log_density : callable, (m, p) -> (m,)
        Evaluated at many points at once.
    start : ndarray, shape (p,)
        Where to begin.
    scale : ndarray, shape (p,)
        About how far each parameter may be off.
    flat : float
        Slope, along each parameter in its scale, at which the peak is near enough.

    Returns
    -------
    best : ndarray, shape (p,)
    covariance : ndarray, shape (p, p)
        Inverse of minus the Hessian at the peak; directions in which the density hardly bends
        are given a spread of at most `_WIDEST` scales.

    Notes
    -----
    Quasi-Newton steps (scipy, ``BFGS``), value and slope from one call each.
    """

    def scaled(z: Floats) -> Floats:
        return log_density(start + scale * z)

    def loss(z: Floats) -> tuple[float, Floats]:
        value, slope = _slope(scaled, z)
        return -value, -slope

    result = minimize(loss, np.zeros(len(start)), jac=True, method="BFGS", options={"gtol": flat})
    best = np.asarray(result.x, float)
    curvature, axes = np.linalg.eigh(-_hessian(scaled, best))
    root = scale[:, None] * axes / np.sqrt(np.maximum(curvature, 1.0 / _WIDEST**2))
    return start + scale * best, np.asarray(root @ root.T, float)


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
    after round; every draw is weighted against the mixture of all proposals [1]_. While too few
    draws are effective, further rounds follow, up to `_MOST_ROUNDS`.

    References
    ----------
    .. [1] J.-M. Cornuet, J.-M. Marin, A. Mira and C. P. Robert, "Adaptive multiple importance
       sampling", Scand. J. Stat. 39 (2012) 798. Cited from memory.
    """
    p = len(centre)
    draws = Draws(theta=np.empty((0, p)), weights=np.empty(0))
    log_p = np.empty(0)
    proposals: list[_Proposal] = []
    under = np.empty((0, 0))  # log density of each draw under each proposal
    while len(proposals) < _ROUNDS or (draws.effective < _ENOUGH and len(proposals) < _MOST_ROUNDS):
        if proposals:
            centre, covariance = _moments(draws, centre, covariance)
        newest = _proposal(centre, covariance)
        fresh = newest.draw(_ROUND, rng)
        theta = np.concatenate([draws.theta, fresh])
        log_p = np.concatenate([log_p, log_density(fresh)])
        older = [proposal.log_density(fresh) for proposal in proposals]
        under = np.concatenate([under, np.reshape(older, (len(proposals), _ROUND))], axis=1)
        under = np.concatenate([under, newest.log_density(theta)[None]])
        proposals.append(newest)
        top = under.max(axis=0)
        log_w = log_p - top - np.log(np.exp(under - top).sum(axis=0))
        weights = np.exp(log_w - log_w.max())
        draws = Draws(theta=theta, weights=weights / weights.sum())
    return draws


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Proposal:
    """A multivariate Student-t density."""

    centre: Floats  # (p,)
    root: Floats  # (p, p), lower triangle
    inverse: Floats  # of the root
    constant: float

    def draw(self, size: int, rng: np.random.Generator) -> Floats:
        """Draws, shape (size, p)."""
        normal = rng.standard_normal((size, len(self.centre))) @ self.root.T
        heavy = np.sqrt(_FREEDOM / rng.chisquare(_FREEDOM, (size, 1)))
        return np.asarray(self.centre + normal * heavy, float)

    def log_density(self, theta: Floats) -> Floats:
        """Log density, shape (m,)."""
        z = (theta - self.centre) @ self.inverse.T
        squares = np.einsum("ij,ij->i", z, z) / _FREEDOM
        power = 0.5 * (_FREEDOM + len(self.centre))
        return np.asarray(self.constant - power * np.log1p(squares), float)


def _proposal(centre: Floats, covariance: Floats) -> _Proposal:
    root = np.asarray(np.linalg.cholesky(covariance), float)
    # what all proposals share is left out: weights are relative
    constant = -float(np.sum(np.log(np.diag(root))))
    inverse = np.asarray(np.linalg.inv(root), float)
    return _Proposal(centre=centre, root=root, inverse=inverse, constant=constant)


def _moments(draws: Draws, centre: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Weighted mean and covariance, shrunk to the last ones while few draws are effective."""
    trust = draws.effective / (draws.effective + 2.0 * len(centre))
    mean = draws.weights @ draws.theta
    off = draws.theta - mean
    spread = (draws.weights[:, None] * off).T @ off
    return trust * mean + (1.0 - trust) * centre, trust * spread + (1.0 - trust) * covariance


def _slope(log_density: LogDensity, x: Floats) -> tuple[float, Floats]:
    """Value and central differences, all in one call."""
    steps = _STEP * np.eye(len(x))
    values = log_density(np.concatenate([x[None], x + steps, x - steps]))
    plus, minus = np.split(values[1:], 2)
    return float(values[0]), (plus - minus) / (2.0 * _STEP)


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
