"""Weighted draws from any probability density: the engine of the fit, which knows no wine.

A density is given as a log, up to a constant, for many points at once: (m, p) -> (m,).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .pareto import tail_shape

if TYPE_CHECKING:
    from .modes import Modes

__all__ = ["ENOUGH", "HEAVY", "Draws", "importance_draws"]

Floats = NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]  # (m, p) -> (m,)

ENOUGH = 200.0  # effective draws needed to place an 80 % limit within a tenth of the spread
HEAVY = 0.7  # if the tail of the weights has a larger shape, their sum is unreliable
_ROUNDS, _MOST_ROUNDS, _ROUND = 4, 22, 400  # rounds of the sampler, and proposals per round
_WORTH = 300.0  # no more rounds once there are this many effective draws
_FREEDOM = 5.0  # Student-t proposals: tails much heavier than normal
_LEAST_SHARE = 0.03  # least share of the proposals for each part of the mixture, before scaling
_HEAVIEST = 0.05  # a draw this heavy starts a new part of the mixture
_HARDLY = 1e-6  # share of the largest weight: a lighter draw changes nothing
_TINY = float(np.finfo(float).tiny)


@dataclass(frozen=True, kw_only=True, eq=False)  # no slots: cached properties need a dict
class Draws:
    """Weighted draws of a density: m points of p parameters."""

    theta: Floats  # (m, p)
    weights: Floats  # (m,), summing to 1
    all_weights: Floats | None = None  # of all draws made, if these stand for more

    @cached_property
    def effective_sample_size(self) -> float:
        """Number of equally weighted draws worth as much: L. Kish, "Survey Sampling", 1965."""
        return float(1.0 / np.sum(self.weights**2))

    @cached_property
    def tail_shape(self) -> float:
        """Shape k of the tail of the weights: above 0.7 a few more draws might change the answer.

        A. Vehtari, D. Simpson, A. Gelman, Y. Yao and J. Gabry, "Pareto smoothed importance
        sampling", J. Mach. Learn. Res. 25 (2024) 72 (from memory).
        """
        return tail_shape(self.weights if self.all_weights is None else self.all_weights)

    @property
    def enough(self) -> bool:
        """Whether the draws are good enough to state an interval."""
        return self.worth(ENOUGH)

    def worth(self, draws: float) -> bool:
        """Whether they are worth this many equal draws, and a few more would not change that."""
        return self.effective_sample_size >= draws and self.tail_shape <= HEAVY

    def reweighted(self, log_ratio: Floats) -> Draws:
        """Weigh the m draws by another density, given its ratio to this one."""
        weights = _weights(np.log(self.weights) + log_ratio)
        return Draws(theta=self.theta, weights=weights, all_weights=self.all_weights)

    def thinned(self, most: int) -> tuple[Draws, NDArray[np.intp]]:
        """Keep at most so many draws: all the heavy ones, and a random choice of the light ones.

        Parameters
        ----------
        most : int

        Returns
        -------
        draws : Draws
        which : ndarray of int
            Their indices in the full set.

        Notes
        -----
        The light ones that are kept all weigh the same, which loses least: P. Fearnhead and P.
        Clifford, J. R. Stat. Soc. B 65 (2003) 887 (from memory).
        """
        which = np.flatnonzero(self.weights > 0.0)
        weights = self.weights[which]
        if len(which) > most:
            rising, k = np.sort(weights), len(which) - most
            each = np.cumsum(rising)[k:] / np.arange(1, most + 1)  # picks among the lightest
            same = float(each[np.argmax(each <= np.append(rising[k + 1 :], np.inf))])
            light = weights < same
            lot = np.floor(np.cumsum(np.where(light, weights, 0.0)) / same + 0.5)
            some = ~light | (np.diff(lot, prepend=0.0) > 0.0)
            which, weights = which[some], np.maximum(weights[some], same)
        kept = Draws(
            theta=self.theta[which], weights=weights / weights.sum(), all_weights=self.weights
        )
        return kept, which


def importance_draws(
    log_density: LogDensity, modes: Modes, *, rng: np.random.Generator
) -> tuple[Draws, NDArray[np.intp]]:
    """Draw from a density by adaptive multiple importance sampling with a mixture.

    Parameters
    ----------
    log_density : callable, (m, p) -> (m,)
        Up to a constant; minus infinity or nan where a point is impossible.
    modes : Modes
        Where to start: one part of the mixture for each.
    rng : numpy.random.Generator
        Source of the proposals.

    Returns
    -------
    draws : Draws
    possible : ndarray of int, shape (m,)
        For each draw, its index among the points at which the density was evaluated.

    Raises
    ------
    ArithmeticError
        If the density is finite at no proposal.
    numpy.linalg.LinAlgError
        If a covariance is not positive definite.

    Notes
    -----
    The proposal is a mixture of Student-t densities. After each round it is fitted to all draws so
    far by one step of expectation maximisation [1]_. Every draw is weighted against the mixture of
    the proposals of all rounds [2]_. As long as the draws are not good enough for an interval, more
    rounds follow, up to `_MOST_ROUNDS`.

    References
    ----------
    .. [1] O. Cappe, R. Douc, A. Guillin, J.-M. Marin and C. P. Robert, "Adaptive importance
       sampling in general mixture classes", Stat. Comput. 18 (2008) 447. Cited from memory.
    .. [2] J.-M. Cornuet, J.-M. Marin, A. Mira and C. P. Robert, "Adaptive multiple importance
       sampling", Scand. J. Stat. 39 (2012) 798. Cited from memory.
    """
    mixture = _Mixture.of(np.full(len(modes), 1.0 / len(modes)), modes.at, modes.covariance)
    unit = float(mixture.log_height.max())  # common scale, so that no density overflows
    past: list[_Mixture] = []
    draws = Draws(theta=np.empty((0, modes.at.shape[1])), weights=np.empty(0))
    log_p, under = np.empty(0), np.empty(0)  # at each draw, of the density and of all mixtures
    parts = np.empty((len(modes), 0))  # densities of the latest mixture at the draws
    while len(past) < _ROUNDS or (len(past) < _MOST_ROUNDS and not draws.worth(_WORTH)):
        if past:
            mixture = mixture.follow(draws, parts)
        fresh = mixture.draw(rng)
        older = _Mixture.together(past).densities(fresh, unit).sum(axis=0) if past else 0.0
        log_p = np.concatenate([log_p, log_density(fresh)])
        theta = np.concatenate([draws.theta, fresh])
        parts = mixture.densities(theta, unit)
        under = np.append(under, np.zeros(_ROUND) + older) + parts.sum(axis=0)
        past.append(mixture)
        draws = Draws(theta=theta, weights=_weights(log_p - np.log(under)))
    possible = np.flatnonzero(np.isfinite(log_p))  # the others tell nothing
    return Draws(theta=draws.theta[possible], weights=draws.weights[possible]), possible


def _weights(log_w: Floats) -> Floats:
    log_w = np.where(np.isnan(log_w), -np.inf, log_w)
    if not np.isfinite(log_w.max()):
        raise ArithmeticError("the density is finite at none of the draws")
    weights = np.exp(log_w - log_w.max())
    return np.asarray(weights / weights.sum(), float)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Mixture:
    """K multivariate Student-t densities, each with its share."""

    share: Floats  # (K,)
    centre: Floats  # (K, p)
    covariance: Floats  # (K, p, p)
    root: Floats  # of the covariance, lower triangles
    inverse: Floats  # of the root
    log_height: Floats  # (K,), but for a constant that all share

    @classmethod
    def of(cls, share: Floats, centre: Floats, covariance: Floats) -> _Mixture:
        """Build it from its parameters and work out the rest."""
        root = np.asarray(np.linalg.cholesky(covariance), float)
        inverse = np.asarray(np.linalg.inv(root), float)
        steep = np.log(np.diagonal(inverse, axis1=1, axis2=2)).sum(axis=1)
        return cls(
            share=share,
            centre=centre,
            covariance=covariance,
            root=root,
            inverse=inverse,
            log_height=np.log(share) + steep,
        )

    @classmethod
    def together(cls, mixtures: list[_Mixture]) -> _Mixture:
        """Join the parts of several mixtures into one, whose density is the sum of theirs."""
        names = [one.name for one in fields(cls)]
        return cls(**{n: np.concatenate([getattr(m, n) for m in mixtures]) for n in names})

    def draw(self, rng: np.random.Generator) -> Floats:
        """One round of draws, shape (_ROUND, p), shared among the parts."""
        normal = rng.standard_normal((_ROUND, self.centre.shape[1]))
        heavy = np.sqrt(_FREEDOM / rng.chisquare(_FREEDOM, (_ROUND, 1)))
        ends = np.round(_ROUND * np.cumsum(self.share)).astype(int)
        lots = zip(self.centre, self.root, np.split(normal * heavy, ends[:-1]), strict=True)
        return np.concatenate([centre + lot @ root.T for centre, root, lot in lots])

    def densities(self, theta: Floats, log_unit: float) -> Floats:
        """Density of each part times its share, in units of e^log_unit; shape (K, m)."""
        k, p = self.centre.shape
        z = self.inverse.reshape(k * p, p) @ theta.T  # one matrix product for all parts
        z -= (self.inverse @ self.centre[:, :, None]).reshape(k * p, 1)
        squares = np.square(z, out=z).reshape(k, p, -1).sum(axis=1)
        squares /= _FREEDOM
        log_parts = np.log1p(squares, out=squares)
        log_parts *= -0.5 * (_FREEDOM + p)
        log_parts += (self.log_height - log_unit)[:, None]
        return np.asarray(np.exp(log_parts, out=log_parts), float)

    def follow(self, draws: Draws, parts: Floats) -> _Mixture:
        """Move each part towards the draws it explains, less so if these are worth little."""
        some = np.flatnonzero(draws.weights > _HARDLY * draws.weights.max())
        theta, weights, parts = draws.theta[some], draws.weights[some], parts[:, some]
        answers = parts * (weights / parts.sum(axis=0))  # (K, m)
        total = np.maximum(answers.sum(axis=1), _TINY)
        worth = total**2 / np.maximum(np.sum(answers**2, axis=1), _TINY)
        trust = worth / (worth + 2.0 * theta.shape[1])
        middle = weights @ theta  # near all means: the difference keeps its digits
        off = theta - middle
        shift = answers @ off / total[:, None]
        spread = np.array([(answer[:, None] * off).T @ off for answer in answers])
        spread = spread / total[:, None, None] - shift[:, :, None] * shift[:, None, :]
        share = np.maximum(total, _LEAST_SHARE)
        kept = 1.0 - trust
        centre = trust[:, None] * (middle + shift) + kept[:, None] * self.centre
        covariance = trust[:, None, None] * spread + kept[:, None, None] * self.covariance
        top = int(np.argmax(weights))
        if weights[top] > _HEAVIEST:  # this draw lies where no part reaches
            share = np.append(share, _LEAST_SHARE)
            centre = np.concatenate([centre, theta[top][None]])
            nearest = covariance[int(np.argmax(answers[:, top]))]
            covariance = np.concatenate([covariance, nearest[None]])
        return _Mixture.of(share / share.sum(), centre, covariance)
