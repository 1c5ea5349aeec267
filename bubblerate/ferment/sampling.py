"""Weighted draws from any probability density: the engine of the fit, which knows no wine.

A density is given as a log, up to a constant, for many points at once: (m, p) -> (m,).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .mixture import Mixture, Units, products_of
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
    units = Units.of(modes)
    mixture = units.mixture(modes)
    level = float(mixture.log_height.max())  # common scale, so that no density overflows
    past: list[Mixture] = []
    every = np.empty((mixture.form.shape[1], _MOST_ROUNDS * _ROUND))  # room for all their products
    products = every[:, :0]
    draws = Draws(theta=np.empty((0, modes.at.shape[1])), weights=np.empty(0))
    log_p, under = np.empty(0), np.empty(0)  # at each draw, of the density and of all mixtures
    parts = np.empty((len(modes), 0))  # densities of the latest mixture at the draws
    while len(past) < _ROUNDS or (len(past) < _MOST_ROUNDS and not draws.worth(_WORTH)):
        if past:
            mixture = mixture.follow(products, draws.weights, parts)
        at = mixture.draw(_ROUND, rng)
        theta, fresh = units.theta(at), products_of(at)
        products = every[:, : len(log_p) + _ROUND]
        products[:, len(log_p) :] = fresh
        older = Mixture.together(past).densities(fresh, level).sum(axis=0) if past else 0.0
        log_p = np.concatenate([log_p, log_density(theta)])
        parts = mixture.densities(products, level)
        under = np.append(under, np.zeros(_ROUND) + older) + parts.sum(axis=0)
        past.append(mixture)
        theta = np.concatenate([draws.theta, theta])
        draws = Draws(theta=theta, weights=_weights(log_p - np.log(under)))
    possible = np.flatnonzero(np.isfinite(log_p))  # the others tell nothing
    return Draws(theta=draws.theta[possible], weights=draws.weights[possible]), possible


def _weights(log_w: Floats) -> Floats:
    log_w = np.where(np.isnan(log_w), -np.inf, log_w)
    if not np.isfinite(log_w.max()):
        raise ArithmeticError("the density is finite at none of the draws")
    weights = np.exp(log_w - log_w.max())
    return np.asarray(weights / weights.sum(), float)
