"""The proposals of the sampler: a mixture of Student-t densities that follows weighted draws."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from .modes import Modes

__all__ = ["Mixture", "Units", "products_of"]

Floats = NDArray[np.float64]

_FREEDOM = 4  # of the Student-t proposals, 5 in odd dimensions: tails heavier than normal
_FARTHEST = 1e25  # more than any draw gives; its power is still a number
_LEAST_SHARE = 0.03  # least share of the proposals for each part of the mixture, before scaling
_HEAVIEST = 0.05  # a draw this heavy starts a new part of the mixture
_HARDLY = 1e-3  # share of the largest weight: a lighter draw changes nothing
_TINY = float(np.finfo(float).tiny)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Units:
    """Coordinates around the highest mode, in its standard deviations, so that sums keep digits."""

    middle: Floats  # (p,)
    unit: Floats  # (p,)

    @classmethod
    def of(cls, modes: Modes) -> Units:
        """The units of the highest mode, which comes first."""
        return cls(middle=modes.at[0], unit=np.sqrt(np.diagonal(modes.covariance[0])))

    def theta(self, at: Floats) -> Floats:
        """Convert m points, shape (m, p), from these coordinates to parameters."""
        return self.middle + self.unit * at

    def mixture(self, modes: Modes) -> Mixture:
        """Make a mixture with one part per mode, all with equal shares."""
        return Mixture.of(
            np.full(len(modes), 1.0 / len(modes)),
            (modes.at - self.middle) / self.unit,
            modes.covariance / (self.unit[:, None] * self.unit),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mixture:
    """K multivariate Student-t densities, each with its share.

    With the products of all pairs of (x, 1), from `products_of`, any quadratic form of a point, and
    any second moment of many, is one matrix product for all parts.
    """

    share: Floats  # (K,)
    centre: Floats  # (K, p)
    covariance: Floats  # (K, p, p)
    root: Floats  # (K, p, p), lower triangular, of the covariance
    form: Floats  # (K, q): times the q products of a point it gives 1 + squared distance / freedom
    log_height: Floats  # (K,), without a shared constant

    @classmethod
    def of(cls, share: Floats, centre: Floats, covariance: Floats) -> Mixture:
        """Build it from its parameters and work out the rest.

        Raises
        ------
        numpy.linalg.LinAlgError
            If a covariance is not positive definite.
        """
        root = np.asarray(np.linalg.cholesky(covariance), float)
        inverse = np.linalg.inv(root)
        steep = np.log(np.diagonal(inverse, axis1=1, axis2=2)).sum(axis=1)
        # distance of (x, 1): inverse @ (x - centre)
        whole = np.concatenate([inverse, -inverse @ centre[:, :, None]], axis=2)
        square = np.swapaxes(whole, 1, 2) @ whole / _freedom(centre.shape[1])
        square[:, -1, -1] += 1.0
        i, j = _pairs(centre.shape[1])
        return cls(
            share=share,
            centre=centre,
            covariance=covariance,
            root=root,
            form=square[:, i, j] * np.where(i == j, 1.0, 2.0),
            log_height=np.log(share) + steep,
        )

    @classmethod
    def together(cls, mixtures: list[Mixture]) -> Mixture:
        """Join the parts of several mixtures into one, whose density is the sum of theirs."""
        names = [one.name for one in fields(cls)]
        return cls(**{n: np.concatenate([getattr(m, n) for m in mixtures]) for n in names})

    def draw(self, n: int, rng: np.random.Generator) -> Floats:
        """Draw n points, shape (n, p); each part gets its share of them."""
        normal = rng.standard_normal((n, self.centre.shape[1]))
        freedom = _freedom(self.centre.shape[1])
        heavy = np.sqrt(freedom / rng.chisquare(freedom, (n, 1)))
        ends = np.round(n * np.cumsum(self.share)).astype(int)
        lots = zip(self.centre, self.root, np.split(normal * heavy, ends[:-1]), strict=True)
        return np.concatenate([centre + lot @ root.T for centre, root, lot in lots])

    def densities(self, products: Floats, log_unit: float) -> Floats:
        """Density of each part times its share, over exp(log_unit), at m points; shape (K, m)."""
        p = self.centre.shape[1]
        far = _whole_power(np.clip(self.form @ products, 1.0, _FARTHEST), (_freedom(p) + p) // 2)
        return np.asarray(np.exp(self.log_height - log_unit)[:, None] / far, float)

    def follow(self, products: Floats, weights: Floats, parts: Floats) -> Mixture:
        """Move each part towards the draws it explains, less so if these are worth little.

        Parameters
        ----------
        products : ndarray, shape (q, m)
            Of the draws so far (`products_of`).
        weights : ndarray, shape (m,)
            Theirs, summing to 1.
        parts : ndarray, shape (K, m)
            What `densities` gives for them.

        Returns
        -------
        Mixture
            With one part more if a single draw weighs a lot.
        """
        some = np.flatnonzero(weights > _HARDLY * weights.max())
        products, weights, parts = products[:, some], weights[some], parts[:, some]
        p = self.centre.shape[1]
        answers = parts * (weights / parts.sum(axis=0))  # (K, m), the weight each part answers for
        moments = answers @ products.T
        total = np.maximum(moments[:, -1], _TINY)
        worth = total**2 / np.maximum(np.sum(answers**2, axis=1), _TINY)
        trust = worth / (worth + 2.0 * p)
        square = np.empty((len(total), p + 1, p + 1))
        i, j = _pairs(p)
        square[:, i, j] = square[:, j, i] = moments / total[:, None]
        mean = square[:, -1, :-1]
        spread = square[:, :-1, :-1] - mean[:, :, None] * mean[:, None, :]
        share, kept = np.maximum(total, _LEAST_SHARE), 1.0 - trust
        centre = trust[:, None] * mean + kept[:, None] * self.centre
        covariance = trust[:, None, None] * spread + kept[:, None, None] * self.covariance
        top = int(np.argmax(weights))
        if weights[top] > _HEAVIEST:  # this draw lies where no part reaches
            share = np.append(share, _LEAST_SHARE)
            centre = np.concatenate([centre, products[_ones(p), top][None]])
            nearest = covariance[int(np.argmax(answers[:, top]))]
            covariance = np.concatenate([covariance, nearest[None]])
        return Mixture.of(share / share.sum(), centre, covariance)


def _freedom(p: int) -> int:
    """Degrees of freedom in p dimensions, such that the density is a whole power."""
    return _FREEDOM + p % 2


def _whole_power(x: Floats, n: int) -> Floats:
    """X to the power n, at least 1, by squaring: a fifth of the time of a logarithm and back."""
    if n == 1:
        return x
    power = _whole_power(x * x, n // 2)
    return power * x if n % 2 else power


def products_of(at: Floats) -> Floats:
    """Products of all pairs of (x, 1), for m points x, (m, p): shape (q, m), q = (p+1)(p+2)/2."""
    i, j = _pairs(at.shape[1])
    whole = np.concatenate([at.T, np.ones((1, len(at)))])
    return np.asarray(whole[i] * whole[j], float)


@lru_cache(maxsize=16)
def _pairs(p: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Which two of (x, 1) make each product."""
    return np.triu_indices(p + 1)


@lru_cache(maxsize=16)
def _ones(p: int) -> NDArray[np.intp]:
    """Which products are the coordinates themselves: those with 1."""
    i, j = _pairs(p)
    return np.flatnonzero((j == p) & (i < p))
