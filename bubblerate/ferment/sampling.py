"""Modes of a density, and weighted draws of it: the engine of the fit, knowing nothing of wine.

A density is a function of many points at once, (m, p) -> (m,), in logarithms and up to a constant.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

__all__ = ["Draws", "Mode", "find_mode", "importance_draws"]

Floats = NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]  # (m, p) -> (m,)

ENOUGH = 200.0  # effective draws that pin an 80 % limit to about a tenth of the spread
_ROUNDS, _MOST_ROUNDS, _ROUND = 8, 24, 300  # of the sampler, and the proposals of each
_FREEDOM = 5.0  # of the Student-t proposals: tails far heavier than a normal's
_LEAST_SHARE = 0.1  # of the proposals that each part of the mixture keeps
_WIDEST = 3.0  # scales: the spread given to directions in which the density hardly bends
_STEP = 1e-4  # of the differences, in scales: rounding and curvature both near 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Weighted draws of a density: m points of p parameters."""

    theta: Floats  # (m, p)
    weights: Floats  # (m,), summing to 1

    @property
    def effective_sample_size(self) -> float:
        """Number of equal draws that would be worth as much: L. Kish, "Survey Sampling", 1965."""
        return float(1.0 / np.sum(self.weights**2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mode:
    """A place where a density is highest, and the covariance that its curvature implies."""

    at: Floats  # (p,)
    covariance: Floats  # (p, p)
    reached: bool = True  # False: the search stopped short of it


def find_mode(log_density: LogDensity, start: Floats, *, scale: Floats, flat: float = 1e-5) -> Mode:
    """Find a mode of a log density.

    Parameters
    ----------
    log_density : callable, (m, p) -> (m,)
        Evaluated at many points at once.
    start : ndarray, shape (p,)
        Where to begin.
    scale : ndarray, shape (p,)
        About how far each parameter may be off.
    flat : float
        Slope, along each parameter in its scale, at which the mode is near enough.

    Returns
    -------
    Mode
        Its covariance is the inverse of minus the Hessian there; directions in which the density
        hardly bends are given a spread of at most `_WIDEST` scales.

    Raises
    ------
    ArithmeticError
        If the density is not finite around the start or the mode.

    Notes
    -----
    Quasi-Newton steps (``BFGS``, by `scipy.optimize.minimize`) in coordinates made round by the
    curvature at the start; value and slope from one call each.
    """

    def bends(at: Floats, root: Floats) -> tuple[Floats, Floats]:
        """Curvatures in coordinates of which `root` is the unit, and their axes."""
        with np.errstate(invalid="ignore"):
            hessian = _hessian(lambda z: log_density(at + z @ root.T), len(at))
        if not np.all(np.isfinite(hessian)):
            raise ArithmeticError("the density has no curvature here")
        return np.linalg.eigh(-hessian)

    curvature, axes = bends(start, np.diag(scale))
    # units that make the valley about round at the start, whichever way it bends there
    root = scale[:, None] * axes / np.sqrt(np.maximum(np.abs(curvature), 1.0))

    def loss(z: Floats) -> tuple[float, Floats]:
        value, slope = _slope(lambda y: log_density(start + y @ root.T), z)
        return -value, -slope

    result = minimize(loss, np.zeros(len(start)), jac=True, method="BFGS", options={"gtol": flat})
    at = np.asarray(start + root @ result.x, float)
    curvature, axes = bends(at, np.diag(scale))
    wide = scale[:, None] * axes / np.sqrt(np.maximum(curvature, 1.0 / _WIDEST**2))
    return Mode(at=at, covariance=np.asarray(wide @ wide.T, float), reached=bool(result.success))


def importance_draws(
    log_density: LogDensity, modes: Sequence[Mode], *, rng: np.random.Generator
) -> Draws:
    """Draw from a density by adaptive multiple importance sampling with a mixture.

    Parameters
    ----------
    log_density : callable, (m, p) -> (m,)
        Up to a constant.
    modes : sequence of Mode
        Where to begin: one part of the mixture for each.
    rng : numpy.random.Generator
        Source of the proposals.

    Returns
    -------
    Draws

    Raises
    ------
    ArithmeticError
        If the density is finite at none of the proposals.
    numpy.linalg.LinAlgError
        If a covariance is not positive definite.

    Notes
    -----
    A mixture of Student-t densities follows the draws, round after round, by one step of
    expectation maximisation on all that were made so far [1]_; every draw is weighted against the
    mixture of the proposals of all rounds [2]_. While too few draws are effective, further rounds
    follow, up to `_MOST_ROUNDS`.

    References
    ----------
    .. [1] O. Cappe, R. Douc, A. Guillin, J.-M. Marin and C. P. Robert, "Adaptive importance
       sampling in general mixture classes", Stat. Comput. 18 (2008) 447. Cited from memory.
    .. [2] J.-M. Cornuet, J.-M. Marin, A. Mira and C. P. Robert, "Adaptive multiple importance
       sampling", Scand. J. Stat. 39 (2012) 798. Cited from memory.
    """
    parts = [_part(1.0 / len(modes), p.at, p.covariance) for p in modes]
    draws = Draws(theta=np.empty((0, len(modes[0].at))), weights=np.empty(0))
    log_p = np.empty(0)
    rounds: list[list[_Part]] = []
    under = np.empty((0, 0))  # log density of each draw under the mixture of each round
    while len(rounds) < _ROUNDS or (
        draws.effective_sample_size < ENOUGH and len(rounds) < _MOST_ROUNDS
    ):
        if rounds:
            parts = _follow(parts, draws)
        fresh = np.concatenate(
            [part.draw(size, rng) for part, size in zip(parts, _sizes(parts), strict=True)]
        )
        theta = np.concatenate([draws.theta, fresh])
        log_p = np.concatenate([log_p, log_density(fresh)])
        older = [_log_sum(_log_parts(mixture, fresh)) for mixture in rounds]
        under = np.concatenate([under, np.reshape(older, (len(rounds), _ROUND))], axis=1)
        under = np.concatenate([under, _log_sum(_log_parts(parts, theta))[None]])
        rounds.append(parts)
        log_w = log_p - _log_sum(under)
        if not np.isfinite(log_w.max()):
            raise ArithmeticError("the density is finite at none of the draws")
        weights = np.exp(log_w - log_w.max())
        draws = Draws(theta=theta, weights=weights / weights.sum())
    possible = np.isfinite(log_p)  # nothing can be worked out of the others
    return Draws(theta=draws.theta[possible], weights=draws.weights[possible])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """A multivariate Student-t density with a share in a mixture."""

    share: float
    centre: Floats  # (p,)
    covariance: Floats  # (p, p)
    root: Floats  # of the covariance, lower triangle
    inverse: Floats  # of the root

    def draw(self, size: int, rng: np.random.Generator) -> Floats:
        """Draws, shape (size, p)."""
        normal = rng.standard_normal((size, len(self.centre))) @ self.root.T
        heavy = np.sqrt(_FREEDOM / rng.chisquare(_FREEDOM, (size, 1)))
        return np.asarray(self.centre + normal * heavy, float)

    def log_density(self, theta: Floats) -> Floats:
        """Log of its share times its density, but for a constant that all share; shape (m,)."""
        z = (theta - self.centre) @ self.inverse.T
        squares = np.einsum("ij,ij->i", z, z) / _FREEDOM
        power = 0.5 * (_FREEDOM + len(self.centre))
        height = np.log(self.share) + float(np.sum(np.log(np.diag(self.inverse))))
        return np.asarray(height - power * np.log1p(squares), float)


def _part(share: float, centre: Floats, covariance: Floats) -> _Part:
    root = np.asarray(np.linalg.cholesky(covariance), float)
    inverse = np.asarray(np.linalg.inv(root), float)
    return _Part(share=share, centre=centre, covariance=covariance, root=root, inverse=inverse)


def _follow(parts: list[_Part], draws: Draws) -> list[_Part]:
    """Move each part to the draws it answers for, the less so the fewer these are worth."""
    log_parts = _log_parts(parts, draws.theta)
    answers = draws.weights * np.exp(log_parts - _log_sum(log_parts))  # (parts, m)
    shares = np.maximum(answers.sum(axis=1), _LEAST_SHARE)
    moved = []
    for part, answer, share in zip(parts, answers, shares / shares.sum(), strict=True):
        total = max(float(answer.sum()), np.finfo(float).tiny)
        worth = total**2 / max(float(np.sum(answer**2)), np.finfo(float).tiny)
        trust = worth / (worth + 2.0 * len(part.centre))
        mean = answer @ draws.theta / total
        off = draws.theta - mean
        spread = (answer[:, None] * off).T @ off / total
        centre = trust * mean + (1.0 - trust) * part.centre
        covariance = trust * spread + (1.0 - trust) * part.covariance
        moved.append(_part(float(share), centre, covariance))
    return moved


def _sizes(parts: list[_Part]) -> list[int]:
    """Proposals of each part, a whole round in all."""
    ends = np.round(_ROUND * np.cumsum([part.share for part in parts])).astype(int)
    return [int(size) for size in np.diff(ends, prepend=0)]


def _log_parts(parts: list[_Part], theta: Floats) -> Floats:
    """Log densities of all parts, shape (parts, m)."""
    return np.array([part.log_density(theta) for part in parts])


def _log_sum(logs: Floats) -> Floats:
    """Log of the sum over the first axis."""
    top = logs.max(axis=0)
    return np.asarray(top + np.log(np.sum(np.exp(logs - top), axis=0)), float)


def _slope(log_density: LogDensity, x: Floats) -> tuple[float, Floats]:
    """Value and central differences, all in one call."""
    steps = _STEP * np.eye(len(x))
    values = log_density(np.concatenate([x[None], x + steps, x - steps]))
    plus, minus = np.split(values[1:], 2)
    return float(values[0]), (plus - minus) / (2.0 * _STEP)


def _hessian(log_density: LogDensity, p: int) -> Floats:
    """Central differences of the second order around the origin, all in one call."""
    h = 10.0 * _STEP  # a wider step: rounding is divided by its square
    e = h * np.eye(p)
    i, j = np.triu_indices(p, 1)
    corners = [e[i] + e[j], e[i] - e[j], e[j] - e[i], -e[i] - e[j]]
    values = log_density(np.concatenate([np.zeros((1, p)), e, -e, *corners]))
    middle, plus, minus = values[0], values[1 : p + 1], values[p + 1 : 2 * p + 1]
    pp, pm, mp, mm = np.split(values[2 * p + 1 :], 4)
    out = np.diag((plus - 2.0 * middle + minus) / h**2)
    out[i, j] = out[j, i] = (pp - pm - mp + mm) / (4.0 * h**2)
    return out
